"""However small the pieces an answer is taken in, the columns are the same."""

from __future__ import annotations

import pytest

from fleetcare.store import fetch
from tests.built import fleet_of
from tests.oracle.cases import tables
from tests.store.test_fetch import kept

TEXT = """
    boat Otter lies in fresh from 2031-01-01
    engine Plover on Otter since 2031-05-01, reading 0
    engine Teal in store since 2031-05-01, reading 0
    engine Knot in store since 2031-05-01, reading 0
"""
RUNS = (("Plover", 5), ("Teal", 2), ("Knot", 4))  # so many days each


@pytest.mark.parametrize("size", [1, 2, 3, 7, 50_000])
def test_an_engine_whose_rows_lie_in_two_pieces_keeps_them_all(
    size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fetch, "ROWS_AT_ONCE", size)
    lines = "".join(
        f"{name} runs {day} in salt on 2031-05-0{day}\n{name} reads {8 * day} on 2031-05-0{day}\n"
        for name, last in RUNS
        for day in range(2, last + 2)
    )
    fleet, entries = fleet_of(tables(TEXT + lines))
    with kept(fleet, entries) as file:
        history = fetch.fetch_history(file.connection)
    for name, last in RUNS:
        log = history.of(name)
        assert log.figures == [800 * day for day in range(2, last + 2)]
        assert log.run_hours == [100 * day for day in range(2, last + 2)]
        assert log.figure_days == log.run_days and len(set(log.run_days)) == last
        assert log.run_waters == [2] * last
