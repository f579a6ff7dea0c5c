"""What skipping leads to, and the order of every list."""

from __future__ import annotations

import pytest

from fleetcare.flags.flag import alarming, in_order, state_words
from fleetcare.rules.rule import PRECURSOR_HARMS
from tests.flags.small_fleets import entry, seen

DAY = "2031-07-18"


def test_the_harms_that_make_a_precursor_are_these_two() -> None:
    assert set(PRECURSOR_HARMS) == {"overheating", "seized swivel"}


def test_a_flag_lists_an_engines_precursors_and_no_other_jobs() -> None:
    now = seen(DAY)
    flag = now.flags["Teal"]
    assert flag.boat == "Lapwing"
    assert {row.task for row in flag.precursors} == {
        row.task
        for row in now.rows
        if row.engine == "Teal"
        and row.status in ("overdue", "no record")
        and set(row.rule.leads_to) & {"overheating", "seized swivel"}
    }
    assert all(row.rule.chain for row in flag.precursors)


def test_a_due_job_is_no_precursor_yet() -> None:
    # the swivel of a new engine is due 60 days after its first 30, so it is clear for a while
    row = seen("2031-04-20").row("Plover", "swivel grease")
    assert row.status in ("due", "clear")
    assert not row.is_precursor


def test_lists_put_held_first_then_overdue_precursors_then_those_without_record() -> None:
    now = seen("2032-07-18", entry("2032-07-01", "finding", "Knot", part="tell-tale",
                                   condition="weak"))  # fmt: skip
    held = {"Knot"}
    ordered = in_order(now.rows, held)
    ranks = []
    for row in ordered:
        kind = ("overdue", "due", "no record", "clear").index(row.status) + 2
        if row.is_precursor:
            kind = 0 if row.status == "overdue" else 1
        ranks.append((row.engine not in held, kind))
    assert ranks == sorted(ranks)
    assert {row.status for row in ordered} >= {"overdue", "no record", "clear"}


def test_overdue_jobs_stand_by_life_used_and_due_ones_by_date() -> None:
    now = seen("2032-07-18")
    ordered = in_order(now.rows, ())
    worst = [row.life or 0 for row in ordered if row.is_precursor and row.status == "overdue"]
    assert worst == sorted(worst, reverse=True)
    dates = [row.due_on or 9**9 for row in ordered if row.status == "clear"]
    assert dates == sorted(dates)


def test_the_order_does_not_hang_on_the_order_given() -> None:
    now = seen("2032-07-18")
    assert in_order(reversed(now.rows), ()) == in_order(now.rows, ())


@pytest.mark.parametrize(
    ("log", "raised"),
    [
        ([], True),
        ([entry("2031-07-01", "store", "Teal")], False),
        ([entry("2031-07-01", "lay-up", "Teal")], False),
        ([entry("2031-07-01", "lay-up", "Teal"), entry("2031-07-10", "launch", "Teal")], True),
    ],
)
def test_only_engines_that_can_go_out_are_alarming(log: list[dict[str, str]], raised: bool) -> None:
    row = seen(DAY, *log).row("Teal", "impeller")
    assert row.is_precursor
    assert alarming(row) == raised


def test_a_status_is_said_with_its_day() -> None:
    now = seen("2032-07-18")
    row = now.row("Plover", "swivel grease")
    said = state_words(row, now.as_of)
    assert said.startswith("overdue since ")
    assert said.endswith("2031")  # another year than today's is said
    assert state_words(now.row("Teal", "impeller"), seen(DAY).as_of) == "no record"
