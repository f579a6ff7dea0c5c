"""The year ahead: minutes, parts and boat-days by month, between much use and little.

Every job is followed through the year, coming due again after it was done. A boat comes in when
one of its jobs is due, and what else of it is due soon is done with it. It is a budget: nothing is
fitted to days, bookings or the workshop's minutes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.due.followups import undone_by_engine
from fleetcare.due.records import Due
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import numbers_by_place, weekdays_of
from fleetcare.log.history import History
from fleetcare.plan.repeats import COURSES, Repeat, Season, repeats_of, waits_for
from fleetcare.rules.bench import minutes_of_visit, parts_of_visit
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.outlooks import Forecast

DAYS = 365
MIDDLE = 1  # the place of the middling course among the three
Three = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Month:
    """One month: minutes, jobs and boat-days with much, middling and little use.

    `parts` is the money of parts that have a price; `capacity` the workshop's minutes on its open
    days of the month.
    """

    year: int
    month: int
    minutes: Three
    parts: tuple[Fraction, Fraction, Fraction]
    boat_days: Three
    jobs: Three
    capacity: int


@dataclass(frozen=True, slots=True)
class YearAhead:
    """Month by month from `first` to `last` (ordinals), and what the year uses up at the middle.

    `items` gives each item's pieces and the price of one, None where the rules give none.
    """

    first: int
    last: int
    months: tuple[Month, ...]
    items: tuple[tuple[str, int, Fraction | None], ...]


@dataclass(frozen=True, slots=True)
class _Work:
    """One engine on one day of a course."""

    on: int
    boat: str | None
    engine: str
    tasks: tuple[str, ...]


@dataclass(slots=True)
class _Engine:
    name: str
    ruleset: RuleSet
    season: Season | None
    laid_up: bool
    repeats: dict[str, Repeat]
    due: dict[str, int]


def year_ahead(
    fleet: Fleet, history: History, book: RuleBook, rows: Iterable[Due], forecast: Forecast,
    as_of: date,
) -> YearAhead:  # fmt: skip
    """The year from a day on, out of the rows of its due list."""
    today = as_of.toordinal()
    last = today + DAYS - 1
    carriage = Carriage(fleet, history, today, undone_by_engine(history, book))
    by_boat: dict[tuple[str | None, str], dict[str, list[Due]]] = {}
    for row in rows:
        key = (row.boat, "" if row.boat is not None else row.engine)
        by_boat.setdefault(key, {}).setdefault(row.engine, []).append(row)
    courses: list[list[_Work]] = []
    rules: dict[str, RuleSet] = {}
    for course in COURSES:
        work: list[_Work] = []
        for (boat, _), engines in by_boat.items():
            group = [
                _engine(fleet, book, carriage, forecast, course, name, mine)
                for name, mine in engines.items()
            ]
            rules.update((one.name, one.ruleset) for one in group)
            work += _visits(group, boat, today, last)
        courses.append(work)
    months = tuple(_month(fleet, key, courses, rules, today, last) for key in _months(today, last))
    return YearAhead(today, last, months, _items(courses[MIDDLE], rules))


def _engine(
    fleet: Fleet, book: RuleBook, carriage: Carriage, forecast: Forecast, course: float,
    name: str, rows: Sequence[Due],
) -> _Engine:  # fmt: skip
    boat = carriage.last_boat_of(name)
    season = book.uses[fleet.boats[boat].use if boat else "owner"].season(fleet.settings)
    in_season = season if carriage.boat_of(name) is not None else None
    repeats = repeats_of(rows, forecast.of(carriage, name), course, season, carriage.as_of)
    return _Engine(
        name, book.set_of(carriage.known[name].rules or fleet.settings.rules), in_season,
        any(row.laid_up for row in rows), {one.rule.name: one for one in repeats},
        {one.rule.name: one.first for one in repeats if one.first is not None},
    )  # fmt: skip


def _visits(engines: Sequence[_Engine], boat: str | None, today: int, last: int) -> list[_Work]:
    """Day after day on which one of a boat's engines is wanted, until the year is over."""
    found: list[_Work] = []
    while True:
        wanted = [
            waits_for(day, engine.season, engine.laid_up, today)
            for engine in engines
            for day in engine.due.values()
        ]
        on = min(wanted, default=last + 1)
        if on > last:
            return found
        for engine in engines:
            tasks = tuple(_done_on(engine, on, today))
            if tasks:
                found.append(_Work(on, boat, engine.name, tasks))
                _restart(engine, tasks, on)


def _done_on(engine: _Engine, on: int, today: int) -> Iterable[str]:
    """What is due by the day, or so soon after it that it is done as well."""
    for task, day in engine.due.items():
        at = waits_for(day, engine.season, engine.laid_up, today)
        if at <= on or at - on <= engine.repeats[task].ahead(day):
            yield task


def _restart(engine: _Engine, tasks: Sequence[str], on: int) -> None:
    """Every clock that the jobs start begins anew, and those that never repeat end."""
    begun = dict.fromkeys(tasks)
    for task in tasks:
        begun.update(dict.fromkeys(engine.ruleset.rules[task].restarts))
    for task in begun:
        repeat = engine.repeats.get(task)
        again = repeat.again(on) if repeat else None
        if again is None:
            engine.due.pop(task, None)
        else:
            engine.due[task] = max(again, on + 1)


def _months(first: int, last: int) -> list[tuple[int, int]]:
    days = (date.fromordinal(day) for day in range(first, last + 1))
    return list(dict.fromkeys((day.year, day.month) for day in days))


def _month(
    fleet: Fleet, key: tuple[int, int], courses: Sequence[Sequence[_Work]],
    rules: Mapping[str, RuleSet], first: int, last: int,
) -> Month:  # fmt: skip
    mine = [[work for work in course if _key(work.on) == key] for course in courses]
    return Month(
        *key,
        _three(sum(minutes_of_visit(rules[w.engine], w.tasks) for w in course) for course in mine),
        _money(mine, rules),
        _three(len({(w.boat, w.on) for w in course if w.boat is not None}) for course in mine),
        _three(sum(len(w.tasks) for w in course) for course in mine),
        _capacity(fleet, key, first, last),
    )


def _key(day: int) -> tuple[int, int]:
    on = date.fromordinal(day)
    return on.year, on.month


def _three(numbers: Iterable[int]) -> Three:
    one, two, three = numbers
    return one, two, three


def _money(
    courses: Sequence[Sequence[_Work]], rules: Mapping[str, RuleSet]
) -> tuple[Fraction, Fraction, Fraction]:
    one, two, three = (
        sum((_parts_money(rules[work.engine], work.tasks) for work in course), Fraction(0))
        for course in courses
    )
    return one, two, three


def _parts_money(ruleset: RuleSet, tasks: Sequence[str]) -> Fraction:
    prices = prices_of(ruleset)
    used = parts_of_visit(ruleset, tasks)
    return sum((count * prices.get(item, Fraction(0)) for item, count in used.items()), Fraction(0))


def prices_of(ruleset: RuleSet) -> dict[str, Fraction]:
    """The price of each item that has one."""
    parts = [part for rule in ruleset.rules.values() for part in rule.parts]
    parts += [part for step in ruleset.access.values() for part in step.consumes]
    return {part.item: part.price for part in parts if part.price is not None}


def _items(
    work: Iterable[_Work], rules: Mapping[str, RuleSet]
) -> tuple[tuple[str, int, Fraction | None], ...]:
    """Pieces by item, the dearest first, then the most wanted."""
    used: Counter[str] = Counter()
    prices: dict[str, Fraction] = {}
    for one in work:
        used += parts_of_visit(rules[one.engine], one.tasks)
        prices.update(prices_of(rules[one.engine]))
    rows = [(item, count, prices.get(item)) for item, count in used.items()]
    return tuple(sorted(rows, key=lambda row: (-(row[2] or 0) * row[1], -row[1], row[0])))


def _capacity(fleet: Fleet, key: tuple[int, int], first: int, last: int) -> int:
    """Workshop minutes of the open days of a month that lie in the year, all places together."""
    open_days = weekdays_of(fleet.settings.open_days) or frozenset()
    usual, apart = numbers_by_place(fleet.settings.workshop_minutes) or (0, {})
    days = sum(
        _key(day) == key and date.fromordinal(day).weekday() in open_days
        for day in range(first, last + 1)
    )
    return days * (usual + sum(apart.values()))
