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
LANGUAGES = ("en", "de")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_ADDRESS = re.compile(r"https?://[^\s/?#]+(/[^\s?#]*)?")
_ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+-]*(/[A-Za-z0-9_+-]+)*")
_WHOLE = re.compile(r"\d{1,5}", re.ASCII)
_AMOUNT = re.compile(r"(?!0+(\.0+)?$)\d{1,6}(\.\d{1,2})?", re.ASCII)
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
    language: str = "en"
    money: str = ""
    hourly_rate: str = "45"
    boat_day_cost: str = "120"
    open_days: str = "mon tue wed thu fri"
    workshop_minutes: str = "360"
    boats_out: str = "2"
    lead_days: str = "14"
    weight_precursor: str = "20"
    weight_late: str = "4"
    weight_unplaced: str = "600"


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
    "language": "the language of pages, sheets and labels: en or de",
    "money": "the sign or code of your money, shown behind sums",
    "hourly_rate": "what a workshop hour costs (45 is our judgement)",
    "boat_day_cost": "what a boat out of use for a day costs (120 is our judgement)",
    "open_days": "the weekdays the workshop is open, such as mon tue wed thu fri",
    "workshop_minutes": "workshop minutes of an open day; places apart as in 360; Quay=240",
    "boats_out": "how many boats may be in on one day at most; places apart as in 2; Quay=1",
    "lead_days": "days from ordering a part to having it",
    "weight_precursor": "how a plan weighs life run over that leads to overheating or a "
    "seized swivel",
    "weight_late": "how a plan weighs other life run over",
    "weight_unplaced": "what a plan adds for a job left without a day, in workshop minutes",
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


def numbers_by_place(text: str) -> tuple[int, dict[str, int]] | None:
    """A whole number, and others for places named apart: out of 360; Quay=240; or None."""
    first, *others = (piece.strip() for piece in text.split(";"))
    if not _WHOLE.fullmatch(first):
        return None
    apart: dict[str, int] = {}
    for piece in others:
        place, sign, number = (word.strip() for word in piece.partition("="))
        if not sign or not place or place in apart or not _WHOLE.fullmatch(number):
            return None
        apart[place] = int(number)
    return int(first), apart


def weekdays_of(text: str) -> frozenset[int] | None:
    """Days of the week, Monday 0, out of words such as mon tue; or None."""
    words = text.casefold().replace(",", " ").split()
    if not set(words) <= set(WEEKDAYS):
        return None
    return frozenset(WEEKDAYS.index(word) for word in words)


def _weekdays(text: str) -> str | None:
    return None if weekdays_of(text) else 'takes weekdays, such as "mon tue wed thu fri"'


def _by_place(text: str) -> str | None:
    return None if numbers_by_place(text) else 'takes a whole number, such as "360; Quay=240"'


def _whole(text: str) -> str | None:
    return None if _WHOLE.fullmatch(text) else "takes a whole number"


def _amount(text: str) -> str | None:
    return None if _AMOUNT.fullmatch(text) else 'takes a number above 0, such as "45" or "45.50"'


def _money(text: str) -> str | None:
    return None if len(text) <= 4 else "takes at most four letters"


_CHECKS: Mapping[str, Callable[[str], str | None]] = {
    "language": _one_of(*LANGUAGES),
    "money": _money,
    "hourly_rate": _amount,
    "boat_day_cost": _amount,
    "open_days": _weekdays,
    "workshop_minutes": _by_place,
    "boats_out": _by_place,
    "lead_days": _whole,
    "weight_precursor": _whole,
    "weight_late": _whole,
    "weight_unplaced": _whole,
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
