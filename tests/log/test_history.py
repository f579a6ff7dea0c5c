"""A history holds what happened up to a day, in columns that stand in order of days."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.history import NOT_NAMED, EngineLog, JobMark, Meter, history, hours_from_fuel

steady = settings(deadline=None, derandomize=True, database=None)

MAY_1 = date(2031, 5, 1)
FAR = date(2040, 1, 1)


def may(day: int) -> date:
    return date(2031, 5, day)


def of(*entries: Entry, as_of: date = FAR) -> EngineLog:
    return history(entries, as_of).of("Plover")


def number(on: date) -> int:
    return on.toordinal()


def test_figures_given_with_anything_are_readings_like_any_other() -> None:
    log = of(
        kinds.Job(on=may(5), engine="Plover", task="plugs", reading=500),
        kinds.Reading(on=may(2), engine="Plover", reading=200),
        kinds.Run(on=may(3), engine="Plover", hours=100, reading=300),
        kinds.Finding(on=may(6), engine="Plover", part="swivel", condition="stiff", reading=600),
        kinds.Incident(on=may(4), engine="Plover", kind="swamped", reading=400),
    )
    assert log.figure_days == [number(may(day)) for day in (2, 3, 4, 5, 6)]
    assert log.figures == [200, 300, 400, 500, 600]


def test_the_figures_of_a_meter_entry_are_not_plain_readings() -> None:
    log = of(kinds.MeterChange(on=may(2), engine="Plover", old=31000, new=200))
    assert log.figures == []
    assert log.meters == [Meter(number(may(2)), 31000, 200)]


def test_runs_keep_their_water_and_say_when_they_named_none() -> None:
    log = of(
        kinds.Run(on=may(3), engine="Plover", hours=150, water=Water.SALT),
        kinds.Run(on=may(2), engine="Plover", hours=50),
        kinds.Run(on=may(2), engine="Plover", fuel=3000, water=Water.FRESH),
    )
    assert (log.run_days, log.run_hours) == ([number(may(2)), number(may(3))], [50, 150])
    assert log.run_waters == [NOT_NAMED, int(Water.SALT)]
    assert log.fuel_runs == [(number(may(2)), 3000, int(Water.FRESH))]


def test_a_job_is_found_by_its_task_with_its_figure_and_its_condition() -> None:
    log = of(
        kinds.Job(on=may(9), engine="Plover", task="impeller", number=2, condition="set",
                  part="impeller vanes", count=1),
        kinds.Job(on=may(2), engine="Plover", task="impeller", reading=7, number=1),
        kinds.Job(on=may(3), engine="Plover", task="plugs", number=3),
    )  # fmt: skip
    assert log.jobs["impeller"] == [
        JobMark(number(may(2)), 7, 1),
        JobMark(number(may(9)), None, 2),
    ]
    assert list(log.jobs) == ["impeller", "plugs"]
    assert [(seen.task, seen.condition, seen.pieces) for seen in log.seen] == [
        ("impeller", "set", 1)
    ]


def test_nothing_dated_after_the_day_asked_for_is_seen() -> None:
    entries: list[Entry] = [
        kinds.Reading(on=may(day), engine="Plover", reading=day * 100) for day in range(1, 20)
    ]
    entries.append(kinds.Move(on=may(8), boat="Otter", water=Water.SALT))
    entries.append(kinds.Swap(on=may(9), engine="Plover", other="Teal", component="gearcase"))
    entries.append(kinds.Retire(on=may(10), engine="Plover"))
    found = history(entries, may(8))
    assert found.of("Plover").figures == [100, 200, 300, 400, 500, 600, 700, 800]
    assert found.moves == {"Otter": [(number(may(8)), int(Water.SALT))]}
    assert found.swaps == []
    assert found.of("Plover").retired is None
    assert history(entries, may(10)).of("Plover").retired == number(may(10))


@steady
@given(
    st.lists(
        st.builds(
            kinds.Reading,
            on=st.integers(0, 40).map(lambda days: MAY_1 + timedelta(days=days)),
            engine=st.sampled_from(["Plover", "Teal"]),
            reading=st.integers(0, 1000),
        )
    ),
    st.integers(0, 40),
)
def test_the_history_of_a_day_is_that_of_the_entries_up_to_it(
    entries: list[kinds.Reading], days: int
) -> None:
    as_of = MAY_1 + timedelta(days=days)
    upto = [entry for entry in entries if entry.on <= as_of]
    assert history(entries, as_of) == history(upto, FAR)


@steady
@given(
    st.lists(
        st.tuples(
            st.integers(0, 9),
            st.sampled_from(["run", "fuel", "reading", "job", "incident", "season", "place"]),
        )
    )
)
def test_every_column_stands_in_order_of_days(drawn: list[tuple[int, str]]) -> None:
    made: dict[str, Callable[[date], Entry]] = {
        "run": lambda on: kinds.Run(on=on, engine="Plover", hours=100, water=Water.SALT),
        "fuel": lambda on: kinds.Run(on=on, engine="Plover", fuel=100),
        "reading": lambda on: kinds.Reading(on=on, engine="Plover", reading=100),
        "job": lambda on: kinds.Job(on=on, engine="Plover", task="plugs", condition="dark"),
        "incident": lambda on: kinds.Incident(on=on, engine="Plover", kind="swamped"),
        "season": lambda on: kinds.LayUp(on=on, engine="Plover"),
        "place": lambda on: kinds.Store(on=on, engine="Plover"),
    }
    log = of(*(made[what](MAY_1 + timedelta(days=days)) for days, what in drawn))
    assert len(log.figure_days) == len(log.figures)
    assert len(log.run_days) == len(log.run_hours) == len(log.run_waters)
    columns: list[list[int]] = [
        log.figure_days,
        log.run_days,
        [run[0] for run in log.fuel_runs],
        [mark.day for mark in log.jobs.get("plugs", [])],
        [seen.day for seen in log.seen],
        [incident[0] for incident in log.incidents],
        [season[0] for season in log.seasons],
        [place[0] for place in log.places],
    ]
    assert all(column == sorted(column) for column in columns)
    held = sum(map(len, columns)) - len(log.seen)
    assert held == len(drawn)


def test_entries_added_out_of_order_stand_in_order_once_sorted() -> None:
    found = history([], FAR)
    for day in (9, 2, 5):
        found.add(kinds.Run(on=may(day), engine="Plover", hours=day))
        found.add(kinds.Reading(on=may(day), engine="Plover", reading=day))
        found.add(kinds.Move(on=may(day), boat="Otter", water=Water.SALT))
        found.add(kinds.Mount(on=may(day), engine="Plover", boat="Otter"))
        found.add(kinds.Store(on=may(day), engine="Plover"))
        found.add(kinds.Launch(on=may(day), engine="Plover"))
        found.add(kinds.LayUp(on=may(day), engine="Plover"))
    found.sort()
    log = found.of("Plover")
    assert [boat for _, boat in log.places] == [None, "Otter"] * 3
    assert [word for _, word in log.seasons] == ["lay-up", "launch"] * 3
    assert (log.run_hours, log.figures) == ([2, 5, 9], [2, 5, 9])
    assert [day for day, _ in found.moves["Otter"]] == sorted(number(may(d)) for d in (2, 5, 9))


def test_on_one_day_an_engine_goes_into_store_before_it_is_mounted() -> None:
    log = of(
        kinds.Mount(on=may(2), engine="Plover", boat="Dipper", number=1),
        kinds.Store(on=may(2), engine="Plover", number=2),
        kinds.Launch(on=may(2), engine="Plover", number=3),
        kinds.LayUp(on=may(2), engine="Plover", number=4),
    )
    assert log.places == [(number(may(2)), None), (number(may(2)), "Dipper")]
    assert [word for _, word in log.seasons] == ["lay-up", "launch"]


def test_the_shelf_is_part_of_no_engines_history() -> None:
    found = history(
        [
            kinds.Delivery(on=may(2), item="impeller kit", count=3, cost=10500),
            kinds.Count(on=may(3), item="impeller kit", count=2),
        ],
        FAR,
    )
    assert found.engines == {} and found.swaps == [] and found.moves == {}


def test_a_boat_retires_apart_from_its_engines() -> None:
    found = history([kinds.Retire(on=may(4), boat="Otter")], FAR)
    assert found.boats_retired == {"Otter": number(may(4))}
    assert found.engines == {}


@pytest.mark.parametrize(
    ("fuel", "burn", "hours"),
    [
        (3000, Fraction("2.5"), Fraction(1200)),  # 30 l at 2.5 l/h are 12 h, by hand
        (100, Fraction("0.93"), Fraction(10000, 93)),  # never rounded
        (0, Fraction(1), Fraction(0)),
    ],
)
def test_fuel_tells_hours_exactly(fuel: int, burn: Fraction, hours: Fraction) -> None:
    assert hours_from_fuel(fuel, burn) == hours
