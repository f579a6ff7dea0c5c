"""A history cut off at a day is the history that was known by then."""

from __future__ import annotations

from datetime import timedelta

from fleetcare.log.earlier import known_by
from fleetcare.log.history import history
from tests.built import fleet_of
from tests.oracle.sample import sample


def test_what_is_cut_off_at_a_day_is_what_reading_only_so_far_would_give() -> None:
    for drawn, _, as_of in sample(80):
        fleet, entries = fleet_of(drawn)
        whole = history(entries, as_of)
        for back in (0, 1, 20, 200, 4000):
            day = as_of - timedelta(back)
            cut, known = known_by(whole, day.toordinal()), history(entries, day)
            assert all(cut.of(name) == known.of(name) for name in fleet.engines)
            assert cut.swaps == known.swaps
            assert cut.boats_retired == known.boats_retired
            assert {boat: moves for boat, moves in cut.moves.items() if moves} == known.moves
