"""Ondrel Boat Hire, invented: 24 hire boats, two spares, two seasons up to 18 July 2026."""

from __future__ import annotations

from datetime import date, timedelta

from tests.trials.example_tables import Dice, Row, Tables, days, figure, row, settings_rows
from tests.trials.example_yard import FIRST_RHYTHM, LAY_UP, RHYTHM, SALT_RHYTHM, Motor, Yard, told

TODAY = date(2026, 7, 18)
SINCE = date(2025, 4, 1)
# First day, high season from and to, last day that the book knows.
_SEASONS = (
    (date(2025, 4, 4), date(2025, 6, 27), date(2025, 8, 31), date(2025, 10, 11)),
    (date(2026, 4, 4), date(2026, 6, 27), TODAY - timedelta(1), TODAY - timedelta(1)),
)
_LAID_UP_FROM = date(2025, 10, 12)
_LAUNCHED_FROM = date(2026, 4, 2)
_SPARE_B_CAME = date(2026, 3, 20)
_TO_BRACKISH = date(2026, 6, 1)
_BOATS = 24

_NICKNAMES = (
    "Ladle", "Whisk", "Skillet", "Colander", "Thimble", "Kettle", "Saucer", "Trivet", "Spatula",
    "Tureen", "Sieve", "Corkscrew", "Grater", "Pestle", "Funnel", "Tongs", "Platter", "Beaker",
    "Teaspoon", "Rolling Pin", "Teapot", "Biscuit Tin", "Breadboard", "Nutmeg",
)  # fmt: skip
_SMALL_LACK = ("relief valve", "inner anodes", "battery")  # 4 and 6 hp: pull start, no such parts
_TWINS_LACK = ("battery",)
_FORGOTTEN = ("OB-09", "OB-22")  # left in the shed when the others were made ready in April
_LAST_KNOWN = (
    "impeller", "thermostat", "relief valve", "passages", "inner anodes", "gearcase pressure",
    "fuel filter", "fuel tank", "engine oil", "plugs", "bolts", "fuel line", "old fuel", "gear oil",
    "propeller", "anodes", "tell-tale hose", "intakes look", "proof run", "kill cord",
)  # fmt: skip
_GREASES = ("swivel grease", "swing test", "tilt grease", "linkage grease")
_EVERYTHING = tuple(RHYTHM)
# Jobs that nobody does on these engines, from a day on: what makes the stories.
_LEFT_UNDONE: dict[str, tuple[tuple[date, tuple[str, ...]], ...]] = {
    "OB-03": ((date(2026, 7, 11), _EVERYTHING),),
    "OB-05": ((date(2026, 1, 1), ("impeller", "pump look")),),
    "OB-07": ((date(2026, 4, 1), ("gear oil",)),),
    "OB-12": ((_TO_BRACKISH, ("tank flush",)),),
    "OB-14": (
        (SINCE, ("impeller", "pump look", "pump housing", "water tube", "splines")),
        (date(2026, 7, 5), _EVERYTHING),
    ),
    "OB-15": ((date(2026, 6, 1), ("gear oil", "gear oil peek")),),
    "OB-17": ((date(2026, 5, 10), ("gear oil", "gear oil peek", "gearcase pressure")),),
    "OB-19": (
        (date(2026, 7, 8), ("gear oil", "gear oil peek", "impeller", "propeller", "anodes")),
    ),
    "OB-21": (
        (date(2025, 4, 3), ("swivel grease",)),
        (date(2026, 5, 1), ("swing test",)),
    ),
}
# Out of service: first and last day.
_ASHORE = {
    "OB-14": (date(2026, 7, 6), TODAY),
    "OB-17": (date(2026, 5, 16), date(2026, 5, 22)),
    "OB-19": (date(2026, 7, 7), date(2026, 7, 8)),
}
# What came for the shelf, with its cost, and what was counted there.
_SHELF = (
    ("2026-03-16", "delivery", "impeller kit", "24", "840.00"),
    ("2026-03-16", "delivery", "gear oil", "48", "576.00"),
    ("2026-03-16", "delivery", "anode", "30", "540.00"),
    ("2026-03-16", "delivery", "spark plug", "60", "360.00"),
    ("2026-03-16", "delivery", "marine grease", "90", ""),
    ("2026-07-13", "count", "impeller kit", "3", ""),
    ("2026-07-13", "count", "gear oil", "9", ""),
    ("2026-07-13", "count", "anode", "2", ""),
    ("2026-07-13", "count", "spark plug", "14", ""),
)


def ondrel(seed: int = 24) -> Tables:
    """The four tables of Ondrel Boat Hire; same seed, same tables."""
    yard = _HireYard(Dice(seed))
    engines = [yard.engine_row(motor) for motor in yard.motors.values()]
    yard.work()
    return {
        "settings": settings_rows(
            rules="hire",
            hemisphere="northern",
            season="04-04/10-11",
            calendar_name="Ondrel Boat Hire",
        ),
        "boats": [
            row("boats", boat=f"Boat {number}", use="hire", water="fresh", since=SINCE.isoformat(),
                place="Ondrel Water")
            for number in range(1, _BOATS + 1)
        ],
        "engines": engines,
        "log": yard.book.rows(),
    }  # fmt: skip


def _outings(dice: Dice) -> dict[tuple[int, date], int]:
    """Tenths of an hour that each boat is out on each day of the two seasons."""
    out = {}
    for first, high, high_ends, last in _SEASONS:
        for day in days(first, last):
            share = 0.85 if day.weekday() >= 5 else 0.50
            if not high <= day <= high_ends:
                share *= 0.55
            for number in range(1, _BOATS + 1):
                if dice.chance(share):
                    out[number, day] = dice.outing(10, 60)
    return out


class _HireYard(Yard):
    """The jetty and the workshop, day by day."""

    def __init__(self, dice: Dice) -> None:
        super().__init__(dice)
        self.outings = _outings(dice)
        for number in range(1, _BOATS + 1):
            motor = self._hire_motor(number)
            self.motors[motor.name] = motor
        for spare in (
            Motor("Spare A", "", "4", 3100, SINCE, _SMALL_LACK),
            Motor("Spare B", "", "9.9", 2187, _SPARE_B_CAME, _TWINS_LACK),
        ):
            self.motors[spare.name] = spare

    def _hire_motor(self, number: int) -> Motor:
        hp = "4" if number <= 10 else "6" if number <= 18 else "9.9"
        start: int | None = self.dice.between(1500, 6200)
        if number <= 6:
            start = None
        if number == 8:  # so that its meter stood at 387.2 when it was replaced
            before = date(2026, 5, 30)
            start = 3872 - sum(
                tenths for (boat, day), tenths in self.outings.items() if boat == 8 and day < before
            )
        if number == 24:  # came new
            start = 0
        lacks = _TWINS_LACK if hp == "9.9" else _SMALL_LACK
        return Motor(f"OB-{number:02}", f"Boat {number}", hp, start, SINCE, lacks)

    def engine_row(self, motor: Motor) -> Row:
        """The engine's row, with what was known of its past when the book began."""
        number = int(motor.name[3:]) if motor.name.startswith("OB-") else 0
        known = row(
            "engines",
            engine=motor.name,
            boat=motor.boat,
            family={"4": "single 4", "6": "single 6"}.get(motor.hp, "twin 10"),
            hp=motor.hp,
            stroke="4",
            year=str(self.dice.between(2017, 2023)) if motor.name != "Spare B" else "",
            meter="no" if motor.start is None else "yes",
            digits="" if motor.start is None else "5",
            steering="tiller",
            rules="hire",
            without=";".join(motor.lacks),
            since=motor.since.isoformat(),
            reading=motor.meter,
            new="no",
            also=_NICKNAMES[number - 1] if number else "",
        )
        if number == 24:
            known.update(new="yes", year="2025")
        serviced = SINCE - timedelta(self.dice.between(5, 40))
        for task in _LAST_KNOWN:
            known[f"last:{task}"] = self._last_known(motor, task, serviced)
        return known

    def _last_known(self, motor: Motor, task: str, on: date) -> str:
        """When a job was last done before the book began, as a cell; remembered as well."""
        if motor.name in ("Spare B", "OB-24") or task in motor.lacks:
            return ""
        if motor.name == "OB-14" and task == "impeller":
            return "2023-04-05"
        self.remember(motor, task, on)
        return on.isoformat() + (f"@{motor.meter}" if motor.meter else "")

    def rhythm(self, motor: Motor, task: str, day: date) -> tuple[int, int]:
        """Hire in fresh water; more where it is brackish, and for an engine that is new."""
        if motor.name == "OB-24" and task in FIRST_RHYTHM and task not in motor.done:
            return FIRST_RHYTHM[task]
        # A spare that never hung on a boat counts as one in salt: nothing else is known of it.
        salt = motor.name == "Spare A" or (motor.name == "OB-11" and day >= _TO_BRACKISH)
        return SALT_RHYTHM.get(task, RHYTHM[task]) if salt else RHYTHM[task]

    def left_undone(self, motor: Motor, task: str, day: date) -> bool:
        """Whether the story of this engine is that nobody does this job."""
        cases = _LEFT_UNDONE.get(motor.name, ())
        return any(day >= first and task in tasks for first, tasks in cases)

    def work(self) -> None:
        """Write the whole log."""
        for on, event, item, count, cost in _SHELF:
            self.book.write(date.fromisoformat(on), event, item=item, count=count, cost=cost,
                            by="office")  # fmt: skip
        for day in days(SINCE, TODAY):
            self._stories(day)
            self._winter(day)
            if day.weekday() in (1, 3):
                self._workshop_day(day)
            for number in range(1, _BOATS + 1):
                if (number, day) in self.outings:
                    self._outing(number, day, self.outings[number, day])
            if day.weekday() == 6 and day.year == 2025:  # last year the round was on Sundays
                for motor in self.motors.values():
                    if motor.since <= day and not self.dice.chance(0.06):
                        self.read(motor, day, "jetty")

    def _workshop_day(self, day: date) -> None:
        if any(first <= day <= last for first, *_, last in _SEASONS):
            for motor in self.motors.values():
                if self._in_use(motor, day):
                    self.visit(motor, day, slips=0.15)

    def _in_use(self, motor: Motor, day: date) -> bool:
        if not motor.boat or (motor.name in _FORGOTTEN and day > _LAID_UP_FROM):
            return False
        first, last = _ASHORE.get(motor.name, (TODAY, SINCE))
        return not first <= day <= last

    def _outing(self, number: int, day: date, tenths: int) -> None:
        """A boat goes out on hire; in the evening it is written down, or not."""
        motor = next(one for one in self.motors.values() if one.boat == f"Boat {number}")
        if not self._in_use(motor, day):
            return
        motor.ran += tenths
        noted = not self.dice.chance(0.06)
        if motor.start is None and noted:
            self.book.write(day, "run", engine=motor.name, hours=figure(tenths), by="jetty",
                            condition="hire time")  # fmt: skip
        elif day.year == 2026 and noted:
            self.read(motor, day, "jetty")
        flushed_until = {11: TODAY, 12: date(2026, 7, 4)}.get(number, SINCE)
        if _TO_BRACKISH <= day <= flushed_until and self.dice.chance(0.9):
            self.job(motor, "flush", day)

    def _winter(self, day: date) -> None:
        """Spring greasing, laying up in October, making ready in April."""
        for place, motor in enumerate(self.motors.values()):
            if motor.name == "Spare B":
                self._spare_b(motor, day)
                continue
            if day == date(2025, 4, 2) + timedelta((place + 1) % 3) and motor.name != "OB-24":
                self.jobs(motor, _GREASES, day)
            if day == _LAID_UP_FROM + timedelta(place // 5):
                self.book.write(day, "lay-up", engine=motor.name, by="workshop")
                self.jobs(motor, LAY_UP, day)
            if day == _LAUNCHED_FROM + timedelta(place // 9) and motor.name not in _FORGOTTEN:
                self.book.write(day, "launch", engine=motor.name, by="workshop")
                self.make_ready(motor, day)

    def _spare_b(self, motor: Motor, day: date) -> None:
        if day == _SPARE_B_CAME:
            self.book.write(day, "lay-up", engine=motor.name, by="office",
                            note="bought second-hand, nothing known of it")  # fmt: skip
        if day == _LAUNCHED_FROM + timedelta(2):
            self.book.write(day, "launch", engine=motor.name, by="workshop")

    def _stories(self, day: date) -> None:
        """What happened on this day and no other."""
        motors, on = self.motors, day.isoformat()
        if on in _TOLD:
            for event, cells in _TOLD[on]:
                self.book.write(day, event, **cells)
        if on == "2026-04-14":
            self.job(motors["OB-07"], "gear oil", day)
        elif on == "2026-05-16":
            self.job(motors["OB-17"], "gear oil", day, condition="milky",
                     note="settled for two hours")  # fmt: skip
        elif on == "2026-05-30":
            self.new_meter(motors["OB-08"], day, 0, "workshop", "display dead, new meter")
        elif on == "2026-06-14":
            self.job(motors["OB-05"], "impeller", day, by="jetty")
            self.job(motors["OB-05"], "impeller", day, by="workshop")
        elif on == "2026-07-11":
            motors["Spare A"].boat, motors["OB-03"].boat = motors["OB-03"].boat, ""
            self.make_ready(motors["Spare A"], day)
        elif on == "2026-07-15":
            self.job(motors["OB-15"], "gear oil", day)


# Entries that stand as they are, whatever the dice say.
_TOLD = {
    "2026-06-01": (
        told("move", "office", boat="Boat 11", water="brackish", note="to Vossel Reach"),
        told("move", "office", boat="Boat 12", water="brackish", note="to Vossel Reach"),
    ),
    "2026-06-20": (
        told("finding", "jetty", engine="OB-21", part="swivel", condition="stiff",
             note="two hands to turn it"),
    ),
    "2026-06-28": (
        told("finding", "jetty", engine="OB-14", part="tell-tale", condition="weak",
             note="said by a customer"),
    ),
    "2026-07-05": (
        told("incident", "jetty", engine="OB-14", condition="overheated",
             note="alarm on hire, stopped and towed in"),
    ),
    "2026-07-06": (
        told("finding", "workshop", engine="OB-14", part="impeller vanes", condition="missing",
             count="2"),
    ),
    "2026-07-08": (
        told("swap", "workshop", engine="OB-19", other="Spare B", component="gearcase",
             note="its own one knocks in reverse"),
    ),
    "2026-07-11": (
        told("store", "jetty", engine="OB-03", note="to the workshop"),
        told("mount", "jetty", engine="Spare A", boat="Boat 3"),
    ),
    "2026-07-12": (
        told("put-off", "office", engine="OB-07", task="gear oil", until="2026-07-27",
             note="boat booked every day until then"),
    ),
}  # fmt: skip
