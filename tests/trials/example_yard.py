"""How a yard looks after its engines in the examples: which jobs, how often, what is found.

The rhythms are what these invented yards keep to, set near the shipped intervals so that a due
list is believable; they are not read from the rules, so that a changed interval changes the due
list and not the examples.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from tests.trials.example_tables import Book, Dice, figure

# A job's rhythm: days, and tenths of an hour; 0 is "not by that". Hire boats in fresh water.
RHYTHM: dict[str, tuple[int, int]] = {
    "impeller": (365, 2000),
    "pump look": (365, 2000),
    "gear oil": (91, 1000),
    "gear oil peek": (182, 500),
    "gearcase pressure": (1095, 3000),
    "propeller": (91, 0),
    "anodes": (91, 0),
    "thermostat": (730, 2000),
    "relief valve": (1095, 3000),
    "passages": (1095, 0),
    "inner anodes": (730, 2000),
    "tank flush": (0, 0),
    "tell-tale hose": (365, 0),
    "swivel grease": (30, 0),
    "swing test": (30, 0),
    "tilt grease": (60, 0),
    "linkage grease": (60, 0),
    "bolts": (365, 1000),
    "engine oil": (365, 1000),
    "plugs": (365, 1000),
    "fuel line": (365, 1000),
    "fuel filter": (730, 4000),
    "fuel tank": (365, 0),
    "old fuel": (182, 0),
}

# Where salt or brackish water asks for more, beside what hire asks for.
SALT_RHYTHM: dict[str, tuple[int, int]] = {
    "gear oil peek": (91, 250),
    "gearcase pressure": (365, 2000),
    "thermostat": (365, 1000),
    "relief valve": (730, 2000),
    "passages": (365, 0),
    "inner anodes": (365, 1000),
    "tank flush": (30, 0),
    "tell-tale hose": (182, 0),
    "swing test": (14, 0),
    "tilt grease": (30, 0),
    "linkage grease": (30, 0),
    "bolts": (182, 1000),
}

# The first service of an engine that came new.
FIRST_RHYTHM: dict[str, tuple[int, int]] = {
    "gear oil": (30, 200),
    "engine oil": (30, 200),
    "propeller": (0, 200),
    "anodes": (0, 200),
    "swivel grease": (30, 200),
    "bolts": (0, 200),
    "fuel line": (0, 200),
}

RESTARTS: dict[str, tuple[str, ...]] = {
    "impeller": ("pump look", "pump housing", "water tube", "splines"),
    "gear oil": ("gear oil peek",),
    "tank flush": ("flush",),
}

LAUNCH = ("intakes look", "tell-tale hose", "proof run", "gear oil peek", "swing test", "kill cord")
LAY_UP = (
    "tank flush", "gear oil", "propeller", "swivel grease", "tilt grease", "linkage grease",
    "engine oil", "old fuel", "carburettor drain", "inhibitor oil",
)  # fmt: skip

BY_ANYONE = frozenset({
    "intakes look", "tell-tale hose", "flush", "tank flush", "gear oil peek", "swivel grease",
    "swing test", "tilt grease", "steering grease", "linkage grease", "fuel line", "old fuel",
    "kill cord",
})  # fmt: skip

# What a job that finds nothing wrong writes down: the part, and the words that fit.
_NOTHING_WRONG: dict[str, tuple[str, tuple[str, ...]]] = {
    "impeller": ("impeller vanes", ("supple",)),
    "pump look": ("impeller vanes", ("supple",)),
    "gear oil": ("gear oil", ("clean", "clean", "clean", "dark")),
    "gear oil peek": ("gear oil", ("clean",)),
    "gearcase pressure": ("gearcase test", ("holds",)),
    "propeller": ("propeller shaft", ("greased",)),
    "anodes": ("anode", ("90 % left", "80 % left", "70 % left", "60 % left")),
    "thermostat": ("thermostat", ("opens in range",)),
    "relief valve": ("relief valve", ("free",)),
    "passages": ("passages", ("clear",)),
    "tell-tale hose": ("tell-tale", ("strong cool",)),
    "proof run": ("tell-tale", ("strong cool",)),
    "swivel grease": ("grease witness", ("top and bottom",)),
    "swing test": ("swivel", ("free one hand",)),
    "tilt grease": ("tilt", ("free",)),
    "steering grease": ("steering ram", ("bright", "bright", "dry")),
    "bolts": ("bolts", ("turned free", "turned free", "tight")),
    "kill cord": ("kill cord", ("works",)),
}


def seen_at(task: str, dice: Dice) -> tuple[str, str]:
    """The part and condition that a job without trouble records, or two blanks."""
    if task not in _NOTHING_WRONG:
        return "", ""
    part, words = _NOTHING_WRONG[task]
    return part, dice.of(words)


def told(event: str, by: str, **cells: str) -> tuple[str, dict[str, str]]:
    """An entry that stands as it is, whatever the dice say."""
    return event, {"by": by, **cells}


@dataclass(slots=True)
class Motor:
    """An engine as its yard knows it: tenths of an hour run, and when each job was done."""

    name: str
    boat: str
    hp: str
    start: int | None  # the meter on `since` in tenths, None without a meter
    since: date
    lacks: tuple[str, ...] = ()
    ran: int = 0
    off: int = 0  # what a new meter no longer shows
    told: int = -1  # the figure last written down
    done: dict[str, tuple[date, int]] = field(default_factory=dict)
    patience: dict[str, int] = field(default_factory=dict)  # per cent of life it is left to run

    @property
    def meter(self) -> str:
        """The figure on the meter now, blank without one."""
        return "" if self.start is None else figure(self.start + self.ran - self.off)


class Yard:
    """Those who look after the engines, and the log they write."""

    workers = ("jetty", "workshop")  # for the jobs anyone may do, and for the others

    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.book = Book()
        self.motors: dict[str, Motor] = {}

    def rhythm(self, motor: Motor, task: str, day: date) -> tuple[int, int]:
        """How often this yard does a job on this engine: days, tenths of an hour."""
        return RHYTHM[task]

    def left_undone(self, motor: Motor, task: str, day: date) -> bool:
        """Whether nobody does this job on this engine on that day."""
        return False

    def worn(self, motor: Motor, task: str, day: date) -> int:
        """Per cent of a job's rhythm used up; 0 for what is not to be done on this engine."""
        if task in motor.lacks or self.left_undone(motor, task, day):
            return 0
        most_days, most_tenths = self.rhythm(motor, task, day)
        done, ran = motor.done.get(task, (motor.since, 0))
        by_hours = 100 * (motor.ran - ran) // most_tenths if most_tenths else 0
        by_days = 100 * (day - done).days // most_days if most_days else 0
        return max(by_days, by_hours)

    def remember(self, motor: Motor, task: str, on: date) -> None:
        """Note that a job was done, with the clocks it restarts."""
        for name in (task, *RESTARTS.get(task, ())):
            motor.done[name] = (on, motor.ran)
        motor.patience[task] = self.dice.between(80, 101)

    def job(self, motor: Motor, task: str, day: date, **cells: str) -> None:
        """Log a job with the meter's figure and what was found."""
        part, condition = seen_at(task, self.dice)
        given = {
            "by": self.workers[0 if task in BY_ANYONE else 1],
            "reading": motor.meter,
            "part": part,
            "condition": condition,
            **cells,
        }
        self.book.write(day, "job", engine=motor.name, task=task, **given)
        self.remember(motor, task, day)
        if given["reading"]:
            motor.told = motor.ran - motor.off

    def jobs(self, motor: Motor, tasks: Iterable[str], day: date) -> None:
        """Do each of the jobs, save those left undone and those another of them covers."""
        chosen = tuple(tasks)
        covered = {name for task in chosen for name in RESTARTS.get(task, ())}
        for task in chosen:
            if task not in covered and not self.left_undone(motor, task, day):
                self.job(motor, task, day)

    def visit(self, motor: Motor, day: date, slips: float) -> None:
        """Do what is about to run out, and what is well done in the same visit; or let it slip."""
        worn = {task: self.worn(motor, task, day) for task in RHYTHM}
        pressing = {task for task, used in worn.items() if used >= motor.patience.get(task, 90)}
        if pressing and not self.dice.chance(slips):
            self.jobs(motor, (task for task in worn if worn[task] >= 75 or task in pressing), day)

    def make_ready(self, motor: Motor, day: date) -> None:
        """What a launch asks for, and every job that would not last the season."""
        worn = [task for task in RHYTHM if self.worn(motor, task, day) >= 60]
        self.jobs(motor, (*LAUNCH, *(task for task in worn if task not in LAUNCH)), day)

    def new_meter(self, motor: Motor, day: date, shows: int, by: str, note: str) -> None:
        """Another meter, which shows so many tenths."""
        old = motor.meter
        motor.off = (motor.start or 0) + motor.ran - shows
        self.book.write(day, "meter", engine=motor.name, old_reading=old, reading=motor.meter,
                        by=by, note=note)  # fmt: skip

    def read(self, motor: Motor, day: date, by: str, note: str = "") -> None:
        """Write down the meter's figure, unless it says nothing new."""
        now = motor.ran - motor.off
        if motor.start is not None and now != motor.told:
            motor.told = now
            self.book.write(day, "reading", engine=motor.name, reading=motor.meter, by=by,
                            note=note)  # fmt: skip
