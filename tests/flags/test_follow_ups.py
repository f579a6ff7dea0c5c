"""Follow-ups as rows of the due list, the proofs that lift holds, and what findings add up to.

The sayings of the trade come from these sources: pieces of vanes lodge in the tube (Cooling
system repair tips); new grease must show at both ends (workshop column, Texas saltwater
magazine); a swivel cured by grease alone goes stiff again (mechanics' forum threads, opinion).
The days and weights are the project's design choices.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.show.values import reason
from tests.flags.small_fleets import BOOK, entry, seen

DAY = "2031-07-18"


def found(on: str, part: str, word: str, engine: str = "Plover", **more: str) -> dict[str, str]:
    return entry(on, "finding", engine, part=part, condition=word, **more)


def done(on: str, task: str, engine: str = "Plover", **cells: str) -> dict[str, str]:
    return entry(on, "job", engine, task=task, **cells)


def greased(on: str, word: str = "", engine: str = "Knot") -> dict[str, str]:
    part = "grease witness" if word else ""
    return done(on, "swivel grease", engine, part=part, condition=word)


def iso(day: int | None) -> str | None:
    return None if day is None else date.fromordinal(day).isoformat()


def days(row: Due) -> tuple[str | None, str | None]:
    return iso(row.due_on), iso(row.overdue_since)


@pytest.mark.parametrize(
    ("as_of", "status", "since"),
    [
        ("2031-07-10", "due", None), ("2031-07-24", "due", None),
        ("2031-07-25", "overdue", "2031-07-25"),
    ],
)  # fmt: skip
def test_a_follow_up_that_acts_is_due_from_its_day_and_overdue_after_a_fortnight(
    as_of: str, status: str, since: str | None
) -> None:
    row = seen(as_of, found("2031-07-10", "impeller vanes", "set")).row("Plover", "impeller")
    assert (row.status, days(row)) == (status, ("2031-07-10", since))
    assert row.opened == "impeller vanes set on 2031-07-10"


def test_a_follow_up_that_stops_is_overdue_from_the_findings_day() -> None:
    row = seen(DAY, found(DAY, "thermostat", "stuck shut")).row("Plover", "thermostat")
    assert (row.status, days(row)) == ("overdue", (DAY, DAY))


def test_a_follow_up_is_answered_by_its_own_job_alone() -> None:
    cracked = found("2031-07-01", "impeller vanes", "cracked")
    # another job restarts the clock of the water tube and such, but not this one's
    assert seen(DAY, cracked, done(DAY, "pump housing")).row("Plover", "impeller").opened
    after = seen(DAY, cracked, done("2031-07-02", "impeller")).row("Plover", "impeller")
    assert (after.status, after.opened) == ("clear", "")


def test_a_look_made_at_every_start_is_listed_when_a_finding_wants_it() -> None:
    base = BOOK.sets["small-petrol"]
    look = replace(
        base.rules["proof run"], limits=None, first=None, season="", after=(), idle_months=None,
        each_run=frozenset({0, 1, 2}),
    )  # fmt: skip
    ruleset = replace(base, rules={**base.rules, "proof run": look})
    book = replace(BOOK, sets={"small-petrol": ruleset})
    for log, status in (((), None), ((found(DAY, "tell-tale", "hot"),), "overdue")):
        now = seen(DAY, *log)
        rows = due_list(now.fleet, now.history, book, now.as_of)
        by_task = {row.task: row.status for row in rows if row.engine == "Plover"}
        assert by_task.get("proof run") == status


def test_vanes_missing_outlive_the_new_impeller() -> None:
    lost = found("2031-07-01", "impeller vanes", "missing", count="3")
    renewed = done("2031-07-02", "impeller")
    now = seen(DAY, lost, renewed)
    assert now.flags["Plover"].held
    assert now.stands["Plover"][0].wanted == ("water tube",)
    assert now.row("Plover", "water tube").status == "overdue"
    # the tube was looked at, and what was found is not told
    assert seen(DAY, lost, renewed, done(DAY, "water tube")).flags["Plover"].held
    # two of three pieces
    some = done("2031-07-03", "water tube", part="water tube", condition="pieces found", count="2")
    assert seen(DAY, lost, renewed, some).flags["Plover"].held


@pytest.mark.parametrize(
    "proof",
    [
        [("clear", "")], [("pieces found", "3")], [("pieces found", "2"), ("pieces found", "1")],
        [("pieces found", "2"), ("clear", "")],
    ],
)  # fmt: skip
def test_as_many_pieces_or_a_clear_tube_lift_it(proof: list[tuple[str, str]]) -> None:
    lost = found("2031-07-01", "impeller vanes", "missing", count="3")
    tubes = [
        done(f"2031-07-0{3 + at}", "water tube", part="water tube", condition=word, count=count)
        for at, (word, count) in enumerate(proof)
    ]
    now = seen(DAY, lost, done("2031-07-02", "impeller"), *tubes)
    assert not [item for item in now.stands.get("Plover", []) if item.holds]


def test_pieces_found_before_vanes_went_missing_prove_nothing() -> None:
    old = done("2031-06-20", "water tube", part="water tube", condition="clear")
    lost = found("2031-07-01", "impeller vanes", "missing", count="3")
    assert seen(DAY, old, lost, done("2031-07-02", "impeller")).flags["Plover"].held


def test_a_hold_moves_with_its_gearcase_and_so_do_its_jobs() -> None:
    lost = found("2031-07-01", "impeller vanes", "missing", count="1")
    swap = entry("2031-07-05", "swap", "Plover", other="Teal", component="gearcase")
    now = seen(DAY, lost, swap)
    assert [item.engine for items in now.stands.values() for item in items] == ["Teal"]
    assert now.row("Teal", "impeller").status == "overdue"
    assert "vanes" not in now.row("Plover", "impeller").opened
    proved = done("2031-07-07", "water tube", "Teal", part="water tube", condition="clear")
    lifted = seen(DAY, lost, swap, done("2031-07-06", "impeller", "Teal"), proved)
    assert lifted.stands == {}
    # logged on the engine that no longer carries it, they answer nothing
    tube = done("2031-07-07", "water tube", part="water tube", condition="clear")
    wrong = seen(DAY, lost, swap, done("2031-07-06", "impeller"), tube)
    assert wrong.flags["Teal"].held


@pytest.mark.parametrize(
    ("second", "held"), [("2031-05-01", True), ("2031-06-29", True), ("2031-06-30", False)]
)
def test_two_impellers_within_sixty_days_hold_for_the_water_tube(second: str, held: bool) -> None:
    log = [
        done("2031-04-30", "impeller"), entry("2031-06-15", "reading", "Plover", reading="80"),
        done(second, "impeller"),
    ]  # fmt: skip
    now = seen(DAY, *log)
    assert bool(now.stands.get("Plover")) == held
    if held:
        (item,) = now.stands["Plover"]
        assert (item.wanted, item.holds) == (("water tube",), True)
        assert seen(DAY, *log, done(second, "water tube")).stands == {}


@pytest.mark.parametrize(("figure", "held"), [("20", True), ("20.01", False)])
def test_two_impellers_within_ten_hours_hold_too(figure: str, held: bool) -> None:
    log = [
        done("2031-04-10", "impeller", reading="10"),
        done("2031-07-01", "impeller", reading=figure),
    ]
    assert bool(seen(DAY, *log).stands.get("Plover")) == held


def test_a_yearly_impeller_on_an_engine_that_hardly_runs_is_no_alarm() -> None:
    log = [done("2031-04-10", "impeller"), done("2032-04-02", "impeller")]
    assert seen("2032-04-10", *log, engines="Plover").stands == {}


def test_grease_that_shows_at_one_bush_or_none_is_not_done() -> None:
    before = greased("2031-05-01", "top and bottom")
    for word in ("top only", "bottom only", "none"):
        row = seen(DAY, before, greased("2031-07-01", word)).row("Knot", "swivel grease")
        assert iso(row.last_done_on) == "2031-05-01", word
        (item,) = seen(DAY, before, greased("2031-07-01", word)).stands["Knot"]
        assert item.wanted == ("swivel grease",)
    again = seen(
        DAY, before, greased("2031-07-01", "none"), greased("2031-07-02", "top and bottom")
    )
    assert again.stands == {}


def test_grease_without_a_look_counts_and_the_row_says_so() -> None:
    blind = seen(DAY, greased("2031-07-01")).row("Knot", "swivel grease")
    assert reason(blind).endswith("witness not looked at")
    untold = seen(DAY, greased("2031-07-01", "not looked at")).row("Knot", "swivel grease")
    assert untold.unseen == "witness not looked at"
    looked = seen(DAY, greased("2031-07-01", "top and bottom")).row("Knot", "swivel grease")
    assert looked.unseen == ""
    assert (blind.last_done_on, blind.status) == (looked.last_done_on, looked.status)


@pytest.mark.parametrize(
    ("first", "held"), [("2031-04-17", True), ("2031-04-16", False), ("2031-07-16", False)]
)
def test_stiff_again_within_ninety_days_holds_for_a_strip(first: str, held: bool) -> None:
    log = [
        found(first, "swivel", "stiff", "Knot"), greased("2031-04-20", "top and bottom"),
        done("2031-04-20", "swing test", "Knot"), found("2031-07-16", "swivel", "notchy", "Knot"),
    ]  # fmt: skip
    now = seen(DAY, *log)
    assert now.flags["Knot"].held == held
    assert any("swivel strip" in item.wanted for item in now.stands["Knot"]) == held


def test_a_swing_test_that_finds_it_stiff_does_not_answer_itself() -> None:
    stiff = done("2031-07-10", "swing test", "Knot", part="swivel", condition="stiff")
    assert "swing test" in seen(DAY, stiff).stands["Knot"][0].wanted
    free = done("2031-07-12", "swing test", "Knot", part="swivel", condition="free one hand")
    now = seen(DAY, stiff, greased("2031-07-11", "top and bottom"), free)
    assert now.stands == {}


def test_an_impeller_found_set_when_it_was_renewed_asks_for_nothing_more() -> None:
    set_ = done("2031-07-10", "impeller", part="impeller vanes", condition="set")
    assert seen(DAY, set_).stands == {}
