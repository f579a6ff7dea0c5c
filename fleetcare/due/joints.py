"""Joints that may not come apart: not known to have been opened, or new, for a long time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from dateutil.relativedelta import relativedelta

from fleetcare.rules.bench import access_steps
from fleetcare.rules.rule import RuleSet
from fleetcare.usage.components import Carriage

OPENED_WITHIN = 24  # months: our design choice
JOINTS = ("leg off", "propeller off")
STUCK_MINUTES = 180  # a joint long unopened may take so much more: common practice, no source


def months_before(day: date, months: int) -> int:
    """The day, as an ordinal, so many calendar months earlier."""
    return int((day - relativedelta(months=months)).toordinal())


def stuck_joints(
    carriage: Carriage, ruleset: RuleSet, engines: Sequence[str]
) -> dict[tuple[str, str], bool]:  # fmt: skip
    """Which joints of which engines are not known to have been opened, or new, of late.

    A joint is known to have been opened by the jobs that needed it.
    """
    since = months_before(date.fromordinal(carriage.as_of), OPENED_WITHIN)
    openers = {
        joint: [task for task in ruleset.rules if joint in access_steps(ruleset, (task,))]
        for joint in JOINTS
    }
    stuck = {}
    for engine in engines:
        known, log = carriage.known[engine], carriage.history.of(engine)
        is_new = known.new and known.since.toordinal() >= since
        for joint in JOINTS:
            opened = any(
                mark.day >= since for task in openers[joint] for mark in log.jobs.get(task, ())
            )
            swapped = joint == "leg off" and any(
                swap.component == "gearcase"
                and engine in (swap.engine, swap.other)
                and swap.day >= since
                for swap in carriage.history.swaps
            )
            stuck[engine, joint] = not (opened or swapped or is_new)
    return stuck
