"""What must hold of life used on any lawful fleet, whatever the figures are."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fleetcare.due.life import Life
from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.log.entries import Job
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from tests.built import book_of, fleet_of, rows_of
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

DRAWN = 160


def rows(drawn: Any, as_of: date | None = None) -> dict[tuple[str, str], Due]:
    tables, texts, day = drawn
    return {(row.engine, row.task): row for row in rows_of(tables, texts, USES, as_of or day)}


@pytest.fixture(scope="module")
def drawn() -> list[Any]:
    return sample(DRAWN)


def test_the_order_in_which_entries_are_written_changes_no_row(drawn: list[Any]) -> None:
    dice = random.Random(5)
    for tables, texts, as_of in drawn:
        fleet, entries = fleet_of(tables)
        jobs_first = sorted(entries, key=lambda entry: isinstance(entry, Job))
        dice.shuffle(jobs_first)
        book = book_of(texts, USES)
        # put-offs of one day keep their order, which their numbers carry
        assert due_list(fleet, history(jobs_first, as_of), book, as_of) == due_list(
            fleet, history(entries, as_of), book, as_of
        )


def test_what_is_not_known_is_never_clear_or_due(drawn: list[Any]) -> None:
    for fleet in drawn:
        for row in rows(fleet).values():
            if row.rule.limits and row.life_used is None:
                assert row.status in ("no record", "overdue")
                assert row.last_done_on is None


def test_overdue_rows_have_their_day_and_other_rows_none(drawn: list[Any]) -> None:
    for fleet in drawn:
        for row in rows(fleet).values():
            assert (row.overdue_since is not None) == (row.status == "overdue")
            if row.overdue_since is not None:
                assert row.overdue_since <= fleet[2].toordinal()


def test_likely_hours_never_lower_a_status(drawn: list[Any]) -> None:
    for fleet in drawn:
        for row in rows(fleet).values():
            if row.raised_by_likely_hours:
                assert row.status == "due" and row.likely_hours > 0


def test_the_days_by_water_add_up_to_the_days(drawn: list[Any]) -> None:
    for tables, _, as_of in drawn:
        fleet, entries = fleet_of(tables)
        last = as_of.toordinal()
        carriage = Carriage(fleet, history(entries, as_of), last)
        for name in carriage.known:
            use = carriage.under(name, "gearcase")
            first = use.known_from
            assert sum(use.days_by_water(first, last)) == last - first + 1
            middle = (first + last) // 2
            parts = zip(
                use.days_by_water(first, middle), use.days_by_water(middle + 1, last), strict=True
            )
            assert [a + b for a, b in parts] == use.days_by_water(first, last)


def test_hours_by_water_add_up_to_the_meter(drawn: list[Any]) -> None:
    for tables, _, as_of in drawn:
        fleet, entries = fleet_of(tables)
        last = as_of.toordinal()
        for use in Carriage(fleet, history(entries, as_of), last).uses.values():
            mix = use.mix_to(last, last)
            assert sum(mix[:3]) == use.hours_to(last, last) - use.closes.hours[0]


def test_a_job_done_at_the_close_of_today_leaves_no_life_used(drawn: list[Any]) -> None:
    for tables, texts, as_of in drawn:
        fleet, entries = fleet_of(tables)
        book = book_of(texts, USES)
        today = [entry for entry in entries if entry.on == as_of]
        for row in due_list(fleet, history(entries, as_of), book, as_of):
            if today or row.life_used is None:
                continue
            job = Job(on=as_of, engine=row.engine, task=row.task, number=len(entries) + 1)
            after = due_list(fleet, history([*entries, job], as_of), book, as_of, row.engine)
            again = next(item for item in after if item.task == row.task)
            assert (again.life_used, again.last_done_on) == (0, as_of.toordinal())


def test_time_alone_never_withdraws_an_overdue(drawn: list[Any]) -> None:
    for tables, texts, as_of in drawn:
        fleet, entries = fleet_of(tables)
        book = book_of(texts, USES)
        past = history(entries, as_of)
        later = replace_day(as_of, 40)
        before = {(r.engine, r.task): r for r in due_list(fleet, past, book, as_of)}
        after = {
            (r.engine, r.task): r
            for r in due_list(fleet, past, book, later)
            if fleet.engines[r.engine].since <= as_of
        }
        for key, row in before.items():
            if row.status == "overdue":
                assert after[key].status == "overdue", key


def replace_day(day: date, more: int) -> date:
    return date.fromordinal(day.toordinal() + more)


def test_tightening_a_limit_never_lowers_life(drawn: list[Any]) -> None:
    for tables, texts, as_of in drawn[:80]:
        fleet, entries = fleet_of(tables)
        book = book_of(texts, USES)
        told = history(entries, as_of)
        before = due_list(fleet, told, book, as_of)
        tight = replace(book, sets={name: _tighter(s) for name, s in book.sets.items()})
        for old, new in zip(before, due_list(fleet, told, tight, as_of), strict=True):
            if old.life is not None and new.life is not None:
                assert new.life >= old.life


def _tighter(ruleset: Any) -> Any:
    def half(limit: Any) -> Any:
        if limit is None or not limit.hours:
            return limit
        return replace(limit, hours=max(1, limit.hours // 2))

    rules = {
        name: replace(rule, limits=tuple(map(half, rule.limits)) if rule.limits else None)
        for name, rule in ruleset.rules.items()
    }
    return replace(ruleset, rules=rules)


def test_the_day_it_was_passed_is_the_one_that_a_look_at_every_day_finds(
    drawn: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = [{key: row.overdue_since for key, row in rows(fleet).items()} for fleet in drawn]
    asked = []

    def day_by_day(self: Life, as_of: int, is_past_now: bool) -> int | None:
        asked.append(self.clock.component.has_exact_runs())
        days = range(self.clock.start, as_of + 1)
        return next((day for day in days if self.at(day, day) > 1), None)

    monkeypatch.setattr(Life, "first_passed", day_by_day)
    for fleet, before in zip(drawn, found, strict=True):
        assert {key: row.overdue_since for key, row in rows(fleet).items()} == before
    assert asked.count(False) > 50  # of engines whose runs add up to more than the readings
