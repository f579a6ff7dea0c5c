"""Tavvik Bay Sailing Club, invented: eight tenders in salt and a junior dinghy, spring 2026."""

from __future__ import annotations

from datetime import date, timedelta

from tests.trials.example_tables import Dice, Row, Tables, days, figure, row, settings_rows
from tests.trials.example_yard import LAY_UP, RHYTHM, SALT_RHYTHM, Motor, Yard, told

TODAY = date(2026, 7, 18)
SINCE = date(2025, 10, 4)
_SEASON_FROM = date(2026, 3, 14)
_LAST_OUTING = TODAY - timedelta(1)
_SERVICE_DAY = date(2026, 3, 7)
_REGATTA = (date(2026, 6, 8), date(2026, 6, 13))
# Engine, boat, hp, steering, year, the meter on the first day in tenths of an hour.
_FLEET: tuple[tuple[str, str, str, str, str, int | None], ...] = (
    ("TB-1", "Launch", "40", "remote", "2016", 6120),
    ("TB-2", "Safety 1", "25", "remote", "2019", 3344),
    ("TB-3", "Safety 2", "20", "tiller", "2018", 4471),
    ("TB-4", "Safety 3", "20", "tiller", "2018", 4096),
    ("TB-5", "Coach A", "30", "remote", "2020", 4023),
    ("TB-6", "Coach B", "30", "remote", "2021", 2884),
    ("TB-7", "Mark boat", "15", "tiller", "2014", 0),  # set so that it reads 1023.6 on 1 July
    ("TB-8", "Gig", "9.9", "tiller", "2022", 1208),
    ("JD-1", "Junior dinghy", "5", "tiller", "2021", None),
)
_REMOTE = frozenset(name for name, _, _, steering, *_ in _FLEET if steering == "remote")
_FAMILIES = {"40": "four 40", "30": "three 30", "25": "three 25", "20": "twin 20", "15": "twin 15"}
# Worked hardest: their 100 hours since October end on the fourth day of the regatta.
_BUSY = ("TB-2", "TB-4", "TB-7")
_BUSY_BEFORE = 730
_BUSY_REGATTA = (78, 82, 80, 75, 66, 90)
# The coaches read the meter in the first week of a month and at no other time.
_COACHED = {
    "TB-5": (4151, 4176, 4346, 4372, 4629, 4660, 5150, 5194),
    "TB-6": (2972, 2990, 3100, 3123, 3381, 3415, 4025, 4059),
}
_COACHES_READ = tuple(
    date(2026, month, day)
    for month, day in ((4, 1), (4, 4), (5, 2), (5, 6), (6, 3), (6, 6), (7, 1), (7, 4))
)
_LENT = (date(2026, 5, 2), date(2026, 5, 24))  # read when it went and when it came back
# Away or ashore: first and last day.
_AWAY = {
    "TB-1": (date(2026, 5, 3), date(2026, 5, 23)),
    "TB-3": (date(2026, 6, 28), date(2026, 7, 3)),
    "TB-4": (date(2026, 6, 28), TODAY),
    "TB-6": (date(2026, 6, 14), date(2026, 6, 24)),
}
_LAST_KNOWN = (
    "impeller", "thermostat", "relief valve", "passages", "inner anodes", "gearcase pressure",
    "fuel filter", "fuel tank", "plugs", "bolts", "fuel line", "tell-tale hose", "kill cord",
)  # fmt: skip
_WINTER_WORK = (
    "impeller", "thermostat", "passages", "inner anodes", "gearcase pressure", "fuel tank",
    "plugs", "fuel line", "bolts",
)  # fmt: skip
_DINGHY_LACKS = ("relief valve", "inner anodes", "battery")


def tavvik(seed: int = 8) -> Tables:
    """The four tables of Tavvik Bay Sailing Club; same seed, same tables."""
    club = _Club(Dice(seed))
    engines = [club.engine_row(*given) for given in _FLEET]
    club.work()
    return {
        "settings": settings_rows(
            rules="small-petrol",
            hemisphere="northern",
            season="03-14/10-31",
            calendar_name="Tavvik Bay Sailing Club",
        ),
        "boats": [
            row("boats", boat=boat, use="club", water="salt" if start is not None else "fresh",
                since=SINCE.isoformat(), place="Slip" if start is not None else "Mill pond")
            for _, boat, _, _, _, start in _FLEET
        ],
        "engines": engines,
        "log": club.book.rows(),
    }  # fmt: skip


def _outings(dice: Dice) -> dict[tuple[str, date], int]:
    """Tenths of an hour of every engine that is written down outing by outing."""
    out: dict[tuple[str, date], int] = {}
    for name, *_ in _FLEET:
        if name in _COACHED:
            continue
        away, back = _AWAY.get(name, (TODAY, SINCE))
        for day in days(_SEASON_FROM, _LAST_OUTING):
            regatta = _REGATTA[0] <= day <= _REGATTA[1] and name != "JD-1"
            if away <= day <= back:
                continue
            if regatta:
                out[name, day] = dice.between(60, 100)
            elif day.weekday() in (2, 5, 6) and dice.chance(0.9 if name in _BUSY else 0.6):
                out[name, day] = dice.outing(10, 40)
    for name in _BUSY:
        _made_busy(out, name)
    out["TB-1", _LENT[0]] = 21
    out["TB-1", _LENT[1]] = 314  # what the borrowers ran, seen when it came back
    return out


def _made_busy(out: dict[tuple[str, date], int], name: str) -> None:
    """Fit an engine's outings to the hours it shows before and in the regatta."""
    before = [day for engine, day in out if engine == name and day < _REGATTA[0]]
    ran = sum(out[name, day] for day in before)
    for day in before:
        out[name, day] = out[name, day] * _BUSY_BEFORE // ran
    for day, tenths in zip(days(*_REGATTA), _BUSY_REGATTA, strict=True):
        out[name, day] = tenths


class _Club(Yard):
    """The boatswain and six volunteers."""

    workers = ("volunteer", "boatswain")

    def __init__(self, dice: Dice) -> None:
        super().__init__(dice)
        self.outings = _outings(dice)
        july = date(2026, 7, 1)
        for name, boat, hp, _, _, start in _FLEET:
            if name == "TB-7":
                start = 10236 - sum(
                    ran for (one, day), ran in self.outings.items() if one == name and day < july
                )
            lacks = _DINGHY_LACKS if name == "JD-1" else ()
            self.motors[name] = Motor(name, boat, hp, start, SINCE, lacks)

    def engine_row(
        self, name: str, boat: str, hp: str, steering: str, year: str, start: int | None
    ) -> Row:
        """The engine's row, with what the last boatswain's book said."""
        motor = self.motors[name]
        known = row(
            "engines",
            engine=name,
            boat=boat,
            family=_FAMILIES.get(hp, f"single {hp}"),
            hp=hp,
            stroke="4",
            year=year,
            meter="no" if start is None else "yes",
            digits="" if start is None else "5",
            steering=steering,
            without=";".join(motor.lacks),
            since=SINCE.isoformat(),
            reading=motor.meter,
            new="no",
        )
        serviced = date(2025, 3, 1) + timedelta(self.dice.between(0, 20))
        for task in _LAST_KNOWN:
            known[f"last:{task}"] = "" if task in motor.lacks else serviced.isoformat()
            if task not in motor.lacks:
                self.remember(motor, task, serviced)
        return known

    def rhythm(self, motor: Motor, task: str, day: date) -> tuple[int, int]:
        """What the club keeps to: the salt figures, the dinghy's fresh ones; oil once a year."""
        if task in ("gear oil", "impeller"):
            return {"gear oil": (365, 1000), "impeller": (365, 2000)}[task]
        if task == "swivel grease" and motor.name == "JD-1":
            return 60, 0
        salt = SALT_RHYTHM if motor.name != "JD-1" else RHYTHM
        return salt.get(task, RHYTHM[task])

    def work(self) -> None:
        """Write the whole log."""
        for day in days(SINCE, TODAY):
            self._winter(day)
            self._stories(day)
            if _SEASON_FROM < day < TODAY and day.weekday() == 5:
                for motor in self.motors.values():
                    if self._in_use(motor, day):
                        self.visit(motor, day, slips=0.25)
            for motor in self.motors.values():
                self._afloat(motor, day)

    def job(self, motor: Motor, task: str, day: date, **cells: str) -> None:
        """Log a job; the coaches' meters are not read at it."""
        if motor.name in _COACHED:
            cells["reading"] = ""
        super().job(motor, task, day, **cells)

    def visit(self, motor: Motor, day: date, slips: float) -> None:
        """The steering of remote ones is greased with the swivel."""
        last = motor.done.get("swivel grease")
        super().visit(motor, day, slips)
        if motor.done.get("swivel grease") != last and motor.name in _REMOTE:
            self.job(motor, "steering grease", day)

    def _in_use(self, motor: Motor, day: date) -> bool:
        away, back = _AWAY.get(motor.name, (TODAY, SINCE))
        return bool(motor.boat) and not away <= day <= back

    def _afloat(self, motor: Motor, day: date) -> None:
        """An outing and the figure written in the evening; on Sundays the flush."""
        if motor.name in _COACHED and day in _COACHES_READ:
            shown = _COACHED[motor.name][_COACHES_READ.index(day)]
            motor.ran = shown - (motor.start or 0)
            self.read(motor, day, "coach")
        tenths = self.outings.get((motor.name, day), 0)
        motor.ran += tenths
        if motor.start is None:
            self._dinghy(motor, day, tenths)
            return
        if motor.name == "TB-1" and day in _LENT:
            note = "lent out from tomorrow" if day == _LENT[0] else "back"
            self.read(motor, day, "boatswain", note)
        elif tenths and (_REGATTA[0] <= day <= _REGATTA[1] or self.dice.chance(0.9)):
            self.read(motor, day, "volunteer")
        in_season = day > _SEASON_FROM and self._in_use(motor, day)
        if in_season and day.weekday() == 6 and self.dice.chance(0.7):
            self.job(motor, "flush", day)

    def _dinghy(self, motor: Motor, day: date, tenths: int) -> None:
        """The junior dinghy has no meter: hours at first, fuel since the juniors have a jug."""
        if not tenths:
            return
        if day < date(2026, 5, 1):
            cells = {"hours": figure(tenths)}
        else:
            cells = {"fuel": figure(max(1, tenths * 8 // 10))}
        self.book.write(day, "run", engine=motor.name, by="coach", **cells)

    def _winter(self, day: date) -> None:
        """Lay-up in October, the boatswain's winter work, the service day, the launch."""
        for place, motor in enumerate(self.motors.values()):
            if day == date(2025, 10, 5):
                self.book.write(day, "lay-up", engine=motor.name, by="boatswain")
                self.jobs(motor, LAY_UP, day)
                if "battery" not in motor.lacks:
                    self.job(motor, "battery", day)
                if motor.name in _REMOTE:
                    self.job(motor, "steering grease", day)
            if day == date(2026, 2, 14) + timedelta(7 * (place // 5)):
                self.jobs(motor, (one for one in _WINTER_WORK if one not in motor.lacks), day)
            if day == _SERVICE_DAY:  # 13 of the 17 jobs planned: four anodes were left
                self.job(motor, "swivel grease", day)
                if 1 <= place <= 4:
                    self.job(motor, "anodes", day)
            if day == _SEASON_FROM - timedelta(1):
                self.book.write(day, "launch", engine=motor.name, by="boatswain")
                self.make_ready(motor, day)
                if motor.name in _REMOTE:
                    self.job(motor, "steering grease", day)

    def left_undone(self, motor: Motor, task: str, day: date) -> bool:
        """TB-2's swivel, from its half-done greasing to the whole one."""
        half_done = date(2026, 4, 18) <= day < date(2026, 5, 9)
        return motor.name == "TB-2" and task in ("swivel grease", "swing test") and half_done

    def _stories(self, day: date) -> None:
        """What happened on this day and no other."""
        motors, on = self.motors, day.isoformat()
        for event, cells in _TOLD.get(on, ()):
            self.book.write(day, event, **cells)
        if on == "2026-05-09":
            self.jobs(motors["TB-2"], ("swivel grease", "steering grease", "swing test"), day)
        elif on == "2026-05-30":
            self.job(motors["TB-4"], "propeller", day, by="volunteer")
        elif on == "2026-06-07":  # the plan of 5 June, done before the regatta
            for name in _BUSY:
                self.jobs(motors[name], ("gear oil", "engine oil"), day)
        elif on == "2026-06-20":
            checks = ("impeller", "thermostat", "relief valve", "passages", "tell-tale hose")
            self.jobs(motors["TB-6"], checks, day)
            self.job(motors["TB-6"], "pump look", day)
        elif on == "2026-07-01":
            self.new_meter(motors["TB-7"], day, 31, "boatswain", "used meter fitted, shows 3.1")
        elif on == "2026-07-04":
            motors["TB-4"].boat = ""


# Entries that stand as they are, whatever the dice say.
_TOLD = {
    "2026-04-18": (
        told("finding", "volunteer", engine="TB-2", part="swivel", condition="stiff"),
        told("job", "volunteer", engine="TB-2", task="swivel grease", part="grease witness",
             condition="top only", note="lower nipple blocked"),
    ),
    "2026-06-13": (
        told("incident", "coach", engine="TB-6", condition="overheated",
             note="weed on the leg, alarm, stopped at once"),
        told("finding", "coach", engine="TB-6", part="intakes", condition="weed or bag"),
        told("job", "coach", engine="TB-6", task="intakes look", part="intakes",
             condition="clear", note="weed pulled off"),
    ),
    "2026-06-24": (
        told("job", "workshop", engine="TB-6", task="head gasket", part="head gasket",
             condition="dry"),
        told("job", "workshop", engine="TB-6", task="compression test", part="compression",
             condition="even"),
    ),
    "2026-06-27": (
        told("finding", "boatswain", engine="TB-4", part="compression",
             condition="two neighbours low"),
        told("finding", "boatswain", engine="TB-3", part="gear oil", condition="milky",
             note="settled overnight"),
    ),
    "2026-07-04": (
        told("store", "boatswain", engine="TB-4"),
        told("swap", "boatswain", engine="TB-3", other="TB-4", component="gearcase",
             note="one sound engine from two"),
    ),
}  # fmt: skip
