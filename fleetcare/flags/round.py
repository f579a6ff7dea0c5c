"""The evening round: whose figure is wanted, the last one, and what to expect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.fleet.days import spoken
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.places import is_laid_up

MOST_A_DAY = 1200  # beyond twelve hours a figure is asked about: our design choice


@dataclass(frozen=True, slots=True)
class Turn:
    """One engine's turn: its last figure and day, what a figure today may be at most."""

    engine: str
    boat: str
    metered: bool
    hire: bool
    last: int | None
    last_day: date | None
    most: int
    done: bool
    on: date

    def question(self) -> str:
        """The line the round shows, short enough for a phone-wide terminal."""
        what = "" if self.metered else "hours run, "
        when = f" on {spoken(self.last_day, self.on)}" if self.last_day else ""
        last = f"was {shown(self.last)}{when}, " if self.last is not None else ""
        return f"{self.engine} ({self.boat}): {what}{last}up to {shown(self.most)}"

    def expects(self, figure: int) -> bool:
        """Whether a figure is within what was to be expected."""
        return figure <= self.most

    def doubt(self, figure: int) -> str:
        """What to ask about a figure outside it."""
        return f"{shown(figure)} is more than expected, {shown(self.most)} at most. Keep it?"


def turns(fleet: Fleet, history: History, book: RuleBook, on: date) -> list[Turn]:
    """The turn of every engine mounted, not laid up and not retired, in order of names.

    A figure is expected within three times the pace of the boat's use, and at least 12 hours,
    above the last: our design choice until there is a forecast.
    """
    carriage = Carriage(fleet, history, on.toordinal())
    found = []
    for name in sorted(carriage.known, key=natural):
        log, boat = history.of(name), carriage.boat_of(name)
        if boat is None or log.retired is not None or is_laid_up(history, name):
            continue
        closes = carriage.uses[name].closes
        pace = book.uses[fleet.boats[boat].use].hours_a_year * 300 / 365
        if not closes.unmetered or closes.unmetered[-1][1] < on.toordinal():
            turn = _by_meter(carriage.known[name], log, boat, pace, on)
        else:
            turn = _by_runs(log, boat, name, on, fleet.boats[boat].use == "hire")
        found.append(turn)
    return found


def _by_meter(engine: Engine, log: EngineLog, boat: str, pace: Fraction, on: date) -> Turn:
    """The turn of an engine with a meter."""
    last_day, last = engine.since.toordinal(), engine.reading or 0
    figures = list(zip(log.figure_days, log.figures, strict=True))
    if figures and figures[-1][0] >= last_day:
        last_day = figures[-1][0]
        last = max(figure for day, figure in figures if day == last_day)
    meter = log.meters[-1] if log.meters else None
    if meter is not None and meter.new is not None and meter.day >= last_day:
        last_day, last = meter.day, meter.new
    days = max(1, on.toordinal() - last_day)
    most = last + max(MOST_A_DAY, int(pace * days))
    done = last_day == on.toordinal()
    return Turn(engine.name, boat, True, False, last, date.fromordinal(last_day), most, done, on)


def _by_runs(log: EngineLog, boat: str, name: str, on: date, hire: bool) -> Turn:
    """The turn of an engine without a meter: the hours of its last run stand for the figure."""
    last = log.run_hours[-1] if log.run_days else None
    last_day = date.fromordinal(log.run_days[-1]) if log.run_days else None
    done = last_day == on or any(day == on.toordinal() for day, _, _ in log.fuel_runs)
    return Turn(name, boat, False, hire, last, last_day, MOST_A_DAY, done, on)
