"""What stands on a sheet, against sums and lists made another way."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date

import pytest

from fleetcare.rules.words import Condition
from fleetcare.show.sheet import DONE, GONE, UNKNOWN, UNRULED, Asked, sheet_number, sheet_of
from fleetcare.show.sheet_form import form_text
from fleetcare.show.sheet_view import sheet_view
from fleetcare.show.sheet_why import follow_up_lines, stop_lines
from fleetcare.show.words import ENGLISH
from tests.show.sheet_fleet import ALL, BOOK, DAY, RULES, engine, entry, ground, sheet

JOBS = ("impeller", "water tube", "gear oil", "swivel grease", "thermostat", "swivel strip")


def job(on: str, task: str, **cells: str) -> dict[str, str]:
    return entry(on, "job", task=task, **cells)


def steps_by_hand(tasks: tuple[str, ...]) -> set[str]:
    wanted = {name for task in tasks for name in RULES.rules[task].access}
    for _ in RULES.access:
        wanted |= {inner for name in wanted for inner in RULES.access[name].includes}
    return wanted


def test_access_counts_once_and_every_job_by_itself() -> None:
    visit = sheet(tasks=JOBS).visits[0]
    steps = steps_by_hand(JOBS)
    assert {step.access.name for step in visit.steps} == steps
    assert len(visit.steps) == len(steps)
    assert visit.minutes == sum(RULES.access[name].minutes for name in steps) + sum(
        RULES.rules[task].minutes for task in JOBS
    )


def test_minutes_and_what_is_allowed_beside_are_those_of_the_plan() -> None:
    made = sheet(tasks=JOBS)
    (visit,) = made.visits
    risky = [step for step in visit.steps if step.at_risk]
    assert risky
    more = 180 * len(risky)  # as the plan allows for a step not opened for two years
    (text,) = sheet_view(made).visits
    assert text.work.endswith(f"to reach it; {more} min more if it does not come apart")
    assert f"{visit.minutes} min; {more} min more if" in sheet_view(made).summary
    fresh = sheet(tasks=("swing test",))
    assert "come apart" not in sheet_view(fresh).summary + sheet_view(fresh).visits[0].work


def test_parts_are_those_of_the_jobs_and_of_what_is_opened() -> None:
    wanted: Counter[str] = Counter()
    for task in JOBS:
        for part in RULES.rules[task].parts:
            wanted[part.item] += part.count
    for name in steps_by_hand(JOBS):
        for part in RULES.access[name].consumes:
            wanted[part.item] += part.count
    made = sheet(tasks=JOBS)
    assert dict(made.visits[0].parts) == wanted
    assert dict(made.parts) == wanted
    assert wanted["gearcase screw washer"] == 2 and wanted["impeller kit"] == 1


def test_parts_of_several_engines_add_up() -> None:
    seen = ground(engines=[engine("Plover"), engine("Knot")])
    made = sheet_of(seen, [Asked("Plover", ("impeller",)), Asked("Knot", ("impeller",))], DAY)
    assert dict(made.parts) == {"impeller kit": 2, "pump housing gasket": 2}
    assert made.minutes == 2 * (25 + 25 + 10)


def test_the_same_engine_day_and_jobs_have_the_same_number_and_no_others() -> None:
    number = sheet_number("f", DAY, "Plover", ("a", "b"))
    assert number == sheet_number("f", DAY, "Plover", ("b", "a"))
    others = [
        sheet_number("g", DAY, "Plover", ("a", "b")),
        sheet_number("f", date(2031, 5, 13), "Plover", ("a", "b")),
        sheet_number("f", DAY, "Knot", ("a", "b")),
        sheet_number("f", DAY, "Plover", ("a",)),
    ]
    assert len({number, *others}) == 5
    many = {sheet_number("f", DAY, f"engine {at}", ()) for at in range(2000)}
    assert len(many) == 2000
    assert all(re.fullmatch(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}", one) for one in many)


def test_a_sheet_made_again_after_some_of_its_plan_was_done_keeps_its_number() -> None:
    planned = date(2031, 5, 5).toordinal()
    before = sheet(tasks=("impeller", "gear oil"), planned=planned)
    after = sheet(
        job("2031-05-10", "impeller", reading="120"), tasks=("impeller", "gear oil"),
        planned=planned,
    )  # fmt: skip
    assert [item.rule.name for item in after.visits[0].jobs] == ["gear oil"]
    assert after.visits[0].number == before.visits[0].number
    assert [(item.task, item.why) for item in after.left_out] == [("impeller", DONE)]
    assert sheet_view(after).left_out == (
        "Plover: impeller, done on 10 May 2031 since it was planned",
    )


def test_a_job_done_before_the_plan_was_made_stays_on_its_sheet() -> None:
    made = sheet(
        job("2031-05-04", "impeller"), tasks=("impeller",),
        planned=date(2031, 5, 5).toordinal(),
    )  # fmt: skip
    assert [item.rule.name for item in made.visits[0].jobs] == ["impeller"]


def test_what_is_no_longer_there_is_left_out_and_told() -> None:
    seen = ground(entry("2031-05-01", "retire", "Knot"), engines=[engine(), engine("Knot")])
    made = sheet_of(
        seen,
        [Asked("Knot", ("impeller",)), Asked("Teal", ("plugs",)), Asked("Plover", ("no", "plugs"))],
        DAY,
    )
    assert [(item.engine, item.task, item.why) for item in made.left_out] == [
        ("Knot", "impeller", GONE), ("Teal", "plugs", UNKNOWN), ("Plover", "no", UNRULED),
    ]  # fmt: skip
    assert [visit.engine.name for visit in made.visits] == ["Plover"]
    told = sheet_view(made).left_out
    assert told[0] == "Knot: impeller, the engine is retired"
    assert told[1] == "Teal: plugs, no such engine in the fleet"
    assert told[2] == "Plover: no, no job of its rule set any more"


@pytest.mark.parametrize(
    ("log", "told"),
    [
        ((), "It last read 100 h, on 1 Apr 2028."),
        ((entry("2031-05-01", "reading", reading="120.5"),), "It last read 120.5 h, on 1 May."),
        ((job("2031-05-02", "plugs", reading="121"),), "It last read 121 h, on 2 May."),
        (
            (
                entry("2031-05-01", "reading", reading="120"),
                entry("2031-05-03", "meter", reading="0", old_reading="122"),
            ),
            "It last read 0 h, on 3 May.",
        ),
        (
            (
                entry("2031-05-03", "meter", reading="0", old_reading="122"),
                entry("2031-05-04", "reading", reading="2"),
                entry("2031-05-04", "reading", reading="3"),
            ),
            "It last read 3 h, on 4 May.",
        ),
        (
            (entry("2031-05-03", "meter", old_reading="122"),),
            "It has no hour meter: log its runs.",
        ),
    ],
)
def test_the_last_figure_is_that_of_the_meter_it_has_now(
    log: tuple[dict[str, str], ...], told: str
) -> None:
    assert sheet_view(sheet(*log, tasks=("plugs",))).visits[0].last_read == told


def test_a_leg_not_opened_for_long_is_told_where_the_hand_goes() -> None:
    tasks = ("impeller", "plugs")
    risk = "Not known to have been opened within 24 months"
    steps = {step.name: step for step in sheet_view(sheet(tasks=tasks)).visits[0].steps}
    assert any(text.startswith(risk) and "180 min" in text for text in steps["leg off"].cautions)
    assert not any(risk in text for text in steps["cowl off"].cautions)
    opened = sheet_view(sheet(job("2030-05-01", "splines"), tasks=tasks)).visits[0]
    assert not any(risk in text for step in opened.steps for text in step.cautions)


def test_the_words_of_each_job_are_those_of_its_part_and_no_others() -> None:
    for item in sheet_view(sheet()).visits[0].jobs:
        part = RULES.rules[item.task].part
        words = {} if not part else BOOK.conditions[part]
        assert [box.word for box in item.boxes] == list(words)
        assert [box.weight for box in item.boxes] == [one.weight for one in words.values()]
        assert [box.counted for box in item.boxes] == [one.count for one in words.values()]
        assert item.part == part


def test_every_word_that_says_stop_is_warned_of_with_what_lifts_it() -> None:
    told = 0
    for item in sheet_view(sheet()).visits[0].jobs:
        for one in BOOK.conditions.get(item.part, {}).values():
            if one.weight != "stop":
                continue
            line = next(line for line in item.stops if re.search(rf"[:,] {one.word}[,.]", line))
            assert line.startswith("STOP, must not go out: ")
            assert all(task in line for task in one.follow_up)
            assert one.lifts in line
            told += 1
    assert told >= 25


def test_words_that_undo_the_job_say_so() -> None:
    lines = sheet_view(sheet(tasks=("swivel grease",))).visits[0].jobs[0].follow_ups
    assert "top only, bottom only, none: the job does not count as done." in lines


def test_why_it_is_due_and_when_it_was_last_done_stand_with_the_job() -> None:
    made = sheet(
        job("2031-01-12", "gear oil", reading="150"),
        entry("2031-05-01", "reading", reading="260.5"), tasks=("gear oil", "swivel grease"),
    )  # fmt: skip
    oil = next(item for item in sheet_view(made).visits[0].jobs if item.task == "gear oil")
    assert re.fullmatch(
        r"Overdue since \d+ \w+( \d+)?\. 111\xa0% of its life is used\.", oil.why[0]
    )
    assert oil.why[1] == "Last done 12 Jan 2031 at 150 h; 110.5 h, 120 days since then."
    assert oil.why[2] == "Skipping it leads to gear failure."
    grease = next(item for item in sheet_view(made).visits[0].jobs if item.task != "gear oil")
    assert "Last done: not known. Here since 1 Apr 2028;" in grease.why[1]


def test_a_job_put_off_says_how_often() -> None:
    later = {"until": "2031-05-20", "note": "no grease"}
    made = sheet(
        entry("2031-05-01", "put-off", task="swivel grease", **later),
        entry("2031-05-05", "put-off", task="swivel grease", **later),
        tasks=("swivel grease",),
    )
    assert "Put off 2 times." in sheet_view(made).visits[0].jobs[0].why


def test_what_a_hold_wants_and_this_sheet_has_not_is_said() -> None:
    """Else all of it ticked off looks as if the engine were free."""
    hot = entry("2031-05-10", "incident", condition="overheated")
    lines = sheet_view(sheet(hot, tasks=("impeller",))).visits[0].holds[0].lines
    assert lines[1] == "Not on this sheet: thermostat, relief valve, head gasket"
    tasks = ("impeller", "thermostat", "relief valve", "head gasket")
    whole = sheet_view(sheet(hot, tasks=tasks)).visits[0].holds[0].lines
    assert not any("Not on this sheet" in line for line in whole)


def test_what_holds_the_engine_stands_above_all_with_its_caution() -> None:
    made = sheet(
        entry("2031-05-10", "incident", condition="overheated"),
        entry("2031-05-11", "finding", part="tell-tale", condition="pulsing"),
        tasks=("impeller",),
    )
    held, waiting = sheet_view(made).visits[0].holds
    assert held.title == "Must not go out: overheated, 10 May"
    assert held.lines[0] == "Wanted: impeller, thermostat, relief valve, head gasket"
    assert BOOK.incidents["overheated"].caution in held.lines
    assert waiting.title == "Waiting: tell-tale pulsing, 11 May"


def test_looks_at_every_start_stand_on_every_sheet_with_their_cautions() -> None:
    looks = sheet_view(sheet(tasks=("plugs",))).visits[0].looks
    wanted = [rule for rule in RULES.rules.values() if rule.every_start]
    assert len(looks) == len(wanted) == 2
    for look, rule in zip(looks, wanted, strict=True):
        assert look.startswith(rule.title)
        assert all(caution in look for caution in rule.cautions)


def test_who_may_do_each_job_is_said() -> None:
    said = {item.task: item.who for item in sheet_view(sheet()).visits[0].jobs}
    words = {"anyone": "Anyone may do it", "trained": "Trained people only",
             "workshop": "A workshop only"}  # fmt: skip
    assert said == {task: words[RULES.rules[task].who] for task in ALL}


def test_no_torque_of_ours_stands_anywhere() -> None:
    view = sheet_view(sheet())
    assert all(item.torque in ("", "Torque: the maker's handbook") for item in view.visits[0].jobs)
    assert not re.search(r"\d\s*(N\W?m|lbf|ft.lb|in.lb)", repr(view))


def test_an_engine_in_store_and_one_laid_up_are_told() -> None:
    stored = sheet(entry("2031-05-01", "store"), tasks=("plugs",))
    assert sheet_view(stored).visits[0].place == "in store"
    laid = sheet(entry("2031-05-01", "lay-up"), tasks=("plugs",))
    assert sheet_view(laid).visits[0].place == "on Lapwing, North quay; laid up"


def test_a_stop_word_without_a_job_or_a_cure_is_warned_of_all_the_same() -> None:
    words = (Condition("hull", "holed", "stop"), Condition("hull", "soft", "act"))
    assert list(stop_lines(words, ENGLISH)) == ["STOP, must not go out: holed."]
    assert list(follow_up_lines(words, ENGLISH)) == []


def test_a_word_met_again_soon_says_what_it_then_holds_for() -> None:
    lines = sheet_view(sheet(tasks=("swing test",))).visits[0].jobs[0].follow_ups
    assert lines[-1] == ("Found again within 90 days: STOP, must not go out. Wanted: swivel strip.")


def test_the_form_has_a_line_a_job_and_asks_to_count_where_a_word_is_counted() -> None:
    lines = form_text(sheet(), "back.txt").splitlines()
    jobs = [line for line in lines if line.startswith("[ ] ")]
    assert len(jobs) == len(ALL)
    for line in jobs:
        rule = RULES.rules[line.removeprefix("[ ] ").partition(" |")[0]]
        words = BOOK.conditions.get(rule.part, {}).values()
        assert (" found: |" in line) == bool(words)
        assert (" count: |" in line) == any(word.count for word in words)
        assert line.endswith("| note:")
    assert sum(" count: |" in line for line in jobs) == 3
