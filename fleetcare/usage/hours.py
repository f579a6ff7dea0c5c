"""One engine's hours and waters, asked by day.

Everything is a difference of running sums, so a question costs a few bisections however long the
log is. `Mix` is six sums at the close of a day: hours in fresh, brackish and salt, then likely
hours in the same waters.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from itertools import accumulate

from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log.history import NOT_NAMED, EngineLog, hours_from_fuel
from fleetcare.usage.meter import Hours, closes_of
from fleetcare.usage.places import HomeWater

Mix = tuple[Hours, Hours, Hours, Hours, Hours, Hours]
NO_HOURS: Mix = (0, 0, 0, 0, 0, 0)

# A run given as fuel may have taken this much more: our design choice, see README.
FUEL_BAND = Fraction(2, 5)


def plus(one: Mix, other: Mix) -> Mix:
    """The sum of two mixes."""
    return (
        one[0] + other[0],
        one[1] + other[1],
        one[2] + other[2],
        one[3] + other[3],
        one[4] + other[4],
        one[5] + other[5],
    )


def minus(one: Mix, other: Mix) -> Mix:
    """What one mix has more than the other."""
    return (
        one[0] - other[0],
        one[1] - other[1],
        one[2] - other[2],
        one[3] - other[3],
        one[4] - other[4],
        one[5] - other[5],
    )


def in_water(water: int, hours: Hours) -> Mix:
    """Hours of one water, and no likely ones."""
    values: list[Hours] = [0, 0, 0]
    values[water] = hours
    return (values[0], values[1], values[2], 0, 0, 0)


class EngineUse:
    """How much one engine ran, and in which water, day by day."""

    __slots__ = (
        "_by_water",
        "_has_fuel",
        "_likely",
        "_now",
        "_odd_days",
        "_odd_waters",
        "_raw_by_water",
        "_raw_sums",
        "_run_days",
        "_run_hours",
        "_run_waters",
        "_spread_sums",
        "closes",
        "engine",
        "home",
        "idle",
        "only_water",
        "scaled",
        "since",
    )

    def __init__(
        self, engine: Engine, log: EngineLog, home: HomeWater, idle: tuple[tuple[int, int], ...]
    ) -> None:
        self.engine, self.home, self.idle = engine, home, idle
        self.since = engine.since.toordinal()
        days, hours, waters, fuel_days = _runs(engine, log)
        self._run_days, self._run_hours, self._run_waters = days, hours, waters
        self._has_fuel = bool(fuel_days)
        self.closes = closes_of(engine, log, days, hours)
        self._raw_sums: list[Hours] = list(accumulate(hours, initial=0))
        self.scaled = self._find_scaled()
        one_home = home.waters[0] if len(home.waters) == 1 else None
        named = set(waters)
        self.only_water = (
            one_home
            if one_home is not None
            and not fuel_days
            and not self.scaled
            and named <= {NOT_NAMED, one_home}
            else None
        )
        self._now: tuple[int, Mix] | None = None
        self._odd_days: list[int] = []
        self._odd_waters: list[int] = []
        if self.only_water is None:
            self._settle_waters(fuel_days)

    # -- engine hours -------------------------------------------------------------------------

    def _find_scaled(self) -> dict[int, Fraction]:
        """The intervals whose runs add up to more than the readings allow, with their factor."""
        closes, sums, days = self.closes, self._raw_sums, self._run_days
        through = [sums[bisect_right(days, day)] for day in closes.days]
        over = [run - hours for run, hours in zip(through, closes.hours, strict=True)]
        if over == sorted(over, reverse=True):
            return {}
        scaled: dict[int, Fraction] = {}
        for i in range(len(over) - 1):
            total, runs = self._interval(i)
            if runs > total:
                scaled[i] = Fraction(total) / runs
        return scaled

    def _interval(self, i: int) -> tuple[Hours, Hours]:
        """Hours of the interval after close i: by the readings, and by the runs they explain."""
        closes = self.closes
        stop = closes.stops.get(i + 1)
        last = closes.days[i + 1] - (1 if stop is not None else 0)
        end = closes.hours[i + 1] if stop is None else stop
        return end - closes.hours[i], self._raw(closes.days[i], last)

    def _raw(self, after: int, through: int) -> Hours:
        """Logged runs on days after the first, through the second."""
        days = self._run_days
        return (
            self._raw_sums[bisect_right(days, through)] - self._raw_sums[bisect_right(days, after)]
        )

    def _ran_days(self, first: int, last: int) -> int:
        """Days from first to last on which the engine was neither laid up nor in store."""
        total = last - first + 1
        for begin, end in self.idle:
            if begin > last:
                break
            total -= max(0, min(end, last) - max(begin, first) + 1)
        return max(0, total)

    def hours_to(self, day: int, known: int) -> Hours:
        """Engine hours at the close of a day, from what was known by the day `known` (≥ day)."""
        closes = self.closes
        i = bisect_right(closes.days, day) - 1
        if i < 0:
            return closes.hours[0]
        if closes.days[i] == day:
            return closes.hours[i]
        if i + 1 >= len(closes.days) or closes.days[i + 1] > known:
            return closes.hours[i] + self._raw(closes.days[i], day)
        total, runs = self._interval(i)
        ran = self._raw(closes.days[i], day)
        if runs >= total:
            return closes.hours[i] + (ran if runs == total else ran * self.scaled[i])
        first, last = closes.days[i] + 1, closes.days[i + 1]
        days, passed = self._ran_days(first, last), self._ran_days(first, day)
        if not days:
            days, passed = last - first + 1, day - first + 1
        return _shared_out(closes.hours[i] + ran, total - runs, passed, days)

    # -- waters -------------------------------------------------------------------------------

    def _settle_waters(self, fuel_days: set[int]) -> None:
        """Running sums of runs by water, as the readings allow them and as they were logged."""
        days, hours, waters = self._run_days, self._run_hours, self._run_waters
        homes = [self.home.on(day) for day in days]
        waters = [
            home if water == NOT_NAMED else water for water, home in zip(waters, homes, strict=True)
        ]
        allowed = list(hours)
        likely: list[Hours] = [0] * len(hours)
        for i, factor in self.scaled.items():
            last = self.closes.days[i + 1] - (1 if i + 1 in self.closes.stops else 0)
            for j in range(bisect_right(days, self.closes.days[i]), bisect_right(days, last)):
                allowed[j] = hours[j] * factor
                likely[j] = hours[j] - allowed[j]
        for j in fuel_days:
            if self._counts_in_full(days[j]):
                likely[j] += hours[j] * FUEL_BAND
        self._by_water = [_sums(allowed, waters, water) for water in Water]
        self._likely = [_sums(likely, waters, water) for water in Water]
        raw_likely = [hours[j] * FUEL_BAND if j in fuel_days else 0 for j in range(len(hours))]
        self._raw_by_water = [_sums(list(hours), waters, water) for water in Water] + [
            _sums(raw_likely, waters, water) for water in Water
        ]
        self._spread_sums = list(accumulate(allowed, initial=0))
        stricter: dict[int, int] = {}
        for day, water, home in zip(days, waters, homes, strict=True):
            if water > max(home, stricter.get(day, NOT_NAMED)):
                stricter[day] = water
        self._odd_days = list(stricter)
        self._odd_waters = [stricter[day] for day in self._odd_days]

    def _counts_in_full(self, day: int) -> bool:
        closes = self.closes
        return day > closes.days[-1] or any(a <= day <= b for a, b in closes.unmetered)

    def mix_to(self, day: int, known: int) -> Mix:
        """Hours by water at the close of a day, from what was known by the day `known`."""
        if day != known:
            return self._mix_to(day, known)
        if self._now is None or self._now[0] != day:  # every row of the engine asks for this day
            self._now = (day, self._mix_to(day, known))
        return self._now[1]

    def _mix_to(self, day: int, known: int) -> Mix:
        if self.only_water is not None:
            return in_water(self.only_water, self.hours_to(day, known) - self.closes.hours[0])
        closes = self.closes
        day = max(day, closes.days[0])
        i = bisect_right(closes.days, day) - 1
        if closes.days[i] == day or (i + 1 < len(closes.days) and closes.days[i + 1] <= known):
            return self._settled(day, known)
        after = closes.days[i]
        lower, upper = bisect_right(self._run_days, after), bisect_right(self._run_days, day)
        raw = self._raw_by_water
        since_then: Mix = (
            raw[0][upper] - raw[0][lower],
            raw[1][upper] - raw[1][lower],
            raw[2][upper] - raw[2][lower],
            raw[3][upper] - raw[3][lower],
            raw[4][upper] - raw[4][lower],
            raw[5][upper] - raw[5][lower],
        )
        return plus(self._settled(after, known), since_then)

    def _settled(self, day: int, known: int) -> Mix:
        """The mix at a close, or within an interval whose end is known."""
        first = self.closes.days[0]
        base, upper = bisect_right(self._run_days, first), bisect_right(self._run_days, day)
        values: list[Hours] = [sums[upper] - sums[base] for sums in self._by_water]
        likely = [sums[upper] - sums[base] for sums in self._likely]
        before = self._spread_to(first, known)
        for _, last, water in self.home.stretches(first + 1, day):
            now = self._spread_to(last, known)
            values[water] += now - before
            before = now
        return (values[0], values[1], values[2], likely[0], likely[1], likely[2])

    def _spread_to(self, day: int, known: int) -> Hours:
        """Hours up to a day that no run explains."""
        return self.hours_to(day, known) - self._spread_sums[bisect_right(self._run_days, day)]

    def water_on(self, day: int) -> int:
        """The water of a day: the strictest of home and the waters that its runs name."""
        at = bisect_left(self._odd_days, day)
        if at < len(self._odd_days) and self._odd_days[at] == day:
            return self._odd_waters[at]
        return self.home.on(day)

    def days_by_water(self, first: int, last: int) -> list[int]:
        """How many of the days from first to last were in each water."""
        counts = [0, 0, 0]
        if first > last:
            return counts
        if self.only_water is not None:
            counts[self.only_water] = last - first + 1
            return counts
        for begin, end, water in self.home.stretches(first, last):
            counts[water] += end - begin + 1
        for at in range(bisect_left(self._odd_days, first), bisect_right(self._odd_days, last)):
            counts[self.home.on(self._odd_days[at])] -= 1
            counts[self._odd_waters[at]] += 1
        return counts

    # -- days that triggers ask for ------------------------------------------------------------

    def run_days_in(self, waters: frozenset[int], first: int, last: int) -> list[int]:
        """Days from first to last with a run in these waters, or shown by a reading alone."""
        lower, upper = bisect_left(self._run_days, first), bisect_right(self._run_days, last)
        found = {
            self._run_days[j]
            for j in range(lower, upper)
            if self._run_hours[j] > 0 and self._water_of(j) in waters
        }
        closes = self.closes
        for i in range(max(0, bisect_left(closes.days, first) - 1), len(closes.days) - 1):
            if closes.days[i + 1] > last:
                break
            if closes.days[i + 1] >= first and self._shown_only_in(i, waters):
                found.add(closes.days[i + 1])
        return sorted(found)

    def _water_of(self, run: int) -> int:
        water = self._run_waters[run]
        return self.home.on(self._run_days[run]) if water == NOT_NAMED else water

    def _shown_only_in(self, i: int, waters: frozenset[int]) -> bool:
        """Whether hours of the interval that no run explains fall on days of these waters."""
        total, runs = self._interval(i)
        if total <= runs:
            return False
        first, last = self.closes.days[i] + 1, self.closes.days[i + 1]
        whole = not self._ran_days(first, last)
        return any(
            water in waters and (whole or self._ran_days(begin, end))
            for begin, end, water in self.home.stretches(first, last)
        )

    def days_known_to_have_run(self) -> list[int]:
        """Days of runs, and of closes above the one before."""
        closes = self.closes
        days = {
            day for day, hours in zip(self._run_days, self._run_hours, strict=True) if hours > 0
        }
        days.update(
            closes.days[i]
            for i in range(1, len(closes.days))
            if closes.hours[i] > closes.hours[i - 1] and not self._is_fitting(i)
        )
        return sorted(days)

    # -- what the forecast asks for ------------------------------------------------------------

    def last_run_day(self) -> int | None:
        """The day of the last run logged, or None."""
        return self._run_days[-1] if self._run_days else None

    def runs_explain(self, intervals: int, least: Fraction) -> bool:
        """Whether runs make up at least this share of the hours between the last readings."""
        last = len(self.closes.days) - 1
        read: Hours = 0
        ran: Hours = 0
        for i in range(max(0, last - intervals), last):
            total, runs = self._interval(i)
            read, ran = read + total, ran + runs
        return bool(read) and ran >= least * read

    @property
    def burns_fuel(self) -> bool:
        """Whether hours came out of fuel burned."""
        return self._has_fuel

    def _is_fitting(self, i: int) -> bool:
        """Whether a close only carries over the runs of a time without a meter."""
        if i in self.closes.stops:
            return False
        return any(self.closes.days[i] == end for _, end in self.closes.unmetered)


def _runs(engine: Engine, log: EngineLog) -> tuple[list[int], list[Hours], list[int], set[int]]:
    """Days, hours and named waters of all runs in order, and which of them came as fuel."""
    if not log.fuel_runs:
        return log.run_days, list(log.run_hours), log.run_waters, set()
    rows: list[tuple[int, Hours, int, bool]] = [
        (day, hours, water, False)
        for day, hours, water in zip(log.run_days, log.run_hours, log.run_waters, strict=True)
    ]
    burn = engine.burn
    rows += [(day, hours_from_fuel(fuel, burn), water, True) for day, fuel, water in log.fuel_runs]
    rows.sort(key=lambda row: row[0])
    fuel = {at for at, row in enumerate(rows) if row[3]}
    return [row[0] for row in rows], [row[1] for row in rows], [row[2] for row in rows], fuel


def _shared_out(base: Hours, extra: Hours, passed: int, days: int) -> Hours:
    """The base and so many days' share of the extra hours, in as few fractions as can be."""
    over = extra * passed
    whole, rest = divmod(over, days)
    return base + whole if not rest else Fraction(base * days + over, days)


def _sums(hours: list[Hours], waters: list[int], water: int) -> list[Hours]:
    values: list[Hours] = [
        hour if there == water else 0 for hour, there in zip(hours, waters, strict=True)
    ]
    return list(accumulate(values, initial=0))
