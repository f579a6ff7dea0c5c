"""The evening round: whose figure is wanted, the last one, and what to expect."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.errors import Fault
from fleetcare.fleet.days import spoken
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.figures import hours, shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.hires import hired, is_hire
from fleetcare.fleet.names import natural
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.places import is_laid_up

MOST_A_DAY = 1200  # beyond twelve hours a figure is asked about: our design choice
TENTH = 10  # ranges are shown, and held to, in tenths of an hour
LEAST_SPAN = 400  # hundredths: a figure this much above the last is never asked about
# The least and most to expect of an engine: of its meter's figure, or of a day's hours.
Expected = Callable[[str], tuple[int, int] | None]
SAME = "="


def not_known(engine: str) -> None:
    """Nothing is known of what to expect; the use's pace stands in."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What was said at a turn: a meter's figure, or hours run, perhaps from hires."""

    value: int
    is_reading: bool
    hire_time: bool = False
    stayed: bool = False

    @property
    def words(self) -> str:
        """What is stored, as a person says it."""
        if self.stayed:
            still = f", still {shown(self.value)}" if self.is_reading else ""
            return f"did not go out{still}"
        if self.is_reading:
            return f"reads {shown(self.value)}"
        return f"{shown(self.value)} h{' of hire' if self.hire_time else ''}"


@dataclass(frozen=True, slots=True)
class Turn:
    """One engine's turn: its last figure and day, the least and most to expect today.

    `last` is of an earlier day, `now` what the day itself has already: the meter's figure, or
    the hours run; `ran` are hours of the day of an engine whose meter is still to be read.
    """

    engine: str
    boat: str
    metered: bool
    hire: bool
    last: int | None
    last_day: date | None
    least: int
    most: int
    done: bool
    on: date
    now: int | None = None
    ran: int = 0

    @property
    def age(self) -> str:
        """How old the last figure is, in words."""
        if self.last_day is None:
            return "no figure yet"
        days = (self.on - self.last_day).days
        ago = "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"
        return f"{spoken(self.last_day, self.on)}, {ago}"

    @property
    def range(self) -> str:
        """What to expect: 61-66, with a dash between."""
        return f"{shown(self.least)}–{shown(self.most)}"

    def lines(self) -> list[str]:
        """What the round shows before it asks: the name, the last figure, what to expect."""
        unit = "" if self.metered else " h"
        last = self.age if self.last is None else f"last {shown(self.last)}{unit}, {self.age}"
        lines = [f"{self.engine} ({self.boat})", last, f"expect {self.range}{unit}"]
        if self.now is not None:
            lines.append(f"today already {shown(self.now)}{unit}")
        elif self.ran:
            lines.append(f"{shown(self.ran)} h logged today, no reading")
        return lines

    @property
    def asks(self) -> str:
        """What is asked for."""
        if self.metered:
            return "meter reads"
        return "hires, or hours" if self.hire else "hours run"

    def answer(self, text: str) -> Answer | Fault:
        """What a typed answer means: a figure, hires out and in, `=` or 0 for not gone out."""
        clean = text.strip()
        if clean == SAME or clean == "0":
            if self.metered:
                return Answer(self.last or 0, is_reading=True, stayed=True)
            return Answer(0, is_reading=False, stayed=True)
        if self.metered and not is_hire(clean):
            value = hours(clean, "figure")
            return value if isinstance(value, Fault) else Answer(value, is_reading=True)
        value = hired(clean, "hours")
        if isinstance(value, Fault):
            return value
        return Answer(value, is_reading=False, hire_time=self.hire or is_hire(clean))

    def expects(self, answer: Answer) -> bool:
        """Whether an answer is within what was to be expected."""
        if answer.stayed:
            return True
        if answer.is_reading is not self.metered:  # hours at a meter's turn
            return answer.value <= MOST_A_DAY
        return self.least <= answer.value <= self.most

    def falls(self, answer: Answer) -> bool:
        """Whether a meter would have run backwards."""
        return answer.is_reading and self.last is not None and answer.value < self.last

    def doubt(self, answer: Answer) -> list[tuple[str, str]]:
        """What a figure outside the range, or below the last, may be: words, and the command."""
        name = f'"{self.engine}"' if " " in self.engine else self.engine
        given = shown(answer.value)
        slip = "a slip now: type the right figure"
        if not answer.is_reading:
            earlier = "hours of other days: give each its day"
            return [(slip, ""), (earlier, f"fleetcare run {name} HOURS --on DATE")]
        day = f" on {spoken(self.last_day, self.on)}" if self.last_day else ""
        on = f" --on {self.on}"
        old = max(self.last or 0, answer.value if self.falls(answer) else 0)
        return [
            (slip, ""),
            (
                f"a slip before: {shown(self.last or 0)}{day} was wrong, undo it",
                f"fleetcare log {name}",
            ),
            (
                f"another meter: its hours go on from {given}",
                f"fleetcare reading {name} {given}{on} --old-meter {shown(old)}",
            ),
        ]


def turns(
    fleet: Fleet, history: History, book: RuleBook, on: date, expected: Expected = not_known
) -> list[Turn]:
    """The turn of every engine mounted, not laid up and not retired, in order of names.

    `expected` gives the least and most to expect of an engine; where it knows nothing, a figure
    is expected within three times the pace of the boat's use, and at least 12 hours, above the
    last: our design choice.
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
            turn = _by_meter(carriage.known[name], log, boat, on, expected(name), pace)
        else:
            turn = _by_runs(log, boat, name, on, fleet.boats[boat].use == "hire", expected(name))
        found.append(turn)
    return found


def expected_by(forecast: Forecast, fleet: Fleet, history: History, on: date) -> Expected:
    """What a meter is expected to show: half the 10 % point to one and a half times the 90 %
    point of the use foreseen since its last figure, and never less than 4 h: our design choice.

    Wider than the forecast's own range, since one in five good figures lies outside that.
    """
    carriage = Carriage(fleet, history, on.toordinal())

    def expected(engine: str) -> tuple[int, int] | None:
        use = carriage.uses[engine]
        log, today = history.of(engine), on.toordinal()
        earlier = [
            pair for pair in zip(log.figure_days, log.figures, strict=True) if pair[0] < today
        ]
        if not earlier or log.meters or earlier[-1][0] < use.since:
            return None
        last_day = earlier[-1][0]
        last = max(figure for day, figure in earlier if day == last_day)
        outlook = forecast.of(carriage, engine)
        if outlook.start >= today:  # a figure of today is there, and would foresee itself
            return None
        logged = int(use.hours_to(today, today) - use.hours_to(last_day, today))
        low, high = (int(outlook.hours_by(today, point) * 100) for point in (0.1, 0.9))
        return last + max(logged, low // 2), last + logged + max(LEAST_SPAN, high * 3 // 2)

    return expected


def _outwards(least: int, most: int) -> tuple[int, int]:
    """A range in whole tenths that holds the one given."""
    return max(0, least) // TENTH * TENTH, -(-most // TENTH) * TENTH


def _by_meter(
    engine: Engine, log: EngineLog, boat: str, on: date, known: tuple[int, int] | None,
    pace: Fraction,
) -> Turn:  # fmt: skip
    """The turn of an engine with a meter."""
    today = on.toordinal()
    last_day, last = engine.since.toordinal(), engine.reading or 0
    figures = list(zip(log.figure_days, log.figures, strict=True))
    meter = log.meters[-1] if log.meters else None
    here = [figure for day, figure in figures if day == today]
    now = max(here) if here else None
    if meter is not None and meter.new is not None and meter.day >= last_day:
        last_day, last = meter.day, meter.new
        now = None if meter.day == today else now
    earlier = [day for day, _ in figures if last_day <= day < today]
    if earlier:
        last_day = earlier[-1]
        last = max(last, *(figure for day, figure in figures if day == last_day))
    days = max(1, today - last_day)
    least, most = known or (last, last + max(MOST_A_DAY, int(pace * days)))
    ran = sum(hours for day, hours in zip(log.run_days, log.run_hours, strict=True) if day == today)
    done = now is not None or last_day == today
    return Turn(
        engine.name, boat, True, False, last, date.fromordinal(last_day),
        *_outwards(least, most), done, on, now, ran,
    )  # fmt: skip


def _by_runs(
    log: EngineLog, boat: str, name: str, on: date, hire: bool, known: tuple[int, int] | None
) -> Turn:
    """The turn of an engine without a meter: the hours of its last run stand for the figure."""
    today = on.toordinal()
    runs = list(zip(log.run_days, log.run_hours, strict=True))
    earlier = [run for run in runs if run[0] < today]
    here = [hours for day, hours in runs if day == today]
    last_day, last = earlier[-1] if earlier else (None, None)
    done = bool(here) or any(day == today for day, _, _ in log.fuel_runs)
    least, most = known or (0, MOST_A_DAY)
    return Turn(
        name, boat, False, hire, last, date.fromordinal(last_day) if last_day else None,
        *_outwards(least, most), done, on, sum(here) if here else None,
    )  # fmt: skip
