"""One engine on one boat, and a rule of one job on it, for what is worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta

from tests.oracle.rule_texts import toml

START = date(2031, 6, 1)
BOAT = "boat Otter lies in fresh from 2031-01-01\n"
PLOVER = BOAT + f"engine Plover on Otter since {START}, reading 0\n"
DONE = PLOVER + f"Plover impeller done at 0 on {START}\n"
TASK = {"name": "impeller", "component": "gearcase", "source": "invented"}


def day(after: int) -> date:
    """The day so many days after the start."""
    return START + timedelta(after)


def rules(*tasks: dict[str, object]) -> dict[str, str]:
    """A set of these tasks, each an impeller's unless it says otherwise."""
    return {"small-petrol": toml("small-petrol", "", [{**TASK, **task} for task in tasks])}
