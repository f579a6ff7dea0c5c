"""The rows of a few engines, read without the rest of the fleet, are those of the whole list."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given

from fleetcare.cli.looking import FEW, SomeRows, kin_alone, some_rows
from fleetcare.due.rows import due_and_standing
from fleetcare.rules.sets import RuleBook
from fleetcare.show.values import due_rows
from fleetcare.store.fleet_file import FleetFile
from fleetcare.usage.outlooks import Forecast, OthersWantedError
from tests.built import book_of, fleet_of
from tests.oracle.strategies import USES, fleets
from tests.store.test_fetch import Drawn, ahead, days_back, kept, picks, withdraw_lawfully


def whole_list(file: FleetFile, book: RuleBook, day: Any) -> SomeRows:
    fleet, history = file.fleet(), file.history(day)
    found = due_and_standing(fleet, history, book, day, None, Forecast(book.uses))
    return SomeRows(fleet, history, *found)


def alone(file: FleetFile, book: RuleBook, day: Any, name: str) -> SomeRows | None:
    """The rows of an engine and its kin, with nothing else read; None when others are wanted."""
    kin = file.kin({name})
    fleet, history = file.fleet().only(kin), file.history(day, engines=kin)
    try:
        found = due_and_standing(fleet, history, book, day, None, Forecast(book.uses, whole=False))
    except OthersWantedError:
        return None
    return SomeRows(fleet, history, *found)


def of(found: SomeRows, name: str) -> tuple[list[dict[str, Any]], list[Any]]:
    mine = [row for row in found.rows if row.engine == name]
    return due_rows(mine, ()), found.stands.get(name, [])


@ahead
@given(fleets(), picks, days_back)
def test_each_engine_alone_with_its_kin_has_the_rows_of_the_whole_list(
    drawn: Drawn, chosen: list[int], back: int
) -> None:
    tables, texts, as_of = drawn
    fleet, entries = fleet_of(tables)
    book = book_of(texts, USES)
    with kept(fleet, entries) as file:
        if entries:
            withdraw_lawfully(file, chosen)
        for day in (as_of, as_of - timedelta(days=back)):
            whole = whole_list(file, book, day)
            for name in fleet.engines:
                found = alone(file, book, day, name)
                assert found is None or of(found, name) == of(whole, name)
                assert of(some_rows(file, book, day, {name}), name) == of(whole, name)


def many(worn: str, swaps: list[dict[str, str]]) -> dict[str, list[dict[str, str]]]:
    """Nine engines known for two years, one of them read throughout."""
    names = ("Plover", "Teal", "Snipe", "Knot", "Dunlin", "Ruff", "Stint", "Curlew", "Whimbrel")
    return {
        "settings": [],
        "boats": [{"boat": "Otter", "use": "hire", "water": "salt", "since": "2024-05-01"}],
        "engines": [
            {"engine": name, "boat": "Otter" if name == worn else "", "since": "2024-05-01",
             "reading": "0"}
            for name in names
        ],
        "log": [
            *({"on": f"{year}-{month:02}-20", "event": "reading", "engine": worn,
               "reading": str((year - 2024) * 120 + month * 10)}
              for year in (2024, 2025) for month in range(6 if year == 2024 else 1, 13)),
            *swaps,
        ],
    }  # fmt: skip


@pytest.mark.parametrize("swapped", [False, True])
def test_few_are_read_alone_and_kin_with_them(swapped: bool) -> None:
    swaps = [
        {"on": f"2025-0{month}-01", "event": "swap", "engine": engine, "other": other,
         "component": "gearcase"}
        for month, engine, other in ((3, "Plover", "Teal"), (4, "Teal", "Snipe"))
    ] if swapped else []  # fmt: skip
    fleet, entries = fleet_of(many("Plover", swaps))
    with kept(fleet, entries) as file:
        known = file.fleet()
        assert FEW == 4
        some = {"Plover", "Teal", "Snipe"} if swapped else {"Plover"}
        assert file.kin({"Plover"}) == some
        assert kin_alone(file, known, {"Plover"}) == (None if swapped else some)
        assert kin_alone(file, known, {"Knot", "Ruff"}) == {"Knot", "Ruff"}
        assert kin_alone(file, known, {"Knot", "Ruff", "Stint"}) is None
        assert kin_alone(file, known, None) is None
        assert file.engines_of({"Otter"}) == {"Plover"}


def test_an_engine_with_a_past_of_its_own_needs_no_other_and_a_new_one_does() -> None:
    fleet, entries = fleet_of(many("Plover", []))
    book = book_of({"small-petrol": PLAIN}, USES)
    with kept(fleet, entries) as file:
        day = entries[-1].on
        whole = whole_list(file, book, day)
        found = alone(file, book, day, "Plover")
        assert found is not None and set(found.history.engines) == {"Plover"}
        assert of(found, "Plover") == of(whole, "Plover") != ([], [])
        assert alone(file, book, day, "Knot") is None
        assert of(some_rows(file, book, day, {"Knot"}), "Knot") == of(whole, "Knot") != ([], [])
        assert set(some_rows(file, book, day, {"Plover"}).history.engines) == {"Plover"}


PLAIN = """
[set]
name = "small-petrol"
title = "One job"

[[task]]
name = "plugs"
title = "Change the spark plugs"
component = "powerhead"
limits = { hours = 100, months = 12 }
source = "common practice, no source"
"""
