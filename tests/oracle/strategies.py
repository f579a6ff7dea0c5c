"""Random fleets whose logs the rules of the log accept, grown forward day by day.

The yard keeps, for each engine, what a next entry must not contradict: its meter's figures, the
hours of the day, where it is. So a log is consistent because of how it was made.
"""

from __future__ import annotations

import calendar
import tomllib
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from tests.oracle.cases import row
from tests.oracle.given import COMPONENTS, WATERS, Tables, read_tasks
from tests.oracle.rule_texts import KINDS, chance, rule_books

BOATS = ("Otter", "Dipper", "Heron")
ENGINES = ("Plover", "Teal", "Snipe")
USES: dict[str, Any] = {
    "use": {
        "hire": {
            "hours_a_year": 240,
            "season": {
                "northern": {"from": "04-01", "to": "10-31"},
                "southern": {"from": "10-01", "to": "04-30"},
            },
        },
        "club": {
            "hours_a_year": 120,
            "season": {
                "northern": {"from": "03-15", "to": "11-15"},
                "southern": {"from": "09-15", "to": "05-15"},
            },
        },
        "owner": {
            "hours_a_year": 40,
            "season": {
                "northern": {"from": "05-01", "to": "09-30"},
                "southern": {"from": "11-01", "to": "03-31"},
            },
        },
    }
}
MOST_A_DAY = 24 * 100  # hundredths of an hour


def first_days() -> st.SearchStrategy[date]:
    """Any day of some years, and often the ones that months end or leap on."""
    edges = [date(2024, 1, 29), date(2024, 1, 30), date(2023, 1, 31), date(2024, 2, 29)]
    edges += [date(2023, 2, 28), date(2023, 8, 31), date(2020, 2, 29), date(2022, 10, 31)]
    return st.one_of(st.sampled_from(edges), st.dates(date(2019, 1, 1), date(2024, 9, 1)))


def cell(hundredths: int) -> str:
    return f"{hundredths // 100}.{hundredths % 100:02}".rstrip("0").rstrip(".")


@dataclass(slots=True)
class Running:
    """An engine as the log has it so far."""

    name: str
    since: date
    litres_hour: Fraction
    boat: str
    stored: bool
    metered: bool
    tasks: list[str]
    top: int  # the hundredths that the meter rolls over at
    # the meter's hundredths: at the close of the last earlier day with a figure, and now
    floor: int = 0
    figure: int = 0
    closed: date = date.min  # that earlier day
    read_on: date = date.min  # the day of the last figure
    gone_before: int = 0  # today, on a meter replaced today
    olds: tuple[date, int, int] = (date.min, 0, 0)  # the figures of a day that are an old meter's
    runs: int = 0  # hundredths run since the last figure
    overstated: bool = False  # its runs are logged well above what its meter shows
    laid_up: bool = False
    retired: bool = False
    today: date = date.min
    run_today: Fraction = Fraction(0)
    done_today: set[str] = field(default_factory=set)

    def turn_to(self, day: date) -> None:
        if self.today != day:
            self.today, self.run_today, self.done_today = day, Fraction(0), set()

    def open_day(self, day: date) -> None:
        """Before a figure: the figures of an earlier day become the floor of this one."""
        if self.read_on < day:
            self.floor, self.closed, self.gone_before = self.figure, self.read_on, 0

    def allowance(self, day: date) -> int:
        """How far the engine hours may still rise by the close of the day."""
        gone = self.gone_before + self.figure - self.floor
        return max(0, MOST_A_DAY * (day - self.closed).days - gone)

    def room(self, day: date) -> int:
        """How far the meter in place may still rise by then."""
        return max(0, min(self.allowance(day), self.top - 1 - self.figure))


class Yard:
    """Draws entries, one after another, and keeps what later ones depend on."""

    def __init__(self, draw: st.DrawFn, texts: dict[str, str], first: date) -> None:
        self.draw, self.first = draw, first
        self.sets = {name: tomllib.loads(text) for name, text in texts.items()}
        self.boats: dict[str, date] = {}
        self.engines: dict[str, Running] = {}
        self.moved: set[tuple[str, date]] = set()
        self.swapped: list[str] = []
        self.tables: Tables = {"settings": [], "boats": [], "engines": [], "log": []}

    def pick(self, *values: Any) -> Any:
        return self.draw(st.sampled_from(values))

    def log(self, day: date, event: str, **cells: str) -> None:
        self.tables["log"].append(row("log", on=day.isoformat(), event=event, **cells))

    # --- what there is ----------------------------------------------------------------------

    def furnish(self) -> None:
        for name, value in self.settings().items():
            self.tables["settings"].append(row("settings", name=name, value=value))
        for name in BOATS[: self.pick(1, 2, 2, 3)]:
            since = self.first - timedelta(days=self.draw(st.integers(0, 20)))
            self.boats[name] = since
            use, water = self.pick("hire", "club", "owner"), self.pick(*WATERS)
            self.tables["boats"].append(
                row("boats", boat=name, use=use, water=water, since=since.isoformat())
            )
        for name in ENGINES[: self.pick(1, 2, 2, 3)]:
            self.add_engine(name)

    def settings(self) -> dict[str, str]:
        found = {"hemisphere": self.pick("", "northern", "southern", "tropics")}
        if chance(self.draw, 15):
            found["season"] = self.pick("04-15/10-15", "11-01/03-31")
        if chance(self.draw, 15):
            found["rules"] = self.pick(*self.sets)
        return {name: value for name, value in found.items() if value}

    def add_engine(self, name: str) -> None:
        since = self.first + timedelta(days=self.pick(0, 0, 0, 1, 9))
        boat = "" if chance(self.draw, 20) else self.pick(*self.boats)
        metered, new = chance(self.draw, 75), chance(self.draw, 40)
        digits = self.pick(3, 4)
        reading = self.reading_on_since(new, digits) if metered else ""
        hp, litres = self.pick("", "2.5", "6", "20"), self.pick("", "", "1.5")
        rules = self.pick("", *self.sets)
        chosen = rules or self.setting("rules") or "small-petrol"
        tasks = list(read_tasks(self.sets, chosen))
        cells = {
            "hp": hp,
            "stroke": self.pick("", "2", "4"),
            "steering": self.pick("", "tiller", "remote"),
            "litres_hour": litres,
            "rules": rules,
            "without": self.pick("", "", "", tasks[0], "; ".join(tasks[:2])),
            "reading": reading,
            "digits": str(digits),
            "meter": "yes" if metered else "no",
            "new": "yes" if new else "no",
        }
        self.tables["engines"].append(
            row("engines", engine=name, boat=boat, since=since.isoformat(), **cells)
        )
        burns = Fraction(litres) if litres else Fraction("0.31") * Fraction(hp or 10) / 2
        engine = Running(name, since, burns, boat, not boat, metered, tasks, 100 * 10**digits)
        engine.figure = int(Fraction(reading or 0) * 100)
        engine.closed, engine.read_on = since - timedelta(days=1), since
        earlier = self.add_earlier_jobs(engine) if chance(self.draw, 5 if new else 45) else 0
        engine.floor = max(earlier, engine.figure - 300)
        engine.overstated = chance(self.draw, 35)
        self.engines[name] = engine

    def reading_on_since(self, new: bool, digits: int) -> str:
        near = cell(10**digits * 100 - 1500)  # soon to roll over
        return str(self.pick("", "0", "0.4") if new else self.pick("0", "210.7", near))

    def setting(self, name: str) -> str:
        return next((s["value"] for s in self.tables["settings"] if s["name"] == name), "")

    def add_earlier_jobs(self, engine: Running) -> int:
        """Jobs that are known from before the engine's first day; the highest of their figures."""
        days = self.draw(st.lists(st.integers(1, 400), min_size=1, max_size=3))
        reading = 0
        for ago in sorted(days, reverse=True):
            cells = {}
            if engine.metered and chance(self.draw, 60):
                reading = max(reading, engine.figure - ago * 10)
                cells["reading"] = cell(reading)
            task = self.pick(*engine.tasks)
            on = engine.since - timedelta(days=ago)
            self.log(on, "job", engine=engine.name, task=task, **cells)
        return reading

    # --- what happened ----------------------------------------------------------------------

    def happen(self, day: date) -> None:
        """One more entry on a day, if there is an engine for it."""
        ready = [e for e in self.engines.values() if e.since <= day and not e.retired]
        if not ready:
            return
        engine = self.pick(*ready)
        engine.turn_to(day)
        kinds = ["reading"] * 4 + ["run"] * 7 + ["job"] * 5 + ["meter"] * 3 + ["swap"] * 3
        kinds += ["place"] * 2 + ["move"] * 2 + ["season", "finding"] + ["incident", "put_off"] * 2
        getattr(self, self.pick(*kinds, *(["retire"] if day > engine.since else [])))(engine, day)

    def read(self, engine: Running, day: date) -> str:
        """A figure of the meter that fits: mostly what was run, sometimes more or less."""
        engine.open_day(day)
        if engine.figure > engine.floor and engine.read_on == day and chance(self.draw, 25):
            return cell(self.draw(st.integers(engine.floor, engine.figure)))
        ran = engine.runs if engine.read_on < day else 0
        extra = self.draw(st.integers(0, 400 * max(1, (day - engine.closed).days) // 3))
        rise = self.pick(0, 0, ran, ran + extra, ran // 2, ran + 250)
        if engine.overstated:
            rise = self.pick(0, ran // 8, ran // 4)
        figure = engine.figure + min(rise, engine.room(day))
        replaced, low, high = engine.olds
        if day != replaced or not low <= figure <= high:
            engine.figure, engine.read_on, engine.runs = figure, day, 0
        return cell(figure)

    def maybe_read(self, engine: Running, day: date, percent: int) -> dict[str, str]:
        if engine.metered and chance(self.draw, percent):
            return {"reading": self.read(engine, day)}
        return {}

    def reading(self, engine: Running, day: date) -> None:
        if engine.metered:
            self.log(day, "reading", engine=engine.name, reading=self.read(engine, day))

    def run(self, engine: Running, day: date) -> None:
        water = self.pick("", "", *WATERS)
        if chance(self.draw, 30):
            litres = self.draw(st.integers(1, 20))
            cells, hours = {"fuel": cell(litres * 25)}, Fraction(litres, 4) / engine.litres_hour
        else:
            run = self.draw(st.integers(1, 160)) * 5
            cells, hours = {"hours": cell(run)}, Fraction(run, 100)
            if chance(self.draw, 25):
                cells["condition"] = "hire time"
        if engine.run_today + hours <= 24:
            engine.run_today += hours
            engine.runs += int(hours * 100)
            cells |= self.maybe_read(engine, day, 70 if engine.overstated else 15)
            self.log(day, "run", engine=engine.name, water=water, **cells)

    def job(self, engine: Running, day: date) -> None:
        task, times = self.pick(*engine.tasks), self.pick(1, 1, 1, 2)
        for _ in range(times):
            cells = self.maybe_read(engine, day, 50)
            self.log(day, "job", engine=engine.name, task=task, **cells)

    def finding(self, engine: Running, day: date) -> None:
        cells = self.maybe_read(engine, day, 60)
        words = {"part": "impeller vanes", "condition": "not looked at"}
        self.log(day, "finding", engine=engine.name, **words, **cells)

    def incident(self, engine: Running, day: date) -> None:
        cells = self.maybe_read(engine, day, 60)
        self.log(day, "incident", engine=engine.name, condition=self.pick(*KINDS), **cells)

    def meter(self, engine: Running, day: date) -> None:
        """The meter is replaced, rolls over, stops; or one is fitted where there was none."""
        if "meter" in engine.done_today or day == engine.since:
            return
        engine.done_today.add("meter")
        if not engine.metered:
            new = self.pick(0, 0, 1230)
            engine.metered, engine.figure, engine.floor = True, new, new
            engine.closed = engine.read_on = day - timedelta(days=1)
            engine.gone_before = engine.runs = 0
            self.log(day, "meter", engine=engine.name, reading=cell(new))
            return
        engine.open_day(day)
        top = engine.top
        rolls = top - engine.figure <= min(2000, engine.allowance(day))
        if rolls:
            old, new = top, 0
        else:
            old = engine.figure + min(engine.room(day), self.draw(st.integers(0, 300)))
            new = self.pick(0, 0, 150)
        cells = {"old_reading": cell(old)}
        if not rolls and chance(self.draw, 40):
            engine.metered = False
        else:
            cells["reading"] = cell(new)
            engine.olds = (day, engine.floor, old)
            engine.gone_before += old - engine.floor
            engine.floor = engine.figure = new
            engine.read_on, engine.runs = day, 0
        self.log(day, "meter", engine=engine.name, **cells)

    def place(self, engine: Running, day: date) -> None:
        """Into store, onto a boat, or both on one day."""
        if "place" in engine.done_today:
            return
        there = [name for name in self.boats if engine.stored or name != engine.boat]
        if not engine.stored and (not there or chance(self.draw, 60)):
            self.log(day, "store", engine=engine.name)
            engine.done_today.add("place")
            engine.stored = True
            there = list(self.boats) if chance(self.draw, 20) else []
        if there:
            engine.boat, engine.stored = self.pick(*there), False
            self.log(day, "mount", engine=engine.name, boat=engine.boat)
            engine.done_today.add("place")

    def move(self, engine: Running, day: date) -> None:
        boat = self.pick(*self.boats)
        if (boat, day) not in self.moved and day >= self.boats[boat]:
            self.moved.add((boat, day))
            self.log(day, "move", boat=boat, water=self.pick(*WATERS))

    def season(self, engine: Running, day: date) -> None:
        if "season" not in engine.done_today:
            engine.done_today.add("season")
            engine.laid_up = not engine.laid_up
            self.log(day, "lay-up" if engine.laid_up else "launch", engine=engine.name)

    def swap(self, engine: Running, day: date) -> None:
        others = [e for e in self.engines.values() if e.since < day and not e.retired]
        others = [e for e in others if e.name != engine.name]
        if not others or day <= engine.since:
            return
        other = self.pick(*others)
        component = self.pick("gearcase", "gearcase", "gearcase", *COMPONENTS)
        if self.swapped and chance(self.draw, 40):  # and back again, or on
            component = self.swapped[-1]
        other.turn_to(day)
        if component not in engine.done_today | other.done_today:
            engine.done_today.add(component)
            other.done_today.add(component)
            self.swapped.append(component)
            self.log(day, "swap", engine=engine.name, component=component, other=other.name)

    def put_off(self, engine: Running, day: date) -> None:
        task = self.pick(*engine.tasks)
        for _ in range(self.pick(1, 1, 2)):
            until = day + timedelta(days=self.draw(st.integers(1, 90)))
            cells = {"until": until.isoformat(), "note": self.pick("no parts yet", "weather")}
            self.log(day, "put-off", engine=engine.name, task=task, **cells)

    def retire(self, engine: Running, day: date) -> None:
        mentioned = any(
            log["on"] == day.isoformat() and engine.name in (log["engine"], log["other"])
            for log in self.tables["log"]
        )
        if not mentioned and chance(self.draw, 60):
            engine.retired = True
            self.log(day, "retire", engine=engine.name)


@st.composite
def fleets(draw: st.DrawFn) -> tuple[Tables, dict[str, str], date]:
    """The four tables, the rule sets' texts by name, and a day to look from."""
    first, texts = draw(first_days()), draw(rule_books())
    yard = Yard(draw, texts, first)
    yard.furnish()
    span = draw(st.integers(30, 400))
    days = draw(st.lists(st.integers(0, span), min_size=3, max_size=16, unique=True))
    for offset in sorted(days):
        for _ in range(draw(st.integers(1, 5))):
            yard.happen(first + timedelta(days=offset))
    known = max(engine.since for engine in yard.engines.values())
    log = yard.tables["log"]
    shocks = [date.fromisoformat(cells["on"]) for cells in log if cells["event"] == "incident"]
    as_of = draw(looked_from(first, span, sorted(days), shocks))
    return yard.tables, texts, max(known, as_of)


@st.composite
def looked_from(
    draw: st.DrawFn, first: date, span: int, days: list[int], shocks: list[date]
) -> date:
    """The end, a month's end, halfway, an entry's day, or some days before a season's date."""
    end = first + timedelta(days=span)
    marks = [date(first.year + 1, month, day) for month, day in ((4, 1), (10, 31), (5, 1))]
    offsets = [span // 2, days[-1], days[-1], days[len(days) // 2]]
    choices = [
        *(end, end, end.replace(day=calendar.monthrange(end.year, end.month)[1])),
        *(first + timedelta(days=offset) for offset in offsets),
        *[draw(st.sampled_from(marks)) - timedelta(days=draw(st.integers(0, 30)))] * 2,
        *shocks[-1:] * 3,
    ]
    return draw(st.sampled_from(choices))
