"""Rows of a due list for the tests of calendars, all of an invented day, 12 May 2031."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

from hypothesis import settings

from fleetcare.due.records import CLEAR, NO_RECORD, OVERDUE, Due
from fleetcare.rules.rule import Access, Limit, Part, Rule, RuleSet
from fleetcare.show.events import JOB, Event, events_of
from fleetcare.show.settling import Sent, settled

steady = settings(derandomize=True, database=None, deadline=None)
TODAY = date(2031, 5, 12)
NOW = datetime(2031, 5, 12, 7, 30, 15, tzinfo=UTC)
LATER = NOW + timedelta(hours=3)
FLEET = "a fleet"
IMPELLER = Rule(
    "impeller",
    "Renew the cooling-pump impeller",
    "gearcase",
    "a test",
    limits=(Limit(30000, 36), Limit(20000, 12), Limit(20000, 12)),
    leads_to=("overheating",),
    chain="Vanes crack and shed; the pieces lodge in the water tube.",
    access=("leg off", "pump open"),
    minutes=25,
    who="trained",
    parts=(Part("impeller kit"),),
    cautions=("Turn the shaft one way only.",),
)
PLUGS = Rule(
    "plugs",
    "Renew the spark plugs",
    "powerhead",
    "a test",
    limits=(Limit(10000),) * 3,
    one_for_all=True,
    leads_to=("an engine that won't start",),
)
SET = RuleSet(
    "test",
    "Test",
    "a test",
    {"impeller": IMPELLER, "plugs": PLUGS},
    {
        "leg off": Access("leg off", 25, cautions=("Hold the leg before the last bolt is out.",)),
        "pump open": Access(
            "pump open", 10, ("leg off", "gear lever"), (Part("gasket", 2),), ("Mind the plate.",)
        ),
        "gear lever": Access("gear lever", 5, cautions=("Neutral first.",)),
        "cowl off": Access("cowl off", 2, cautions=("Not of this job.",)),
    },
)


def day(on: date | None) -> int | None:
    return None if on is None else on.toordinal()


def row(
    status: str = CLEAR,
    on: date | None = date(2031, 6, 20),
    rule: Rule = IMPELLER,
    engine: str = "Plover",
    **changes: Any,
) -> Due:
    """A row of the due list for 12 May 2031."""
    known = status != NO_RECORD
    usual = Due(
        engine=engine,
        first_name=engine,
        boat="Tern",
        rule=rule,
        status=status,
        governed_by="hours" if known else None,
        life_used=Fraction(7, 10) if known else None,
        life_floor=None if known else Fraction(1, 4),
        hours_since=14000,
        hours_left=6000 if known else None,
        likely_hours=0,
        days_since=200,
        water=2,
        due_early=day(on),
        due_on=day(on),
        due_late=day(on),
        overdue_since=None,
        last_done_on=TODAY.toordinal() - 200 if known else None,
        last_done_hours=12040 if known else None,
        raised_by_likely_hours=False,
        put_off_until=None,
        put_off_times=0,
        because=None,
        laid_up=False,
        opened="",
        clock_start=TODAY.toordinal() - 200,
    )
    return replace(usual, **changes)


def event(status: str = CLEAR, on: date | None = date(2031, 6, 20), **changes: Any) -> Event:
    """The one event of a row's job."""
    made = events_of([row(status, on, **changes)], FLEET, TODAY)
    (only,) = [one for one in made if one.kind == JOB]
    return only


def overdue(since: date, **changes: Any) -> Event:
    return event(OVERDUE, since - timedelta(days=1), overdue_since=day(since), **changes)


def sent_of(one: Event) -> dict[str, Sent]:
    return settled([one], {}, TODAY, NOW)[1]
