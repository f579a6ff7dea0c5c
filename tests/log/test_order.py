"""One order of a day's entries, whatever the order in which they were written down or read."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from typing import get_args

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.history import History, history
from fleetcare.log.order import EVENTS, event_of, in_order

steady = settings(deadline=None, derandomize=True, database=None)

DAY = date(2031, 5, 1)

# One of each kind, in the order in which a day is told (our design: the meter's figures first
# settle, then boats and engines are where they are, then they run, then they are looked at).
ONE_OF_EACH: list[Entry] = [
    kinds.MeterChange(on=DAY, engine="Plover", old=1000, new=0),
    kinds.Move(on=DAY, boat="Otter", water=Water.SALT),
    kinds.Store(on=DAY, engine="Plover"),
    kinds.Mount(on=DAY, engine="Plover", boat="Dipper"),
    kinds.Swap(on=DAY, engine="Plover", other="Teal", component="gearcase"),
    kinds.LayUp(on=DAY, engine="Plover"),
    kinds.Launch(on=DAY, engine="Plover"),
    kinds.Run(on=DAY, engine="Plover", hours=150),
    kinds.Reading(on=DAY, engine="Plover", reading=1000),
    kinds.Finding(on=DAY, engine="Plover", part="swivel", condition="stiff"),
    kinds.Incident(on=DAY, engine="Plover", kind="overheated"),
    kinds.Job(on=DAY, engine="Plover", task="impeller"),
    kinds.PutOff(on=DAY, engine="Plover", task="plugs", until=DAY + timedelta(days=9)),
    kinds.Delivery(on=DAY, item="impeller kit", count=2),
    kinds.Count(on=DAY, item="impeller kit", count=1),
    kinds.Retire(on=DAY, engine="Plover"),
]


def numbered(entries: list[Entry]) -> list[Entry]:
    return [replace(entry, number=at) for at, entry in enumerate(entries, start=1)]


def test_every_kind_of_entry_has_its_event_word_and_its_place_in_the_day() -> None:
    assert {type(entry) for entry in ONE_OF_EACH} == set(get_args(Entry)) == set(EVENTS)
    assert [event_of(entry) for entry in ONE_OF_EACH] == [
        "meter", "move", "store", "mount", "swap", "lay-up", "launch", "run", "reading",
        "finding", "incident", "job", "put-off", "delivery", "count", "retire",
    ]  # fmt: skip


@steady
@given(st.permutations(ONE_OF_EACH))
def test_a_day_is_told_in_one_order_however_it_was_written(written: list[Entry]) -> None:
    assert in_order(written) == ONE_OF_EACH
    assert [event_of(entry) for entry in in_order(numbered(written))] == [
        event_of(entry) for entry in ONE_OF_EACH
    ]


def test_days_come_before_kinds_and_kinds_before_numbers() -> None:
    late_meter = kinds.MeterChange(on=DAY + timedelta(days=1), engine="Plover", new=0, number=1)
    job = kinds.Job(on=DAY, engine="Plover", task="plugs", number=2)
    run = kinds.Run(on=DAY, engine="Plover", hours=100, number=4)
    earlier_run = kinds.Run(on=DAY, engine="Plover", hours=200, number=3)
    assert in_order([late_meter, job, run, earlier_run]) == [earlier_run, run, job, late_meter]


# --- shuffled days ----------------------------------------------------------------------------

engines = st.sampled_from(["Plover", "Teal"])
figures = st.integers(0, 5000)
maybe = st.one_of(st.none(), figures)
waters = st.one_of(st.none(), st.sampled_from(Water))
lines = st.one_of(
    st.builds(kinds.Reading, on=st.just(DAY), engine=engines, reading=figures),
    st.builds(
        kinds.Run, on=st.just(DAY), engine=engines, hours=figures, water=waters, reading=maybe
    ),
    st.builds(kinds.Run, on=st.just(DAY), engine=engines, fuel=figures, water=waters),
    st.builds(
        kinds.Job,
        on=st.just(DAY),
        engine=engines,
        task=st.sampled_from(["impeller", "plugs"]),
        reading=maybe,
        condition=st.sampled_from(["", "set"]),
    ),
    st.builds(
        kinds.Finding,
        on=st.just(DAY),
        engine=engines,
        part=st.just("swivel"),
        condition=st.sampled_from(["stiff", "seized"]),
        reading=maybe,
    ),
    st.builds(
        kinds.Incident, on=st.just(DAY), engine=engines, kind=st.sampled_from(["a", "b"]),
        reading=maybe,
    ),
    st.sampled_from(ONE_OF_EACH),
)  # fmt: skip
days = st.lists(
    st.tuples(lines, st.integers(0, 2)).map(
        lambda pair: replace(pair[0], on=DAY + timedelta(days=pair[1]))
    ),
    max_size=12,
).map(numbered)


def told(entries: list[Entry], as_of: date = DAY + timedelta(days=2)) -> History:
    return history(entries, as_of)


@steady
@given(days, st.randoms(use_true_random=False))
def test_any_order_of_reading_the_log_gives_the_same_history(
    written: list[Entry], shuffle: random.Random
) -> None:
    mixed = list(written)
    shuffle.shuffle(mixed)
    assert told(mixed) == told(written)


@steady
@given(days, st.randoms(use_true_random=False))
def test_writing_different_kinds_of_a_day_in_another_order_gives_the_same_history(
    written: list[Entry], shuffle: random.Random
) -> None:
    # Entries of one kind stand as they were written; those of different kinds may change places.
    kinds_of = [event_of(entry) for entry in written]
    order = sorted(set(kinds_of))
    shuffle.shuffle(order)
    mixed = sorted(written, key=lambda entry: order.index(event_of(entry)))
    assert plain(told(numbered(mixed))) == plain(told(written))


def plain(found: History) -> object:
    """A history without the numbers of its entries, which say only when they were written."""
    return [
        (
            name,
            list(zip(log.figure_days, log.figures, strict=True)),
            list(zip(log.run_days, log.run_hours, log.run_waters, strict=True)),
            (log.fuel_runs, log.meters, log.incidents, log.places, log.seasons, log.retired),
            {task: [(m.day, m.reading) for m in marks] for task, marks in log.jobs.items()},
            sorted((seen.day, seen.part, seen.condition, seen.task) for seen in log.seen),
            [(item.day, item.task, item.until) for item in log.put_offs],
        )
        for name, log in sorted(found.engines.items())
    ] + [found.moves, [swap[:4] for swap in found.swaps], found.boats_retired]
