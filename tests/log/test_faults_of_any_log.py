"""Logs that grew day by day from engines that really ran are taken; a fallen figure never is."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults
from fleetcare.log.history import history

steady = settings(deadline=None, derandomize=True, database=None)

MAY_1 = date(2031, 5, 1)
BOATS = {name: Boat(name, "hire", Water.SALT, MAY_1) for name in ("Otter", "Dipper")}


@dataclass
class Bench:
    """An engine that runs, day after day, with someone writing down some of it.

    `figure` is the meter's true figure in hundredths (None without one); `read` holds, for each
    entry with a figure on a plain day, the least figure that the days before allow.
    """

    draw: st.DrawFn
    engine: Engine
    figure: int | None
    boat: str | None
    log: list[Entry] = field(default_factory=list)
    least: dict[int, int] = field(default_factory=dict)
    written: int = 0

    def number(self, most: int) -> int:
        return self.draw(st.integers(0, most))

    def chance(self) -> bool:
        return self.draw(st.booleans())

    def add(self, entry: Entry) -> None:
        self.log.append(replace(entry, number=len(self.log) + 1))

    def day(self, on: date) -> None:
        """One day: it runs up to 24 hours, its meter with it, and some of that is written."""
        name, before, ran = self.engine.name, self.figure, self.number(2400)
        changed = False
        if self.figure is not None:
            if self.number(9) == 0:
                self.change_meter(on, ran)
                changed = True
            else:
                self.figure += ran
        elif self.number(9) == 0:
            self.figure = self.written = new = self.number(500)
            self.add(kinds.MeterChange(on=on, engine=name, new=new))
            changed = True
        if self.chance():
            part = self.number(ran)
            for hours in (part, ran - part):
                self.add(kinds.Run(on=on, engine=name, hours=hours))
        if self.figure is not None and before is not None and not changed:
            for _ in range(self.number(2)):
                self.read(on, before + self.number(self.figure - before))
                self.read(on, self.figure)  # the highest figure of a day is its close
        self.place(on)

    def read(self, on: date, figure: int) -> None:
        name = self.engine.name
        made: list[Entry] = [
            kinds.Reading(on=on, engine=name, reading=figure),
            kinds.Job(on=on, engine=name, task="plugs", reading=figure),
            kinds.Incident(on=on, engine=name, kind="swamped", reading=figure),
        ]
        self.least[len(self.log)] = self.written
        self.add(made[self.number(2)])

    def change_meter(self, on: date, ran: int) -> None:
        """Part of the day on the old meter, the rest on the new one, or on none."""
        assert self.figure is not None
        on_old = self.number(ran)
        old = self.figure + on_old
        new = None if self.number(3) == 0 else self.number(300)
        name = self.engine.name
        self.add(kinds.MeterChange(on=on, engine=name, old=old, new=new))
        self.figure = new
        if new is not None and not self.written <= new + ran - on_old <= old:
            self.figure = new + ran - on_old  # a figure that could be the old one's would be
            self.add(kinds.Reading(on=on, engine=name, reading=self.figure))
        self.written = self.figure or 0

    def close(self, on: date) -> None:
        """Raise the least figure of the days to come to the highest written until now."""
        today = [entry for entry in self.log if entry.on == on]
        if any(isinstance(entry, kinds.MeterChange) for entry in today):
            return
        figures = [getattr(entry, "reading", None) or 0 for entry in today]
        self.written = max(self.written, *figures) if figures else self.written

    def place(self, on: date) -> None:
        if self.number(9) == 0 and on > self.engine.since:
            name = self.engine.name
            if self.boat is not None:
                self.add(kinds.Store(on=on, engine=name))
                self.boat = None
            else:
                self.boat = self.draw(st.sampled_from(sorted(BOATS)))
                self.add(kinds.Mount(on=on, engine=name, boat=self.boat))


@st.composite
def benches(draw: st.DrawFn) -> Bench:
    metered = draw(st.booleans())
    reading = draw(st.integers(0, 10000)) if metered else None
    boat = draw(st.sampled_from([None, *BOATS]))
    engine = Engine("Plover", MAY_1, boat=boat, meter=metered, reading=reading)
    bench = Bench(draw, engine, reading, boat, written=reading or 0)
    for days in range(1, draw(st.integers(2, 12))):
        on = MAY_1 + timedelta(days=days)
        bench.day(on)
        bench.close(on)
    return bench


def told(bench: Bench, log: list[Entry]) -> list[str]:
    fleet = Fleet("f1", Settings(), BOATS, {"Plover": bench.engine})
    return [str(fault) for fault in faults(fleet, history(log, date(2040, 1, 1)))]


@settings(steady, max_examples=150)
@given(benches())
def test_a_log_of_an_engine_that_really_ran_is_never_refused(bench: Bench) -> None:
    assert told(bench, bench.log) == []


@settings(steady, max_examples=150)
@given(benches(), st.data())
def test_one_figure_pushed_below_an_earlier_one_is_always_refused(
    bench: Bench, data: st.DataObject
) -> None:
    after_some = {at: least for at, least in bench.least.items() if least > 0}
    if not after_some:
        return
    at = data.draw(st.sampled_from(sorted(after_some)))
    fallen = data.draw(st.integers(0, after_some[at] - 1))
    log = list(bench.log)
    log[at] = replace(log[at], reading=fallen)  # type: ignore[arg-type]
    found = told(bench, log)
    on = log[at].on.isoformat()
    assert any(f"reads {fallen // 100}." in fault and f"on {on} but read" in fault
               for fault in found), found  # fmt: skip


@settings(steady, max_examples=150)
@given(benches(), st.integers(2401, 10**6), st.data())
def test_one_figure_pushed_beyond_the_hours_of_the_days_is_always_refused(
    bench: Bench, more: int, data: st.DataObject
) -> None:
    if not bench.least:
        return
    at = data.draw(st.sampled_from(sorted(bench.least)))
    log = list(bench.log)
    days = (log[at].on - MAY_1).days
    risen = bench.least[at] + 2400 * days + more
    log[at] = replace(log[at], reading=risen)  # type: ignore[arg-type]
    assert told(bench, log) != []
