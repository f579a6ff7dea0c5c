"""Entries and flat rows tell the same; a row that tells no entry is refused by its column."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.rows import COLUMNS, MAY, NEEDS, from_row, to_row

steady = settings(deadline=None, derandomize=True, database=None)

MAY_1 = date(2031, 5, 1)
days = st.dates(date(2000, 1, 1), date(2040, 1, 1))
names = st.text("abcXYZ -é", min_size=1, max_size=8)
figures = st.integers(0, 10**8)
maybe = st.one_of(st.none(), figures)
base = {"on": days, "number": st.integers(0, 99), "by": st.text(max_size=5), "note": st.text()}
waters = st.sampled_from(Water)
entries: st.SearchStrategy[Entry] = st.one_of(
    st.builds(kinds.Reading, engine=names, reading=figures, **base),
    st.builds(
        kinds.Run, engine=names, hours=figures, water=st.one_of(st.none(), waters), reading=maybe,
        hire_time=st.booleans(), **base,
    ),
    st.builds(kinds.Run, engine=names, fuel=figures, **base),
    st.builds(
        kinds.Job, engine=names, task=names, reading=maybe, part=st.one_of(st.just(""), names),
        condition=st.one_of(st.just(""), names), count=maybe, **base,
    ),
    st.builds(
        kinds.Finding, engine=names, part=names, condition=names, count=maybe, reading=maybe,
        **base,
    ),
    st.builds(kinds.Incident, engine=names, kind=names, reading=maybe, **base),
    st.builds(kinds.Move, boat=names, water=waters, **base),
    st.builds(kinds.Mount, engine=names, boat=names, **base),
    st.builds(kinds.Store, engine=names, **base),
    st.builds(
        kinds.Swap, engine=names, other=names, component=st.sampled_from(COMPONENTS), **base
    ),
    st.builds(kinds.MeterChange, engine=names, old=figures, new=maybe, **base),
    st.builds(kinds.MeterChange, engine=names, new=figures, **base),
    st.builds(kinds.LayUp, engine=names, **base),
    st.builds(kinds.Launch, engine=names, **base),
    st.builds(
        kinds.PutOff, engine=names, task=names, until=st.dates(date(2041, 1, 1)), **base
    ),
    st.builds(kinds.Retire, engine=names, **base),
    st.builds(kinds.Retire, boat=names, **base),
    st.builds(kinds.Delivery, item=names, count=figures, cost=maybe, **base),
    st.builds(kinds.Count, item=names, count=figures, **base),
)  # fmt: skip


@steady
@given(entries)
def test_an_entry_comes_back_whole_out_of_its_row(entry: Entry) -> None:
    row = to_row(entry)
    assert set(row) <= set(COLUMNS)
    assert from_row(row, entry.number) == entry
    assert from_row({**dict.fromkeys(COLUMNS), **row}, entry.number) == entry


def row(event: str, **values: Any) -> dict[str, Any]:
    return {"on": MAY_1, "event": event, "engine": "Plover", **values}


@pytest.mark.parametrize(
    ("given_row", "column", "told"),
    [
        (row("impeler"), "event", "is no event"),
        (row("readings", reading=1), "event", 'Did you mean "reading"?'),
        (row("reading"), "reading", "is empty, and a reading needs it"),
        (row("run"), "hours", "or fuel is needed, one of them"),
        (row("run", hours=1, fuel=1), "hours", "or fuel is needed, one of them"),
        (row("run", hours=1, condition="hired"), "condition", "hire time"),
        (row("job"), "task", "is empty"),
        (row("job", task="plugs", fuel=5), "fuel", "is not part of a job"),
        (row("finding", part="swivel"), "condition", "is empty"),
        (row("mount"), "boat", "is empty"),
        (row("meter"), "reading", "or old_reading is needed"),
        (row("swap", other="Teal", component="gear case"), "component", 'mean "gearcase"?'),
        (row("put-off", task="plugs", until=MAY_1), "until", "must lie after 2031-05-01"),
        (row("retire", boat="Otter"), "engine", "or boat is needed, one of them"),
        (row("retire", engine=""), "engine", "or boat is needed, one of them"),
        (row("delivery", engine="", item="kit", count=-1), "count", "is negative"),
        (row("store", water=Water.SALT), "water", "is not part of a store"),
    ],
)
def test_a_row_that_tells_no_entry_names_the_column(
    given_row: dict[str, Any], column: str, told: str
) -> None:
    found = from_row(given_row)
    assert isinstance(found, Fault)
    assert found.where == column
    assert told in str(found)


def test_every_event_says_what_its_row_needs_and_may_hold() -> None:
    for event, columns in {**NEEDS, **MAY}.items():
        assert event in NEEDS
        assert set(columns) <= set(COLUMNS)


def test_nothing_of_zero_is_taken_for_nothing() -> None:
    reading = kinds.Reading(on=MAY_1, engine="Plover", reading=0)
    assert from_row(to_row(reading)) == reading
    fresh = kinds.Move(on=MAY_1, boat="Otter", water=Water.FRESH)
    assert from_row(to_row(fresh)) == fresh
    assert to_row(replace(reading, note="new"))["note"] == "new"
