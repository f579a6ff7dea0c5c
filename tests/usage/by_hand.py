"""One engine told in lines, and its hours and waters by day, for cases worked by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import EngineUse
from tests.built import fleet_of
from tests.oracle.cases import tables

OTTER = "boat Otter lies in fresh from 2031-01-01\n"
METERED = OTTER + "engine Plover on Otter since 2031-05-01, reading 100, burns 1\n"
WITHOUT = OTTER + "engine Plover on Otter since 2031-05-01, no meter, burns 1\n"


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def use(text: str, as_of: str = "2031-06-30") -> EngineUse:
    fleet, entries = fleet_of(tables(text))
    as_of_day = date.fromisoformat(as_of)
    return Carriage(fleet, history(entries, as_of_day), as_of_day.toordinal()).uses["Plover"]


def mix(found: EngineUse, on: str, known: str = "2031-06-30") -> tuple[F, ...]:
    """Hours in fresh, brackish and salt, and then likely ones."""
    return tuple(F(value) / 100 for value in found.mix_to(day(on), day(known)))


def hours(found: EngineUse, on: str, known: str = "2031-06-30") -> F:
    return F(found.hours_to(day(on), day(known))) / 100
