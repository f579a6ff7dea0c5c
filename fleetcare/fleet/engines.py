"""Engines: names that stand for whatever components are bolted together under them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

# Half of 0.31 litres per horsepower and hour, the mean throttle of small boats: our design
# choice; 0.31 is 0.50 lb/(hp h) over 6.1 lb/gal (Boating magazine, "Calculating fuel
# consumption"; University of Alaska, Village Math).
LITRES_PER_HP_HOUR = Fraction(31, 200)
HP_WHEN_UNKNOWN = 10


@dataclass(frozen=True, slots=True)
class Engine:
    """An engine as it stood on `since`.

    `boat` is the boat it was mounted on then, or None for one in store; `reading` is the meter
    at the close of `since` in hundredths of an hour, None without a meter; `first_name` never
    changes and names its components and calendar events.
    """

    name: str
    since: date
    boat: str | None = None
    family: str = ""
    hp: Fraction | None = None
    stroke: int | None = None
    year: int | None = None
    meter: bool = True
    digits: int | None = None
    steering: str = ""
    litres_hour: Fraction | None = None
    rules: str = ""
    without: tuple[str, ...] = ()
    reading: int | None = None
    new: bool = False
    also: tuple[str, ...] = ()
    first: str = ""

    @property
    def first_name(self) -> str:
        """The name it was first known by."""
        return self.first or self.name

    @property
    def burn(self) -> Fraction:
        """Litres an hour: its own, else the default for its horsepower."""
        if self.litres_hour is not None:
            return self.litres_hour
        return LITRES_PER_HP_HOUR * (self.hp if self.hp is not None else HP_WHEN_UNKNOWN)
