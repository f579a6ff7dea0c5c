"""Lead times, what is on order and items, out of what was typed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fleetcare.fleet.settings import Settings
    from fleetcare.plan.items import Items
    from fleetcare.plan.short import Receipt
    from fleetcare.plan.terms import Terms

MOST_DAYS = 730


def terms_of(
    settings: Settings, items: Items, leads: Iterable[str], margin: int, open_days: str | None
) -> Terms:
    """The lead times: the fleet's setting, items apart as ITEM=DAYS, the supplier's weekdays."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.figures import count
    from fleetcare.fleet.settings import weekdays_of
    from fleetcare.plan.terms import EVERY_DAY, Terms

    apart: dict[str, int] = {}
    for text in leads:
        name, days = _pair(text, "--lead", "ITEM=DAYS")
        item, number = known_item(items, name), count(days, f"--lead {name}")
        if isinstance(number, Fault) or number > MOST_DAYS:
            raise RefusedError(f'--lead {name}: takes whole days up to {MOST_DAYS}, not "{days}"')
        apart[item] = number
    weekdays = EVERY_DAY if open_days is None else weekdays_of(open_days)
    if not weekdays:
        raise RefusedError(
            f'--supplier-days takes weekdays, such as "mon tue wed thu fri", not "{open_days}"'
        )
    return Terms(int(settings.lead_days), apart, margin, weekdays)


def receipts_of(items: Items, arrivals: Iterable[str], as_of: date) -> list[Receipt]:
    """What is on order, out of ITEM=DATE or ITEM=DATE:COUNT; a kit is what it holds."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.days import day
    from fleetcare.fleet.figures import count
    from fleetcare.plan.short import Receipt

    found = []
    for text in arrivals:
        name, rest = _pair(text, "--arrives", "ITEM=DATE:COUNT")
        when, colon, many = rest.partition(":")
        item, on = known_item(items, name), day(when, f"--arrives {name}")
        number = count(many, f"--arrives {name}: count") if colon else 1
        for fault in (on, number):
            if isinstance(fault, Fault):
                raise RefusedError(str(fault))
        assert isinstance(on, date) and isinstance(number, int)
        if on < as_of:
            raise RefusedError(
                f"--arrives {name}: {on} has passed; once it is there: "
                f'fleetcare parts delivered "{item}" {number}'
            )
        kit = items.kits.get(item)
        holds = [(item, 1)] if kit is None else [(one.item, one.count) for one in kit.holds]
        found += [
            Receipt(items.name(one), on.toordinal(), number * each) for one, each in holds
        ]  # fmt: skip
    return found


def _pair(text: str, option: str, shape: str) -> tuple[str, str]:
    """What stands before and after the last sign of equality."""
    from fleetcare.errors import RefusedError

    name, sign, rest = text.rpartition("=")
    if not sign or not name.strip() or not rest.strip():
        raise RefusedError(f'{option} "{text:.60}": write {option} "{shape}"')
    return name.strip(), rest.strip()


def known_item(items: Items, typed: str) -> str:
    """The item as it is written, refused with the nearest when nothing names it."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean, tidy

    if items.knows(typed):
        return items.name(typed)
    hint = did_you_mean(typed, items.by_fold.values()) or "fleetcare parts shelf --all lists them."
    raise RefusedError(f'no job uses "{tidy(typed):.60}", nor is it on the shelf. {hint}')


def item_or_new(items: Items, typed: str, new: bool) -> str:
    """The item as it is written; one that nothing names yet only when it is said to be new."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import tidy, wrong_with

    if items.knows(typed):
        return items.name(typed)
    wrong = wrong_with(typed)
    if wrong:
        raise RefusedError(f'item "{typed!r:.60}" {wrong}; choose another name')
    if new:
        return tidy(typed)
    try:
        return known_item(items, typed)
    except RefusedError as error:
        raise RefusedError(f"{error} Is it new? --new takes it") from error
