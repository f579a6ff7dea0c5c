"""What the record makes of the shares: worked by hand on small fleets, one thing at a time."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from fleetcare.due.rows import due_list
from fleetcare.log.history import history
from fleetcare.repair.trace import Answer, Traced, mended, narrowed, trace
from fleetcare.repair.trace_record import Reason, Record, record_of, weigh
from fleetcare.rules.symptoms import Symptom
from tests.built import fleet_of
from tests.repair.fault_tables import BOOK, OVERHEATING, SHIPPED, STEPS, STIFF
from tests.trials.example_tables import row, settings_rows

SINCE, NOW = "2031-04-01", "2031-07-01"
RULES = BOOK.sets["small-petrol"]


def entry(on: str, event: str, engine: str = "Plover", **cells: str) -> dict[str, str]:
    return row("log", on=on, event=event, engine=engine, **cells)


def record(
    *log: dict[str, str], now: str = NOW, water: str = "salt", engine: str = "Plover", **cells: str
) -> Record:  # fmt: skip
    """Plover, new on a boat in that water, and Teal beside it; `cells` are Plover's own."""
    known = {"new": "yes", "meter": "no", **cells}
    tables = {
        "settings": settings_rows(),
        "boats": [row("boats", boat="Lapwing", use="owner", water=water, since=SINCE)],
        "engines": [
            row("engines", engine="Plover", boat="Lapwing", hp="6", since=SINCE, **known),
            row("engines", engine="Teal", boat="Lapwing", hp="6", since=SINCE, meter="no"),
        ],
        "log": list(log),
    }
    fleet, entries = fleet_of(tables)
    day = date.fromisoformat(now)
    past = history(entries, day)
    rows = due_list(fleet, past, BOOK, day, engine)
    return record_of(fleet, past, RULES, rows, engine, day)


def reasons(found: Record, cause: str, symptom: Symptom = OVERHEATING) -> list[Reason]:
    return weigh(symptom, SHIPPED, found)[cause][1]


def factors(found: Record, cause: str, symptom: Symptom = OVERHEATING) -> dict[str, Fraction]:
    return {reason.kind: reason.factor for reason in reasons(found, cause, symptom)}


def told(found: Record, symptom: Symptom = OVERHEATING, **answers: str) -> Traced:
    named = {name.replace("_", " ").replace("tell tale", "tell-tale"): Answer(word)
             for name, word in answers.items()}  # fmt: skip
    return trace(symptom, SHIPPED, found, BOOK.conditions, STEPS, named)


def chance(traced: Traced, cause: str) -> Fraction:
    return next(item.chance for item in traced.causes if item.cause.name == cause)


# -- life ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hours", "factor"),
    # impeller in salt: 200 h; steps of life 0, 1/4, 3/4, 1, 3/2, 2 (salt 12 months: 91 days = 1/4)
    [("160", 1), ("200", Fraction(3, 2)), ("280", Fraction(3, 2)), ("300", 2), ("420", 3)],
)
def test_an_impeller_past_its_hours_weighs_so_much_more(hours: str, factor: Fraction) -> None:
    runs = [entry(f"2031-06-{day:02}", "run", hours=f"{int(hours) // 20}") for day in range(1, 21)]
    found = record(*runs)
    weighed = weigh(OVERHEATING, SHIPPED, found)["worn pump"]
    assert weighed[0] == 30 * factor
    if factor != 1:
        (reason,) = weighed[1]
        assert (reason.kind, reason.what, reason.by) == ("life", "impeller", "hours")
        assert reason.life == Fraction(int(hours), 200)


def test_a_pump_just_renewed_weighs_less() -> None:
    found = record(entry("2031-06-28", "job", task="impeller"))
    assert factors(found, "worn pump") == {"life": Fraction(2, 5)}


def test_no_record_weighs_more_and_says_so() -> None:
    found = record(new="no")
    (reason,) = reasons(found, "worn pump")
    assert (reason.kind, reason.factor) == ("no record", Fraction(3, 2))


def test_runs_in_salt_without_a_flush_weigh_on_the_block() -> None:
    runs = [entry(f"2031-06-{day}", "run", hours="1") for day in range(20, 28)]
    flushed = entry("2031-06-19", "job", task="tank flush")
    kinds = factors(record(flushed, *runs), "salted passages")
    assert kinds["overdue"] == Fraction(3, 2)


# -- water, age, idleness -----------------------------------------------------------------------


def test_salt_water_and_years_weigh_on_the_block_and_fresh_water_takes_off() -> None:
    salt = factors(record(year="2025"), "salted passages")
    assert (salt["water"], salt["years"]) == (Fraction(3, 2), Fraction(3, 2))
    fresh = factors(record(year="2029", water="fresh"), "salted passages")
    assert fresh["water"] == Fraction(3, 10) and "years" not in fresh
    assert "water" not in factors(record(water="brackish"), "salted passages")


def test_standing_weighs_on_what_dries_and_corrodes() -> None:
    idle = record(now="2031-11-01")
    assert [
        item.number for item in reasons(idle, "corroded swivel", STIFF) if item.kind == "idle"
    ] == [7]
    assert "idle" not in factors(record(now="2031-07-01"), "corroded swivel", STIFF)
    ran = record(entry("2031-09-01", "run", hours="1"), now="2031-11-01")
    assert "idle" not in factors(ran, "corroded swivel", STIFF)


# -- findings, incidents, jobs -------------------------------------------------------------------


def test_a_dry_run_weighs_on_the_pump_until_its_impeller_is_renewed() -> None:
    dry = entry("2031-06-01", "incident", condition="ran dry")
    assert factors(record(dry), "worn pump")["incident"] == 4
    done = entry("2031-06-02", "job", task="impeller")
    assert "incident" not in factors(record(dry, done), "worn pump")
    again = entry("2031-06-03", "incident", condition="ran dry")
    assert factors(record(dry, done, again), "worn pump")["incident"] == 4


def test_vanes_missing_weigh_on_the_tube_until_the_tube_is_seen_to() -> None:
    # The new impeller leaves the pieces where they are: "Cooling system repair tips"
    missing = entry(
        "2031-06-01", "finding", part="impeller vanes", condition="missing", count="2"
    )  # fmt: skip
    renewed = entry("2031-06-02", "job", task="impeller")
    kinds = factors(record(missing, renewed), "choked water tube")
    assert kinds["finding"] == 5
    tube = entry("2031-06-03", "job", task="water tube")
    assert "finding" not in factors(record(missing, renewed, tube), "choked water tube")


def test_a_new_impeller_and_the_same_complaint_point_at_the_tube() -> None:
    # Two pumps fitted in vain before the melted grommet was found: mechanics' forum threads
    once = record(entry("2031-06-20", "job", task="impeller"))
    twice = record(
        entry("2031-06-10", "job", task="impeller"), entry("2031-06-20", "job", task="impeller")
    )
    plain = told(record(), tell_tale="none")
    assert chance(plain, "choked water tube") < chance(
        told(once, tell_tale="none"), "choked water tube"
    )
    assert chance(told(once, tell_tale="none"), "choked water tube") < chance(
        told(twice, tell_tale="none"), "choked water tube"
    )
    assert chance(told(twice, tell_tale="none"), "worn pump") < chance(plain, "worn pump")


def test_stiff_twice_within_90_days_weighs_on_corrosion() -> None:
    def stiff(day: str) -> dict[str, str]:
        return entry(day, "finding", part="swivel", condition="stiff")

    assert "finding" not in factors(record(stiff("2031-06-01")), "corroded swivel", STIFF)
    twice = record(stiff("2031-05-01"), stiff("2031-06-01"))
    assert factors(twice, "corroded swivel", STIFF)["finding"] == 2
    late = record(stiff("2031-04-01"), stiff("2031-09-01"), now="2031-09-02")
    assert "finding" not in factors(late, "corroded swivel", STIFF)


def test_a_finding_that_waits_is_remembered_and_todays_answer_takes_its_place() -> None:
    weak = entry("2031-06-20", "finding", part="tell-tale", condition="weak")
    found = record(weak)
    assert told(found).remembered["tell-tale"].condition == "weak"
    assert chance(told(found), "worn pump") > chance(told(record()), "worn pump")
    now = told(found, tell_tale="strong cool")
    assert now.remembered == {}
    assert chance(now, "worn pump") == chance(told(record(), tell_tale="strong cool"), "worn pump")


@pytest.mark.parametrize(
    "later",
    [
        entry("2031-06-21", "job", task="tell-tale hose"),
        entry("2031-06-21", "finding", part="tell-tale", condition="strong cool"),
    ],
)
def test_a_finding_seen_to_or_seen_better_since_is_not_remembered(later: dict[str, str]) -> None:
    weak = entry("2031-06-20", "finding", part="tell-tale", condition="weak")
    assert told(record(weak, later)).remembered == {}


def test_a_finding_of_long_ago_is_not_remembered() -> None:
    weak = entry("2031-04-02", "finding", part="tell-tale", condition="weak")
    assert told(record(weak, now="2031-06-30")).remembered  # 89 days
    assert told(record(weak, now="2031-07-02")).remembered == {}  # 91


def test_a_swivel_logged_stiff_does_not_say_that_the_link_was_off() -> None:
    stiff = entry("2031-06-20", "finding", part="swivel", condition="stiff")
    assert told(record(stiff), STIFF).remembered == {}


def test_what_is_remembered_as_a_look_does_not_weigh_a_second_time() -> None:
    missing = entry(
        "2031-06-20", "finding", part="impeller vanes", condition="missing", count="2"
    )  # fmt: skip
    traced = told(record(missing))
    assert "pump" in traced.remembered
    tube = next(item for item in traced.causes if item.cause.name == "choked water tube")
    assert not [item for item in tube.reasons if item.kind == "finding"]
    assert [cause.name for cause in traced.on_record] == ["worn pump"]


def test_a_swapped_gearcase_brings_its_pump_and_leaves_the_other() -> None:
    dry = entry("2031-06-01", "finding", part="impeller vanes", condition="cracked")
    swap = entry("2031-06-10", "swap", other="Teal", component="gearcase")
    assert "pump" in told(record(dry)).remembered
    assert told(record(dry, swap)).remembered == {}
    assert "pump" in told(record(dry, swap, engine="Teal")).remembered


# -- what does not fit -----------------------------------------------------------------------------


def test_an_engine_without_a_thermostat_has_no_such_cause_and_no_such_look() -> None:
    tables = fleet_of({
        "settings": settings_rows(), "boats": [], "log": [],
        "engines": [row("engines", engine="Plover", hp="6", since=SINCE, steering="tiller",
                        without="thermostat;relief valve", meter="no")],
    })[0].engines["Plover"]  # fmt: skip
    found = narrowed(OVERHEATING, RULES, tables)
    assert not {"thermostat", "relief valve"} & {
        item.name for item in (*found.causes, *found.looks)
    }
    steering = narrowed(STIFF, RULES, tables)
    assert "cable or ram" not in [cause.name for cause in steering.causes]
    assert "wheel alone" not in [look.name for look in steering.looks]


# -- where it leads --------------------------------------------------------------------------------


def test_once_stopped_nothing_that_runs_it_comes_next_until_the_stop_is_lifted() -> None:
    found, made = record(), {"tell_tale": "none"}
    seen = set()
    for _ in range(16):
        traced = told(found, **made)
        assert traced.stops
        if traced.next is None:
            break
        look = traced.next.look
        seen.add(look.kind)
        made[look.name.replace(" ", "_").replace("-", "_")] = look.outcomes[0].word
        if look.name == "cover-off run":
            raise AssertionError(look.name)
    assert seen == {"ask", "hands"}
    lifted = told(found, tell_tale="none", outlet="blocked")
    assert lifted.stops == ()


def test_who_does_not_know_what_the_tell_tale_did_is_sent_to_the_tank() -> None:
    answers = {"intakes": Answer("clear"), "outlet": Answer("clear")}
    traced = trace(OVERHEATING, SHIPPED, record(), BOOK.conditions, STEPS, answers, ["tell-tale"])
    assert traced.next is not None and traced.next.look.name == "tank run"
    cautions = " ".join(traced.cautions)
    for words in ("Propeller off", "kill cord off", "neutral", "scald", "Ear defenders", "15 sec"):
        assert words in cautions, words


def test_every_look_that_takes_a_hand_comes_with_its_cautions() -> None:
    found, made = record(), {"tell_tale": "strong cool"}
    while (traced := told(found, **made)).next is not None:
        look = traced.next.look
        if look.kind == "hands":
            assert any("kill cord off" in line for line in traced.cautions), look.name
            for step in traced.next.opens:
                assert set(STEPS[step].cautions) <= set(traced.cautions), (look.name, step)
        made[look.name.replace(" ", "_").replace("-", "_")] = look.outcomes[0].word
    assert len(made) > 8


def test_what_is_proved_ends_it_with_the_jobs_that_put_it_right() -> None:
    traced = told(record(), tell_tale="weak", intakes="weed or bag")
    assert traced.next is None
    assert [cause.remedy for cause in traced.proved] == [("intakes look", "pump look")]
    again = mended(OVERHEATING, {"tell-tale": Answer("weak"), "intakes": Answer("weed or bag")})
    assert again == {"intakes": Answer("clear")}  # the stream is to be seen anew


def test_answers_that_fit_nothing_are_told_to_be_looked_at_again() -> None:
    traced = told(
        record(), tell_tale="none", intakes="clear", outlet="clear", pump="supple",
        water_tube="clear", tank_run="strong",
    )  # fmt: skip
    assert traced.doubtful
    assert told(record(), tell_tale="weak", hot_when="at idle").doubtful == ()


def test_what_was_seen_is_logged_in_the_words_of_the_conditions_and_only_once() -> None:
    traced = trace(
        OVERHEATING, SHIPPED, record(), BOOK.conditions, STEPS,
        {"pump": Answer("missing", 2), "tell-tale": Answer("weak when fast"),
         "hot when": Answer("at speed"), "tank run": Answer("weak")},
    )  # fmt: skip
    items = [(item.incident, item.part, item.condition, item.count) for item in traced.to_log]
    assert items == [
        ("overheated", "", "", None),
        ("", "tell-tale", "weak", None),
        ("", "impeller vanes", "missing", 2),
    ]
    known = record(
        entry("2031-06-30", "incident", condition="overheated"),
        entry(NOW, "finding", part="tell-tale", condition="weak"),
    )
    assert told(known, tell_tale="weak", hot_when="at speed").to_log == ()
