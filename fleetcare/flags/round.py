"""The evening round: whose figure is wanted, the last one, and what to expect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.days import spoken
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage

MOST_A_DAY = 2400


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
        if not self.metered:
            return f"{self.engine} ({self.boat}): hours run"
        when = f", {spoken(self.last_day, self.on)}" if self.last_day else ""
        last = "nothing" if self.last is None else shown(self.last)
        return f"{self.engine} ({self.boat}): was {last}{when}; up to {shown(self.most)}"

    def expects(self, figure: int) -> bool:
        """Whether a figure is within what was to be expected."""
        return figure <= self.most if self.metered else figure <= MOST_A_DAY

    def doubt(self, figure: int) -> str:
        """What to ask about a figure outside it."""
        return f"{shown(figure)} is more than expected ({shown(self.most)} at most). Keep it?"


def turns(fleet: Fleet, history: History, book: RuleBook, on: date) -> list[Turn]:
    """The turn of every engine mounted and not retired on a day, in order of names.

    A figure is expected within three times the pace of the boat's use, and at least 12 hours,
    above the last: our design choice until there is a forecast.
    """
    carriage = Carriage(fleet, history, on.toordinal())
    found = []
    for name in sorted(carriage.known, key=natural):
        log, boat = history.of(name), carriage.boat_of(name)
        if boat is None or log.retired is not None:
            continue
        engine, use = carriage.known[name], carriage.uses[name]
        metered = not use.closes.unmetered or use.closes.unmetered[-1][1] < on.toordinal()
        last_day = log.figure_days[-1] if log.figure_days else engine.since.toordinal()
        last = max(
            (figure for day, figure in zip(log.figure_days, log.figures, strict=True)
             if day == last_day),
            default=engine.reading,
        )  # fmt: skip
        pace = book.uses[fleet.boats[boat].use].hours_a_year * 300 / 365
        days = max(1, on.toordinal() - last_day)
        answered = last_day == on.toordinal() if metered else on.toordinal() in log.run_days[-5:]
        found.append(
            Turn(
                name, boat, metered, fleet.boats[boat].use == "hire", last,
                date.fromordinal(last_day), (last or 0) + max(1200, int(pace * days)),
                answered and bool(log.figures or log.run_days), on,
            )
        )  # fmt: skip
    return found
