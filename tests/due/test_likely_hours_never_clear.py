"""Whatever the log and the forecast: likely hours raise what the list says and never lower it."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, STATUSES, Due
from fleetcare.due.rows import due_list
from fleetcare.log.history import history
from fleetcare.show.values import due_rows
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.past import blocks_of, known_through
from tests.built import book_of, fleet_of
from tests.due.test_with_a_forecast import straight
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

DRAWN = 120
FORECAST_ONLY = (
    "status", "due_early", "due_on", "due_late", "likely_hours", "raised_by_likely_hours", "reason",
)  # fmt: skip


class Idle(Forecast):
    """Nothing ran since the last known day, and nothing ever will: the facts alone."""

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        return straight(known_through(carriage.uses[engine]), 0, 0, 0)


@pytest.fixture(scope="module")
def drawn() -> list[Any]:
    return sample(DRAWN)


def rows(drawn: Any, forecast: type[Forecast] | None, later: int = 0) -> list[Due]:
    tables, texts, as_of = drawn
    fleet, entries = fleet_of(tables)
    book = book_of(texts, USES)
    day = as_of + timedelta(later)
    known = [entry for entry in entries if entry.on <= as_of]
    made = forecast(book.uses) if forecast else None
    return due_list(fleet, history(known, day), book, day, forecast=made)


def pressing(row: Due) -> int:
    """0 for overdue, and up to clear."""
    return STATUSES.index(row.status)


def test_no_status_is_lower_than_the_facts_alone_make_it(drawn: list[Any]) -> None:
    raised = 0
    for fleet in drawn:
        for facts, told in zip(rows(fleet, Idle), rows(fleet, Forecast), strict=True):
            assert pressing(told) <= pressing(facts)
            if facts.status in (OVERDUE, NO_RECORD):
                assert told.status == facts.status
            raised += told.status == DUE and facts.status == CLEAR
    assert raised > 10  # else nothing was tried


def test_a_row_is_raised_by_likely_hours_just_when_the_facts_leave_it_clear(
    drawn: list[Any],
) -> None:
    for fleet in drawn:
        for row in rows(fleet, Forecast):
            if row.raised_by_likely_hours:
                assert row.status == DUE and row.likely_hours > 0
                assert row.life_used is not None and row.life_used < 1


def test_the_forecast_touches_dates_and_what_is_due_and_nothing_else(drawn: list[Any]) -> None:
    for fleet in drawn:
        plain, told = (due_rows(rows(fleet, kind), ()) for kind in (None, Forecast))
        for before, after in zip(plain, told, strict=True):
            for key, value in before.items():
                if key not in FORECAST_ONLY:
                    assert after[key] == value, key
            likely_before, likely = before["likely_hours"], after["likely_hours"]
            assert likely >= likely_before


def test_days_that_pass_without_an_entry_never_clear_a_row(drawn: list[Any]) -> None:
    for fleet in drawn:
        before = {(row.engine, row.task): row for row in rows(fleet, Forecast)}
        for row in rows(fleet, Forecast, later=random.Random(len(before)).randrange(1, 90)):
            was = before[row.engine, row.task]
            if row.rule.limits and not (row.rule.season or row.rule.each_run or row.rule.after):
                assert pressing(row) <= pressing(was), (was, row)


def test_early_on_and_late_stand_in_that_order_and_never_before_today(drawn: list[Any]) -> None:
    spread = 0
    for fleet in drawn:
        today = fleet[2].toordinal()
        for row in rows(fleet, Forecast):
            days = [row.due_early, row.due_on, row.due_late]
            known = [day for day in days if day is not None]
            assert known == sorted(known) == days[: len(known)]
            spread += len(set(days)) > 1
            if row.life_used is not None and row.life_used < 1 and row.opened == "":
                assert all(day >= today for day in known)
    assert spread > 40


def test_rows_in_another_order_give_the_same_bytes(drawn: list[Any]) -> None:
    dice = random.Random(11)
    for tables, texts, as_of in drawn[:60]:
        fleet, entries = fleet_of(tables)
        book = book_of(texts, USES)
        told = json.dumps(due_rows(_listed(fleet, entries, book, as_of), ()))
        assert told == json.dumps(due_rows(_listed(fleet, entries, book, as_of), ()))
        names = list(fleet.engines)
        dice.shuffle(names)
        mixed = replace(fleet, engines={name: fleet.engines[name] for name in names})
        shuffled = [entry for entry in entries if type(entry).__name__ != "PutOff"]
        kept = [entry for entry in entries if type(entry).__name__ == "PutOff"]
        dice.shuffle(shuffled)
        assert told == json.dumps(
            due_rows(
                sorted(
                    _listed(mixed, [*kept, *shuffled], book, as_of),
                    key=lambda row: list(fleet.engines).index(row.engine),
                ),
                (),
            )
        )


def _listed(fleet: Any, entries: Any, book: Any, as_of: date) -> list[Due]:
    return due_list(fleet, history(entries, as_of), book, as_of, forecast=Forecast(book.uses))


def test_a_kept_fit_gives_the_same_rows_as_one_made_anew(drawn: list[Any]) -> None:
    taken = 0
    for tables, texts, as_of in drawn[:80]:
        fleet, entries = fleet_of(tables)
        book, told = book_of(texts, USES), history(entries, as_of)
        first = Forecast(book.uses)
        rows_anew = due_list(fleet, told, book, as_of, forecast=first)
        second = Forecast(book.uses, first.made)
        later = as_of + timedelta(7)
        assert due_list(fleet, told, book, as_of, forecast=second) == rows_anew
        assert second.made == {}
        again = Forecast(book.uses, first.made)
        fresh = due_list(fleet, told, book, later, forecast=Forecast(book.uses))
        assert due_list(fleet, told, book, later, forecast=again) == fresh
        taken += len(first.made)
    assert taken > 60


def test_the_blocks_of_the_past_hold_all_hours_since_the_first_and_none_of_idle_days(
    drawn: list[Any],
) -> None:
    for tables, _, as_of in drawn:
        fleet, entries = fleet_of(tables)
        told = history(entries, as_of)
        carriage = Carriage(fleet, told, as_of.toordinal())
        for name, use in carriage.uses.items():
            through = known_through(use)
            blocks = blocks_of(use, carriage.stays[name], through)
            stored = [stay for stay in carriage.stays[name] if stay.boat is None]
            assert all(a.last < b.first for a, b in pairwise(blocks))
            assert all(block.hours >= -1e-9 for block in blocks)
            if not stored and through > use.since:
                ran = use.hours_to(through, through) - use.hours_to(use.since, through)
                assert sum(block.hours for block in blocks) == pytest.approx(float(ran) / 100)
                assert blocks[0].first == use.since + 1 and blocks[-1].last == through
