"""The world the trial fleets live in: weather, school holidays, tides of fashion. Northern.

Made for judging the forecast, so nothing here is taken from it: people decide day by day whether
to go out, and hours are what comes of it. No factor of months, level or rate is written anywhere.
All figures are invented, common sense and no source.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Day:
    """One day on the shore: warmth in °C, wind in knots, rain, and whether schools are shut."""

    on: date
    warmth: float
    wind: float
    wet: bool
    holidays: bool

    @property
    def weekend(self) -> bool:
        return self.on.weekday() >= 5

    @property
    def pleasant(self) -> bool:
        return not self.wet and self.wind < 17 and self.warmth > 13

    @property
    def light(self) -> float:
        """Hours of daylight at some 52 degrees north, near enough."""
        day = self.on.timetuple().tm_yday
        return 12.2 + 4.4 * math.sin(2 * math.pi * (day - 80) / 365)


@dataclass(slots=True)
class World:
    """Days in a row, with the spells of weather that each year brings."""

    days: list[Day] = field(default_factory=list)

    @classmethod
    def of(cls, first: date, years: int, dice: random.Random) -> World:
        world = cls()
        spell, left, shift = "fair", 3, 0.0
        summer = cls._summer(first.year, dice)
        on = first
        year_mood = dice.gauss(0, 1.1)
        while on.year < first.year + years:
            if (on.month, on.day) == (1, 1):
                summer, year_mood = cls._summer(on.year, dice), dice.gauss(0, 1.1)
            if left == 0:
                spell = dice.choices(
                    ("fair", "mixed", "westerlies", "wet"), (4, 5, 3 if 4 < on.month < 10 else 6, 3)
                )[0]
                left = 1 + int(dice.expovariate(1 / (6 if spell == "fair" else 4)))
                shift = dice.gauss(0, 1.5)
            left -= 1
            world.days.append(cls._day(on, spell, shift + year_mood, summer, dice))
            on += timedelta(1)
        return world

    @staticmethod
    def _summer(year: int, dice: random.Random) -> tuple[date, date]:
        begin = date(year, 6, 24) + timedelta(dice.randrange(25))
        return begin, begin + timedelta(42)

    @staticmethod
    def _day(
        on: date, spell: str, shift: float, summer: tuple[date, date], dice: random.Random
    ) -> Day:
        turn = math.cos(2 * math.pi * (on.timetuple().tm_yday - 205) / 365)
        warmth = 11.0 + 8.5 * turn + shift + dice.gauss(0, 2.0)
        warmth += {"fair": 2.5, "mixed": 0.0, "westerlies": -1.0, "wet": -2.0}[spell] * (
            turn > -0.3
        )
        wind = dice.gammavariate(
            4, {"fair": 2.0, "mixed": 2.8, "westerlies": 4.8, "wet": 3.2}[spell]
        )
        wet = dice.random() < {"fair": 0.05, "mixed": 0.3, "westerlies": 0.4, "wet": 0.75}[spell]
        month, day = on.month, on.day
        shut = (
            summer[0] <= on <= summer[1]
            or (month == 4 and 3 <= day <= 17)
            or (month == 5 and 24 <= day <= 31)
            or (month == 10 and 12 <= day <= 25)
            or (month == 12 and day > 22)
        )
        return Day(on, warmth, wind, wet, shut)
