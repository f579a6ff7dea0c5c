"""The fleet's settings: their names, meanings, defaults and how a text becomes a value."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.names import did_you_mean, has_controls

HEMISPHERES = ("northern", "southern", "tropics")
FUEL_UNITS = ("litres", "US gallons")
_ADDRESS = re.compile(r"https?://[^\s/?#]+(/[^\s?#]*)?")
_ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+-]*(/[A-Za-z0-9_+-]+)*")
_MONTH_DAY = re.compile(r"(\d\d)-(\d\d)")
_DAYS_IN = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, slots=True)
class Settings:
    """What holds for the whole fleet; every one has a default."""

    rules: str = "small-petrol"
    rules_folder: str = ""
    hemisphere: str = "northern"
    season: str = ""
    fuel_unit: str = "litres"
    by: str = ""
    calendar_name: str = ""
    timezone: str = ""
    publish_folder: str = ""
    feed_address: str = ""


MEANINGS: Mapping[str, str] = {
    "rules": "the rule set of engines that name none",
    "rules_folder": "where your own rule sets lie (default: intervals/ beside the fleet file)",
    "hemisphere": "northern, southern or tropics: when the season begins and ends",
    "season": "first and last day of your season as MM-DD/MM-DD; overrides every use's own",
    "fuel_unit": "litres or US gallons: what fuel is entered in",
    "by": "the role entries are signed with when --by is not given",
    "calendar_name": "the name calendars show for the feed",
    "timezone": "where bookings' times are read, such as Europe/Oslo (default: this machine's)",
    "publish_folder": "the folder feed publish writes subscribers' files into",
    "feed_address": "where that folder is found on the web, such as https://boats.example/f/",
}


def month_day(text: str) -> tuple[int, int] | None:
    """Month and day out of MM-DD, or None; 29 February is not a day of every year."""
    match = _MONTH_DAY.fullmatch(text.strip())
    if not match:
        return None
    month, day = int(match[1]), int(match[2])
    if not 1 <= month <= 12 or not 1 <= day <= _DAYS_IN[month - 1]:
        return None
    return month, day


def season_of(text: str) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """First and last day out of MM-DD/MM-DD, or None."""
    first, slash, last = text.partition("/")
    begin, end = month_day(first), month_day(last)
    return (begin, end) if slash and begin and end else None


def _one_of(*words: str) -> Callable[[str], str | None]:
    return lambda text: None if text in words else f"takes {', '.join(words[:-1])} or {words[-1]}"


def _season(text: str) -> str | None:
    if not text or season_of(text):
        return None
    return 'takes the first and last day as MM-DD/MM-DD, such as "04-04/10-11"'


def _address(text: str) -> str | None:
    if not text or _ADDRESS.fullmatch(text):
        return None
    return 'takes the beginning of an address, such as "https://boats.example/f/"'


def _zone(text: str) -> str | None:
    if not text or _ZONE.fullmatch(text):
        return None
    return 'takes the name of a time zone, such as "Europe/Oslo"'


_CHECKS: Mapping[str, Callable[[str], str | None]] = {
    "hemisphere": _one_of(*HEMISPHERES),
    "fuel_unit": _one_of(*FUEL_UNITS),
    "season": _season,
    "timezone": _zone,
    "feed_address": _address,
}


def changed(settings: Settings, name: str, text: str) -> Settings | Fault:
    """The settings with one of them set from text, or what is wrong with it."""
    known = [field.name for field in fields(Settings)]
    if name not in known:
        return Fault(f'setting "{name}"', "is not a setting", did_you_mean(name, known))
    if has_controls(text):
        return Fault(f'setting "{name}"', "holds a control character")
    wrong = _CHECKS[name](text) if name in _CHECKS else None
    if wrong:
        return Fault(f'setting "{name}"', f'{wrong}, not "{text}"')
    values: dict[str, Any] = {name: text}
    return replace(settings, **values)


def as_pairs(settings: Settings) -> list[tuple[str, str]]:
    """Every setting with its value, in a fixed order."""
    return [(field.name, str(getattr(settings, field.name))) for field in fields(Settings)]
