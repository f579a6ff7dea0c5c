"""Withdrawing: an entry counts unless an entry that counts withdraws it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from fleetcare.errors import RefusedError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.store.append import add_boat, withdraw
from fleetcare.store.fetch import fetch_act, fetch_entries, live_entries
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.swaps import hanging_swaps
from tests.store.small_file import AT, FIRST, add, digest, make, may, reads

TODAY = date(2025, 6, 1)


@pytest.fixture
def file(tmp_path: Path) -> Iterator[FleetFile]:
    with make(tmp_path / "fleet.db") as file:
        yield file


def undo(file: FleetFile, *numbers: int) -> list[int]:
    with file.writing() as connection:
        return withdraw(connection, numbers, TODAY, "jetty", AT)


def live(file: FleetFile) -> list[int]:
    return [entry.number for entry in live_entries(file.log())]


def swap(day: int, engine: str, other: str, component: str = "gearcase") -> kinds.Swap:
    return kinds.Swap(on=may(day), engine=engine, other=other, component=component)


def test_a_withdrawal_can_itself_be_withdrawn_and_so_on(file: FleetFile) -> None:
    add(file, reads(2, 101))
    for times in range(1, 8):
        assert undo(file, times) == [times + 1]
        assert live(file) == ([] if times % 2 else [1])
        figures = file.history().of("Plover").figures
        assert figures == ([] if times % 2 else [10100])


def test_an_entry_brought_back_can_be_withdrawn_again(file: FleetFile) -> None:
    add(file, reads(2, 101))
    undo(file, 1)  # 2
    undo(file, 2)  # 3: entry 1 counts again
    undo(file, 1)  # 4
    assert live(file) == []
    undo(file, 3)  # 5: the first withdrawal counts again, beside the second
    assert live(file) == []
    undo(file, 4)  # 6
    assert live(file) == []
    undo(file, 5)  # 7
    assert live(file) == [1]


def test_a_withdrawal_keeps_what_it_names_and_says_who_and_when(file: FleetFile) -> None:
    add(file, reads(2, 101))
    before = fetch_entries(file.connection, [1])[1].entry
    undo(file, 1)
    first, second = file.log()
    assert (first.entry, first.withdrawn) == (before, True)
    assert (second.entry, second.withdraws, second.by, second.on) == (None, 1, "jetty", TODAY)


def test_a_withdrawal_counts_for_every_day_looked_from(file: FleetFile) -> None:
    add(file, reads(2, 101))
    undo(file, 1)
    assert file.history(may(3)).of("Plover").figures == []


def test_what_is_withdrawn_already_or_not_there_or_named_twice_is_refused(file: FleetFile) -> None:
    add(file, reads(2, 101), reads(3, 102))
    undo(file, 1)
    before = digest(file.path)
    for numbers, words in (
        ((1,), "entry 1 is withdrawn already"),
        ((9,), "there is no entry 9"),
        ((2, 9), "there is no entry 9"),
        ((2, 1), "entry 1 is withdrawn already"),
        ((2, 2), "named twice"),
        ((0,), "there is no entry 0"),
    ):
        with pytest.raises(RefusedError, match=words):
            undo(file, *numbers)
    assert digest(file.path) == before
    assert live(file) == [2]


def test_a_command_is_withdrawn_as_one(file: FleetFile) -> None:
    add(file, reads(2, 101))
    add(file, reads(3, 102), reads(4, 103))
    numbers = undo(file, *(item.number for item in fetch_act(file.connection)))
    assert numbers == [4, 5]
    assert live(file) == [1]
    assert [item.number for item in fetch_act(file.connection)] == [4, 5]
    assert undo(file, 4, 5) == [6, 7]
    assert live(file) == [1, 2, 3]


# -- what would leave the log broken -----------------------------------------------------------


def test_a_meter_change_with_lower_figures_after_it_stays_until_they_go(file: FleetFile) -> None:
    add(file, kinds.MeterChange(on=may(2), engine="Plover", old=10100, new=0))
    add(file, reads(3, 1.5))
    before = digest(file.path)
    with pytest.raises(RefusedError, match="taking back entry 1 would leave the log wrong") as bad:
        undo(file, 1)
    assert 'engine "Plover" reads 1.5 on 2025-05-03 but read 100.0' in str(bad.value)
    assert digest(file.path) == before
    undo(file, 2)
    undo(file, 1)
    assert live(file) == []


def test_both_at_once_are_taken_back_in_either_order(file: FleetFile) -> None:
    add(file, kinds.MeterChange(on=may(2), engine="Plover", old=10100, new=0))
    add(file, reads(3, 1.5))
    undo(file, 1, 2)
    undo(file, 3, 4)
    undo(file, 2, 1)
    assert live(file) == []


def test_bringing_back_a_figure_that_no_longer_fits_is_refused(file: FleetFile) -> None:
    add(file, reads(4, 150))
    undo(file, 1)
    add(file, reads(5, 120))
    with pytest.raises(RefusedError, match=r"reads 120\.0 on 2025-05-05 but read 150\.0"):
        undo(file, 2)
    assert live(file) == [3]


def test_a_swap_that_a_later_one_stands_on_is_refused_and_names_it(file: FleetFile) -> None:
    add(file, swap(2, "Plover", "Teal"))
    add(file, swap(3, "Teal", "Snipe"))
    before = digest(file.path)
    with pytest.raises(RefusedError, match="entry 2, a later swap of the gearcase, stands on") as e:
        undo(file, 1)
    assert "fleetcare undo 2" in str(e.value)
    assert digest(file.path) == before
    undo(file, 2)
    undo(file, 1)
    assert live(file) == []


def test_a_swap_brought_back_and_built_upon_hangs_like_any_other(file: FleetFile) -> None:
    add(file, swap(2, "Plover", "Teal"))
    undo(file, 1)
    undo(file, 2)
    add(file, swap(3, "Teal", "Snipe"))  # 4
    with pytest.raises(RefusedError, match="entry 4, a later swap"):
        undo(file, 3)
    with pytest.raises(RefusedError, match="entry 4, a later swap"):
        undo(file, 1)
    assert live(file) == [1, 4]


def test_a_swap_is_not_brought_back_onto_one_that_counts_no_more(file: FleetFile) -> None:
    """It was written of the parts as they lay then; now it would move others."""
    add(file, swap(2, "Plover", "Teal"))
    add(file, swap(3, "Teal", "Snipe"))
    undo(file, 2)  # 3
    undo(file, 1)  # 4
    with pytest.raises(RefusedError, match="entry 2, a swap, stands on entry 1, a swap that count"):
        undo(file, 3)
    undo(file, 4)  # 5
    undo(file, 3)
    assert hanging_swaps(file.connection) == []


def test_swaps_of_one_command_are_taken_back_together(file: FleetFile) -> None:
    add(file, swap(2, "Plover", "Teal"), swap(3, "Teal", "Snipe"), swap(4, "Snipe", "Plover"))
    undo(file, 1, 2, 3)
    assert live(file) == []


@pytest.mark.parametrize("later", [swap(3, "Teal", "Snipe", "powerhead"), swap(1, "Teal", "Snipe")])
def test_swaps_of_other_parts_and_earlier_ones_do_not_stand_on_it(
    file: FleetFile, later: kinds.Swap
) -> None:
    add(file, swap(2, "Plover", "Teal"))
    add(file, later)
    undo(file, 1)
    assert live(file) == [2]


def test_two_mounts_without_the_store_between_are_refused(file: FleetFile) -> None:
    with file.writing() as connection:
        add_boat(connection, Boat("Heron", "club", Water.FRESH, FIRST))
    add(file, kinds.Store(on=may(2), engine="Plover"))
    add(file, kinds.Mount(on=may(3), engine="Plover", boat="Otter"))
    with pytest.raises(RefusedError, match='is on boat "Otter" already'):
        undo(file, 1)
    assert live(file) == [1, 2]


# -- what the log of one engine shows ----------------------------------------------------------


def test_the_log_of_an_engine_shows_every_withdrawal_along_the_chain(file: FleetFile) -> None:
    add(file, reads(2, 101))
    add(file, reads(2, 101, engine="Teal"))
    undo(file, 1)  # 3
    undo(file, 3)  # 4
    undo(file, 2)  # 5
    undo(file, 4)  # 6
    assert [item.number for item in file.log("Plover")] == [1, 3, 4, 6]
    assert [item.number for item in file.log("Teal")] == [2, 5]
    assert file.log("Snipe") == []


def test_the_log_of_an_engine_shows_the_swaps_it_was_the_other_of(file: FleetFile) -> None:
    add(file, swap(2, "Plover", "Teal"))
    assert [item.number for item in file.log("Teal")] == [1]
    assert [item.number for item in file.log()] == [1]
