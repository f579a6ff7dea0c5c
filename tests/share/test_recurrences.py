"""Bookings that repeat: every example of RFC 5545, and random rules against another reader."""

from __future__ import annotations

import json
from calendar import monthrange
from datetime import date, datetime, timedelta
from itertools import islice, takewhile
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import rrulestr
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.share.recurrence import RuleError, straight
from tests.share.small_calendars import boats, calendar, event, read

RFC: dict[str, Any] = json.loads(
    (Path(__file__).parent / "rfc5545_recurrences.json").read_text(encoding="utf-8")
)
ZONE = ZoneInfo(RFC["zone"])
STEP = timedelta(days=1000)  # as many days as are asked for at once


def booked(lines: list[str], first: date, last: date) -> list[date]:
    """The booked days over any number of years, a piece at a time."""
    found: set[int] = set()
    while first <= last:
        end = min(first + STEP, last)
        said = read(calendar(*lines), first, end, ZONE, boats("Lark"))
        assert all("takes no day" in item.why for item in said.misread), said.misread
        found |= said.of("Lark").booked
        first = end + timedelta(days=1)
    return [date.fromordinal(day) for day in sorted(found)]


def test_every_example_of_the_rfc_is_there() -> None:
    assert len(RFC["examples"]) == 42
    assert sum("remark" in example for example in RFC["examples"]) == 1


@pytest.mark.parametrize("example", RFC["examples"], ids=lambda item: item["rule"])
def test_the_examples_of_the_rfc_book_the_days_it_prints(example: dict[str, Any]) -> None:
    wanted = [date.fromisoformat(day) for day in example["days"]]
    at = f";TZID={RFC['zone']}:"
    lines = [f"DTSTART{at}{example['begins']}", "DURATION:PT5M", f"RRULE:{example['rule']}"]
    if "left_out" in example:
        lines.append(f"EXDATE{at}{example['left_out']}")
    begin = datetime.strptime(example["begins"], "%Y%m%dT%H%M%S").date()
    more = timedelta(days=400 if example["ends"] else 0)
    assert booked(event(*lines), begin, wanted[-1] + more) == wanted


@pytest.mark.parametrize("example", RFC["examples"], ids=lambda item: item["rule"])
def test_the_examples_of_the_rfc_keep_their_times_of_day(example: dict[str, Any]) -> None:
    begin = datetime.strptime(example["begins"], "%Y%m%dT%H%M%S").replace(tzinfo=ZONE)
    last = date.fromisoformat(example["days"][-1])
    rule = straight(example["rule"], begin, last, ZONE)
    wanted = [f"{day}T{at}" for day in example["days"] for at in example["times"]]
    hits = takewhile(lambda hit: hit.date() <= last, rrulestr(rule.text, dtstart=begin))
    times = [f"{hit:%Y-%m-%dT%H:%M}" for hit in hits]
    assert times == wanted


numbers = st.integers


def listed(least: int, most: int, from_end: bool = False) -> st.SearchStrategy[str]:
    one = numbers(least, most)
    if from_end:
        one = one | one.map(lambda value: -value)
    return st.lists(one, min_size=1, max_size=4, unique=True).map(
        lambda values: ",".join(map(str, values))
    )


WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@st.composite
def rules(draw: st.DrawFn) -> str:
    """Any rule that RFC 5545 allows, in days and longer."""
    freq = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]))
    parts = {"FREQ": freq}
    if draw(st.booleans()):
        parts["INTERVAL"] = str(draw(numbers(1, 6)))
    if draw(st.booleans()):
        parts["BYMONTH"] = draw(listed(1, 12))
    if freq != "WEEKLY" and draw(st.booleans()):
        parts["BYMONTHDAY"] = draw(listed(1, 31, from_end=True))
    if draw(st.booleans()):
        days = draw(st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=3, unique=True))
        nth = draw(st.sampled_from(["", "1", "-1", "2"]))
        plain = freq in ("DAILY", "WEEKLY")
        parts["BYDAY"] = ",".join(days if plain else [nth + day for day in days])
    if freq == "YEARLY" and draw(st.booleans()):
        parts["BYYEARDAY"] = draw(listed(1, 366, from_end=True))
    ends = draw(st.sampled_from(["", "COUNT", "UNTIL"]))
    if ends == "COUNT":
        parts["COUNT"] = str(draw(numbers(1, 40)))
    if ends == "UNTIL":
        parts["UNTIL"] = f"{draw(st.dates(date(2024, 1, 1), date(2027, 12, 31))):%Y%m%d}"
    if draw(st.booleans()):
        parts["WKST"] = draw(st.sampled_from(WEEKDAYS))
    return ";".join(f"{name}={value}" for name, value in parts.items())


def from_end(day: date) -> str:
    """The day of the month counted from its end."""
    return str(day.day - 1 - monthrange(day.year, day.month)[1])


def comes(rule: str, start: date) -> bool:
    """Whether a rule has a day in forty years; daily ones are looked at day by day."""
    parts = dict(part.split("=") for part in rule.split(";"))
    if parts["FREQ"] != "DAILY":
        reader = rrulestr(rule, dtstart=datetime.combine(start, datetime.min.time()))
        return any(islice(takewhile(lambda hit: hit.year < start.year + 40, reader), 1))
    days = (start + timedelta(days=at) for at in range(0, 14_600, int(parts.get("INTERVAL", 1))))
    months = parts.get("BYMONTH", "").split(",")
    weekdays = parts.get("BYDAY", ",".join(WEEKDAYS)).split(",")
    numbered = parts.get("BYMONTHDAY", "").split(",")
    return any(
        (months == [""] or str(day.month) in months)
        and WEEKDAYS[day.weekday()] in weekdays
        and (numbered == [""] or not {str(day.day), from_end(day)}.isdisjoint(numbered))
        for day in days
    )


@settings(max_examples=60)
@given(rules(), st.dates(date(2024, 1, 1), date(2026, 12, 31)), st.dates(date(2025, 1, 1)))
def test_any_rule_books_the_days_that_dateutil_finds(rule: str, start: date, first: date) -> None:
    first = min(first, date(2028, 1, 1))
    last = first + timedelta(days=200)
    begin = datetime.combine(start, datetime.min.time())
    reader = rrulestr(rule, dtstart=begin)
    # a rule of days that never come would be sought until the year 9999
    try:
        straight(rule, start, last, ZONE)
    except RuleError as error:
        assert "never comes" in str(error)
        assert not comes(rule, start)
        return
    hits = {hit.date() for hit in takewhile(lambda hit: hit.date() <= last, reader)}
    ends = rule.partition("UNTIL=")[2][:8]
    if not ends or start <= datetime.strptime(ends, "%Y%m%d").date():
        hits.add(start)  # 3.8.5.3: the first day counts, whether the rule names it or not
    wanted = sorted(day for day in hits if first <= day <= last)
    lines = event(f"DTSTART;VALUE=DATE:{start:%Y%m%d}", f"RRULE:{rule}")
    assert booked(lines, first, last) == wanted


@pytest.mark.parametrize(
    "rule",
    [
        "", "FREQ", "FREQ=", "FREQ=DAILY;FREQ=DAILY", "FREQ=FORTNIGHTLY", "COUNT=3",
        "FREQ=DAILY;COUNT=0", "FREQ=DAILY;COUNT=-1", "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=x", "FREQ=DAILY;BYHOUR=24", "FREQ=DAILY;BYMONTH=13",
        "FREQ=DAILY;BYMONTH=-1", "FREQ=MONTHLY;BYMONTHDAY=32", "FREQ=MONTHLY;BYMONTHDAY=0",
        "FREQ=WEEKLY;BYDAY=1MO", "FREQ=WEEKLY;BYDAY=XX", "FREQ=WEEKLY;BYMONTHDAY=3",
        "FREQ=MONTHLY;BYYEARDAY=3", "FREQ=MONTHLY;BYWEEKNO=3", "FREQ=DAILY;BYSETPOS=1",
        "FREQ=YEARLY;BYWEEKNO=54", "FREQ=DAILY;UNTIL=20260230", "FREQ=DAILY;UNTIL=2026",
        "FREQ=DAILY;WKST=XX", "RSCALE=HEBREW;FREQ=DAILY", "FREQ=DAILY;BYEASTER=1",
        "FREQ=HOURLY;INTERVAL=2;BYHOUR=10", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=MONTHLY;BYDAY=6MO", "FREQ=WEEKLY;BYDAY=MO;BYSETPOS=2",
    ],
)  # fmt: skip
def test_a_rule_that_the_rfc_does_not_allow_or_that_never_comes_is_refused(rule: str) -> None:
    # 3.3.10: the ranges of the parts, and the table of what goes with which frequency
    with pytest.raises(RuleError):
        straight(rule, datetime(2026, 6, 1, 9), date(2026, 6, 30), ZONE)
