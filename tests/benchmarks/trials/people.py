"""Fleets of boats and the people who take them out, day by day.

Hire yards with parties who book ahead or turn up, clubs with a programme and a duty skipper,
owners with habits that change. Nothing is shared with the forecast or the shipped uses.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.benchmarks.trials.world import Day, World

FIRST, YEARS = date(2031, 1, 1), 9


@dataclass(slots=True)
class Boat:
    """One engine's truth: hours of each day from `first` on, days read, days booked ahead."""

    first: date
    hours: list[float] = field(default_factory=list)
    read: list[int] = field(default_factory=list)
    booked: set[int] = field(default_factory=set)
    broken: int = 0

    def ordinal(self, at: int) -> int:
        return self.first.toordinal() + at


def fleets(use: str, seeds: range, units: int = 6) -> list[Boat]:
    """The boats of one fleet a seed."""
    return [boat for seed in seeds for boat in fleet(use, seed, units)]


def fleet(use: str, seed: int, units: int = 6) -> list[Boat]:
    dice = random.Random(f"{use} {seed}")
    world = World.of(FIRST, YEARS, dice)
    boats = [Boat(_begins(dice, number)) for number in range(units)]
    {"hire": _hire, "club": _club, "owner": _owners}[use](world, boats, dice)
    for boat in boats:
        boat.read = _readings(len(boat.hours), dice)
    return boats


def _begins(dice: random.Random, number: int) -> date:
    """Most are there from the first day; the last two come new, in mid-season, a year or two on."""
    if number < 4:
        return FIRST
    return date(FIRST.year + dice.randrange(2, 4), dice.randrange(4, 9), dice.randrange(1, 29))


def _readings(days: int, dice: random.Random) -> list[int]:
    """Days on which the meter was read: by the week, the fortnight, or as it came; with gaps."""
    habit = dice.choice(("week", "fortnight", "now and then"))
    at, read = 0, []
    while True:
        if habit == "now and then":
            at += 3 + int(dice.expovariate(1 / 16))
        else:
            at += (7 if habit == "week" else 14) + dice.choice((0, 0, 0, 1, -1))
        if dice.random() < 0.03:  # nobody read it for a month or more
            at += dice.randrange(25, 70)
        if at >= days:
            return read
        read.append(at)


def _breaks(boat: Boat, dice: random.Random, every: float) -> bool:
    """Whether it lies in the workshop today; a breakdown comes about every so many days of use."""
    if boat.broken:
        boat.broken -= 1
        return True
    if dice.random() < 1 / every:
        boat.broken = 2 + int(dice.expovariate(1 / 9))
        return True
    return False


# -- hire ----------------------------------------------------------------------------------------


def _hire(world: World, boats: list[Boat], dice: random.Random) -> None:
    """A yard: parties book for holidays or turn up when it is fine; some boats are favourites."""
    parties = dice.uniform(0.35, 1.1) * len(boats)
    monday_shut = dice.random() < 0.4
    engine_share = dice.uniform(0.55, 0.9)
    liked = [dice.uniform(0.6, 1.5) for _ in boats]
    opens, shuts = _open_days(FIRST.year, dice)
    ahead: dict[date, int] = {}
    fashion = 1.0
    for day in world.days:
        if (day.on.month, day.on.day) == (1, 1):
            opens, shuts = _open_days(day.on.year, dice)
            fashion *= dice.choice((0.8, 0.9, 1.0, 1.0, 1.1, 1.25))
            if dice.random() < 0.3:
                liked[dice.randrange(len(liked))] = dice.uniform(0.5, 1.5)
        there = [boat for boat in boats if boat.first <= day.on]
        is_open = opens <= day.on <= shuts and not (
            monday_shut and day.on.weekday() == 0 and not day.holidays
        )
        _book_ahead(day.on, parties * fashion, ahead, dice)
        out = _parties(day, parties * fashion, dice) if is_open else 0
        kept = ahead.pop(day.on, 0) if is_open else 0
        _share_out(day, there, boats, liked, (kept, out), engine_share, dice)


def _open_days(year: int, dice: random.Random) -> tuple[date, date]:
    return (
        date(year, 3, 14) + timedelta(dice.randrange(30)),
        date(year, 10, 10) + timedelta(dice.randrange(34)),
    )


def _book_ahead(today: date, parties: float, ahead: dict[date, int], dice: random.Random) -> None:
    """Bookings that arrive today, for a day some weeks off, mostly in the warm half."""
    for _ in range(_count(parties * 0.35, dice)):
        wanted = today + timedelta(1 + int(dice.expovariate(1 / 18)))
        fond = {5: 0.6, 6: 0.7, 7: 1.0, 8: 1.0, 9: 0.6, 4: 0.4, 10: 0.25}.get(wanted.month, 0)
        if wanted.weekday() < 5:
            fond *= 0.6
        if dice.random() < fond:
            ahead[wanted] = ahead.get(wanted, 0) + 1


def _parties(day: Day, parties: float, dice: random.Random) -> int:
    """Parties who turn up: warmth, holidays, weekends; wind keeps them ashore."""
    keen = max(0.0, min(1.6, (day.warmth - 9) / 9))
    if day.weekend:
        keen *= 1.7
    if day.holidays:
        keen *= 1.5
    if not day.pleasant:
        keen *= 0.25
    if day.wind > 24:
        keen = 0.0
    return _count(parties * keen * 0.8, dice)


def _share_out(
    day: Day,
    there: list[Boat],
    boats: list[Boat],
    liked: list[float],
    parties: tuple[int, int],
    engine_share: float,
    dice: random.Random,
) -> None:
    ready = [boat for boat in there if not _breaks(boat, dice, 220)]
    kept, walked = parties
    taken: dict[int, float] = {}
    for number in range(kept + walked):
        free = [boat for boat in ready if id(boat) not in taken]
        if not free:
            break
        weights = [liked[boats.index(boat)] for boat in free]
        boat = dice.choices(free, weights)[0]
        if number < kept:
            boat.booked.add(day.on.toordinal())
            if day.wind > 26 and dice.random() < 0.7:
                taken[id(boat)] = 0.0
                continue
        out = dice.choice((1.0, 2.0, 2.0, 3.0, 4.0, 4.0, 7.5))
        taken[id(boat)] = round(min(out * engine_share * dice.uniform(0.6, 1.1), day.light), 1)
    for boat in there:
        boat.hours.append(taken.get(id(boat), 0.0))


def _count(mean: float, dice: random.Random) -> int:
    """How many of many people who each might: the sum of short waits within a day."""
    count, waited = 0, dice.expovariate(1.0)
    while waited < mean:
        count += 1
        waited += dice.expovariate(1.0)
    return count


# -- club ----------------------------------------------------------------------------------------


def _club(world: World, boats: list[Boat], dice: random.Random) -> None:
    """A sailing club's launches: a programme, its wind limits, and who is on duty."""
    evening = dice.choice((1, 2, 3))
    frostbite = dice.random() < 0.35
    youth = dice.random() < 0.7
    needed = {"evening": dice.uniform(0.3, 0.6), "race": dice.uniform(0.5, 0.9), "camp": 0.6}
    favourite = [dice.uniform(0.5, 1.6) for _ in boats]
    season = _programme(FIRST.year, dice)
    for day in world.days:
        if (day.on.month, day.on.day) == (1, 1):
            season = _programme(day.on.year, dice)
            needed["race"] = min(1.0, needed["race"] * dice.uniform(0.85, 1.15))
            if dice.random() < 0.25:
                youth = not youth
            if dice.random() < 0.4:
                favourite[dice.randrange(len(favourite))] = dice.uniform(0.4, 1.6)
        there = [boat for boat in boats if boat.first <= day.on]
        events = _events(day, season, (evening, frostbite, youth), dice)
        _launches(day, there, boats, favourite, events, needed, dice)


Programme = tuple[date, date, int, date]


def _programme(year: int, dice: random.Random) -> Programme:
    """First and last day of the sailing season, one race Sunday in so many, the regatta's day."""
    return (
        date(year, 4, 1) + timedelta(dice.randrange(24)),
        date(year, 9, 25) + timedelta(dice.randrange(24)),
        dice.choice((1, 1, 2)),
        date(year, 6, 10) + timedelta(dice.randrange(75)),
    )


def _events(
    day: Day, season: Programme, kind: tuple[int, bool, bool], dice: random.Random
) -> list[tuple[str, float]]:
    """What needs launches today, with the hours each of them is out."""
    if day.wind > 25:
        return []
    evening, frostbite, youth = kind
    on = day.on
    if season[0] <= on <= season[1]:
        return _weekly(day, season, evening, dice) + _special(day, season, youth, dice)
    if frostbite and on.weekday() == 6 and on.month in (11, 12, 1, 2) and day.warmth > 2:
        second = (on.toordinal() // 7) % 2 == 0
        return [("race", dice.uniform(2.0, 3.0))] if second else []
    if on.weekday() == 5 and dice.random() < 0.06:
        return [("evening", dice.uniform(0.3, 1.0))]
    return []


def _weekly(
    day: Day, season: Programme, evening: int, dice: random.Random
) -> list[tuple[str, float]]:
    """The evening of the week, the Sunday's race, a Saturday now and then."""
    on, events = day.on, []
    if on.weekday() == evening and day.light > 13 and not (day.wet and dice.random() < 0.5):
        events.append(("evening", dice.uniform(1.5, 2.8)))
    if on.weekday() == 6 and (on.toordinal() // 7) % season[2] == 0:
        events.append(("race", dice.uniform(3.0, 5.5)))
    if on.weekday() == 5 and dice.random() < 0.5:
        events.append(("evening", dice.uniform(2.0, 4.0)))
    return events


def _special(
    day: Day, season: Programme, youth: bool, dice: random.Random
) -> list[tuple[str, float]]:
    """Camps in two holiday weeks of three, the regatta, marks laid and lifted."""
    first, last, _, regatta = season
    on, events = day.on, []
    camp = youth and day.holidays and on.month in (7, 8) and on.weekday() < 5
    if camp and (on.toordinal() // 7) % 3 < 2:
        events.append(("camp", dice.uniform(3.0, 6.0)))
    if 0 <= (on - regatta).days < 4:
        events.append(("race", dice.uniform(5.0, 8.0)))
    if abs((on - first).days) < 3 or abs((on - last).days) < 3:
        events.append(("evening", dice.uniform(1.0, 4.0)))
    return events


def _launches(
    day: Day,
    there: list[Boat],
    boats: list[Boat],
    favourite: list[float],
    events: list[tuple[str, float]],
    needed: dict[str, float],
    dice: random.Random,
) -> None:
    hours = {id(boat): 0.0 for boat in there}
    ready = [boat for boat in there if not _breaks(boat, dice, 260)]
    for name, length in events:
        for boat in ready:
            if dice.random() < needed[name] * favourite[boats.index(boat)]:
                hours[id(boat)] += length * dice.uniform(0.5, 0.95)
    for boat in there:
        boat.hours.append(round(min(hours[id(boat)], day.light), 1))


# -- owners --------------------------------------------------------------------------------------


@dataclass(slots=True)
class Habit:
    """What one owner does with the boat this year."""

    kind: str
    keen: float
    trip: float
    launch: date
    ashore: date
    weeks_off: tuple[int, ...]


def _habit(year: int, dice: random.Random, before: Habit | None) -> Habit:
    kinds = ("angler", "sailor", "picnics", "holiday", "islander")
    if before is None or dice.random() < 0.15:
        kind = dice.choices(kinds, (4, 4, 4, 2, 1))[0]
        keen, trip = dice.uniform(0.25, 0.9), dice.uniform(0.7, 1.4)
    else:
        kind, keen, trip = before.kind, before.keen, before.trip
        keen = max(0.12, min(1.0, keen * dice.choice((0.6, 0.8, 1.0, 1.0, 1.1, 1.3))))
    if dice.random() < 0.04:
        keen = 0.01  # illness, a sale that fell through, a new child
    elif keen < 0.12:
        keen = dice.uniform(0.25, 0.9)
    begin = date(year, 7, 1) + timedelta(dice.randrange(40))
    weeks = tuple(begin.toordinal() + k for k in range(dice.choice((7, 14, 14, 21))))
    launch = date(year, 3, 20) + timedelta(dice.randrange(70))
    ashore = date(year, 9, 20) + timedelta(dice.randrange(60))
    if kind == "angler" and dice.random() < 0.6:
        launch, ashore = date(year, 1, 1), date(year, 12, 31)
    return Habit(kind, keen, trip, launch, ashore, weeks)


def _owners(world: World, boats: list[Boat], dice: random.Random) -> None:
    habits = [_habit(FIRST.year, dice, None) for _ in boats]
    for day in world.days:
        if (day.on.month, day.on.day) == (1, 1):
            habits = [_habit(day.on.year, dice, habit) for habit in habits]
        for boat, habit in zip(boats, habits, strict=True):
            if boat.first > day.on:
                continue
            if _breaks(boat, dice, 500) or not habit.launch <= day.on <= habit.ashore:
                boat.hours.append(0.0)
            else:
                boat.hours.append(round(min(_trip(day, habit, dice), day.light), 1))


def _trip(day: Day, habit: Habit, dice: random.Random) -> float:
    """Hours the engine runs today: nought on most days."""
    on_leave = day.on.toordinal() in habit.weeks_off
    wish = habit.keen * (0.42 if day.weekend else 0.05)
    length = 1.0
    if habit.kind == "angler":
        wish *= 1.2 if day.wind < 14 else 0.2
        length = dice.uniform(1.0, 4.0)
    elif habit.kind == "sailor":
        wish *= 1.5 if day.pleasant else 0.3
        length = dice.choice((0.3, 0.4, 0.6, 0.8, 1.5, 3.0))
        if on_leave:
            wish, length = habit.keen * 0.8, dice.uniform(0.5, 3.0)
    elif habit.kind == "picnics":
        wish *= 1.6 if day.pleasant and day.warmth > 17 else 0.1
        length = dice.uniform(0.8, 3.5)
        if on_leave and day.pleasant:
            wish = habit.keen * 0.7
    elif habit.kind == "holiday":
        wish *= 0.2
        length = dice.uniform(1.0, 5.0)
        if on_leave:
            wish = habit.keen * (0.9 if day.pleasant else 0.2)
    elif habit.kind == "islander":
        wish = habit.keen * 0.7 * (1.0 if day.wind < 22 else 0.2)
        length = dice.uniform(0.3, 0.8)
    return length * habit.trip if dice.random() < wish else 0.0
