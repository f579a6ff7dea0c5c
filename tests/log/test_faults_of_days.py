"""Entries out of their time are refused: before, after, twice a day, swaps that cannot be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults, hanging_on
from fleetcare.log.history import history

MAY_1 = date(2031, 5, 1)
PLOVER = Engine("Plover", MAY_1, boat="Otter", reading=10000)  # it read 100.0 on 1 May
TEAL = Engine("Teal", MAY_1, boat="Dipper", meter=False, litres_hour=None)
SPARE = Engine("Spare A", MAY_1, reading=0, new=True)
BOATS = {
    name: Boat(name, "hire", Water.FRESH, date(2031, 4, 1)) for name in ("Otter", "Dipper", "Heron")
}


def may(day: int) -> date:
    return date(2031, 5, day)


def april(day: int) -> date:
    return date(2031, 4, day)


def told(*entries: Entry, engine: Engine = PLOVER) -> list[str]:
    """The faults of a log of three engines, as they are told."""
    engines = {each.name: each for each in (PLOVER, TEAL, SPARE)} | {engine.name: engine}
    fleet = Fleet("f1", Settings(), BOATS, engines)
    written = [replace(entry, number=at) for at, entry in enumerate(entries, start=1)]
    return [str(fault) for fault in faults(fleet, history(written, date(2040, 1, 1)))]


def one(*entries: Entry, engine: Engine = PLOVER) -> str:
    found = told(*entries, engine=engine)
    assert len(found) == 1, found
    return found[0]


def reads(figure: float, on: date, engine: str = "Plover") -> Entry:
    return kinds.Reading(on=on, engine=engine, reading=round(figure * 100))


def runs(hours: float, on: date, engine: str = "Plover") -> Entry:
    return kinds.Run(on=on, engine=engine, hours=round(hours * 100))


def done(on: date, figure: float | None = None, engine: str = "Plover") -> Entry:
    reading = None if figure is None else round(figure * 100)
    return kinds.Job(on=on, engine=engine, task="impeller", reading=reading)


def meter(on: date, old: float | None, new: float | None, engine: str = "Plover") -> Entry:
    figures = [None if figure is None else round(figure * 100) for figure in (old, new)]
    return kinds.MeterChange(on=on, engine=engine, old=figures[0], new=figures[1])


# --- before the engine was known --------------------------------------------------------------


@pytest.mark.parametrize(
    ("entry", "event"),
    [
        (reads(90, april(20)), "a reading"),
        (runs(2, april(20)), "a run"),
        (kinds.Run(on=april(20), engine="Plover", fuel=100), "a run"),
        (meter(april(20), 90, 0), "a meter entry"),
        (
            kinds.Finding(on=april(20), engine="Plover", part="swivel", condition="stiff"),
            "a finding",
        ),
        (kinds.Incident(on=april(20), engine="Plover", kind="swamped"), "an incident"),
        (kinds.Mount(on=april(20), engine="Plover", boat="Heron"), "a mount"),
        (kinds.Store(on=april(20), engine="Plover"), "a store"),
        (kinds.LayUp(on=april(20), engine="Plover"), "a lay-up"),
        (kinds.Launch(on=april(20), engine="Plover"), "a launch"),
        (
            kinds.PutOff(on=april(20), engine="Plover", task="plugs", until=may(9)),
            "a put-off",
        ),
        (kinds.Retire(on=april(20), engine="Plover"), "its retirement"),
        (
            kinds.Swap(on=april(20), engine="Plover", other="Spare A", component="gearcase"),
            "a swap",
        ),
    ],
)
def test_only_jobs_are_taken_from_before_the_fleet_knew_the_engine(
    entry: Entry, event: str
) -> None:
    found = [text for text in told(entry) if text.startswith('engine "Plover"')]
    assert f"has {event} on 2031-04-20, before the fleet knew it (2031-05-01)" in found[0]


def test_a_job_from_before_is_taken_with_its_figure_and_its_condition() -> None:
    with_condition = kinds.Job(
        on=april(10), engine="Plover", task="impeller", part="impeller vanes", condition="set"
    )
    assert told(done(april(3), 80), with_condition, done(april(20), 95), done(april(30))) == []
    assert told(done(april(3), engine="Teal")) == []


@pytest.mark.parametrize(
    "entries",
    [
        (done(april(20), 100.01),),
        (done(april(3), 95), done(april(20), 94.99)),
    ],
)
def test_the_figures_of_earlier_jobs_rise_up_to_the_first_day(entries: tuple[Entry, ...]) -> None:
    found = one(*entries)
    assert "has a job on 2031-04-20" in found
    assert "do not allow (it read 100.0 on 2031-05-01)" in found


def test_a_figure_of_the_first_day_does_not_lie_below_an_earlier_jobs() -> None:
    assert told(done(april(20), 95), reads(96, MAY_1)) == []
    assert "reads 94.0 on 2031-05-01 but read 95.0 on 2031-04-20" in one(
        done(april(20), 95), reads(94, MAY_1)
    )


def test_an_earlier_job_leaves_no_more_than_24_hours_a_day_either() -> None:
    assert told(done(april(30), 76)) == []
    assert "ran 24.01 h by its meter from 2031-04-30 to 2031-05-01" in one(done(april(30), 75.99))


def test_an_earlier_job_of_an_engine_without_a_meter_has_no_figure() -> None:
    assert "has no meter on 2031-04-20" in one(done(april(20), 95, "Teal"))


def test_the_first_day_itself_may_hold_anything() -> None:
    first_day: list[Entry] = [
        runs(2, MAY_1),
        reads(101, MAY_1),
        kinds.Store(on=MAY_1, engine="Plover"),
        kinds.LayUp(on=MAY_1, engine="Plover"),
    ]
    assert told(*first_day) == []


# --- once a day -------------------------------------------------------------------------------


def test_a_boat_moves_once_a_day() -> None:
    moves = [
        kinds.Move(on=may(day), boat="Otter", water=water)
        for day, water in ((3, Water.SALT), (3, Water.FRESH), (9, Water.SALT))
    ]
    assert one(*moves) == 'boat "Otter": has two moves on 2031-05-03'
    assert told(moves[0], moves[2]) == []


def test_a_boat_does_not_move_before_it_was_known() -> None:
    move = kinds.Move(on=date(2031, 3, 31), boat="Otter", water=Water.SALT)
    assert one(move) == 'boat "Otter": has a move on 2031-03-31, before it was known'
    assert told(replace(move, on=april(1))) == []


def test_a_move_to_the_water_a_boat_has_is_taken() -> None:
    assert told(kinds.Move(on=may(3), boat="Otter", water=Water.FRESH)) == []


def test_an_engine_is_mounted_once_a_day_and_where_it_is_not_yet() -> None:
    def mount(day: int, boat: str) -> Entry:
        return kinds.Mount(on=may(day), engine="Plover", boat=boat)

    store = kinds.Store(on=may(3), engine="Plover")
    assert told(store, mount(3, "Heron"), mount(4, "Otter")) == []
    assert told(store, mount(9, "Otter")) == []
    assert 'engine "Plover": has two mounts on 2031-05-03' in told(mount(3, "Heron"),
                                                                   mount(3, "Dipper"))  # fmt: skip
    assert one(mount(3, "Otter")) == 'engine "Plover": is on boat "Otter" already on 2031-05-03'
    assert one(store, replace(store, on=may(5))) == (
        'engine "Plover": is in store already on 2031-05-05'
    )


def test_an_engine_has_one_meter_entry_a_day() -> None:
    found = told(meter(may(3), 101, 0), meter(may(3), 102, 0))
    assert 'engine "Plover": has two meter entries on 2031-05-03' in found


def swap(day: int, engine: str, other: str, component: str = "gearcase") -> kinds.Swap:
    return kinds.Swap(on=may(day), engine=engine, other=other, component=component)


def test_a_place_is_touched_by_one_swap_a_day() -> None:
    assert told(swap(3, "Plover", "Teal"), swap(3, "Plover", "Teal", "powerhead")) == []
    assert told(swap(3, "Plover", "Teal"), swap(4, "Plover", "Teal")) == []
    assert one(swap(3, "Plover", "Teal"), swap(3, "Spare A", "Plover")) == (
        'engine "Plover": has two swaps of its gearcase on 2031-05-03'
    )


def test_an_engine_does_not_swap_with_itself() -> None:
    assert one(swap(3, "Plover", "Plover")) == 'engine "Plover": cannot swap with itself'


def test_a_swap_needs_both_engines_to_be_known() -> None:
    late = replace(SPARE, since=may(10))
    found = told(swap(9, "Plover", "Spare A"), engine=late)
    assert 'engine "Spare A": was not yet known on 2031-05-09, the day of the swap' in found
    assert told(swap(10, "Plover", "Spare A"), engine=late) == []


# --- after the end ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "entry",
    [
        reads(103, may(9)),
        runs(2, may(9)),
        done(may(9)),
        kinds.Mount(on=may(9), engine="Plover", boat="Heron"),
        kinds.LayUp(on=may(9), engine="Plover"),
        swap(9, "Teal", "Plover"),
        kinds.PutOff(on=may(9), engine="Plover", task="plugs", until=may(12)),
    ],
)
def test_a_retired_engine_has_no_entry_after_its_last_day(entry: Entry) -> None:
    retired = kinds.Retire(on=may(8), engine="Plover")
    assert one(retired, entry) == (
        'engine "Plover": was retired on 2031-05-08 but has an entry on 2031-05-09'
    )
    assert told(replace(retired, on=may(9)), entry) == []


def test_other_engines_go_on() -> None:
    assert told(kinds.Retire(on=may(8), engine="Plover"), runs(3, may(9), "Teal")) == []


# --- what stands on a swap --------------------------------------------------------------------


def test_a_later_swap_of_the_same_place_stands_on_an_earlier_one() -> None:
    first, second = swap(3, "Plover", "Teal"), swap(9, "Teal", "Spare A")
    apart = swap(5, "Plover", "Teal", "powerhead")
    written = [replace(e, number=at) for at, e in enumerate((first, apart, second), start=1)]
    found = history(written, may(30))
    by_number = {each.number: each for each in found.swaps}
    assert hanging_on(found, by_number[1]) == by_number[3]
    assert hanging_on(found, by_number[2]) is None
    assert hanging_on(found, by_number[3]) is None


def test_a_swap_written_later_but_dated_earlier_does_not_stand_on_it() -> None:
    late, early = swap(9, "Plover", "Teal"), swap(3, "Plover", "Teal")
    found = history([replace(late, number=1), replace(early, number=2)], may(30))
    first, second = found.swaps
    assert (first.number, second.number) == (2, 1)
    assert hanging_on(found, second) is None
    assert hanging_on(found, first) == second
