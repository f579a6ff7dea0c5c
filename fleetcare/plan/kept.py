"""A plan as text that is kept, and back; what cannot be read is no plan."""

from __future__ import annotations

import json
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from fleetcare.plan.records import Late, Moved, Plan, PlannedJob, ServiceDay, Unplaced, Visit

FORM = 1


def as_text(plan: Plan) -> str:
    """The plan as JSON, keys in a fixed order."""
    return json.dumps({"form": FORM, **asdict(plan)}, default=_plain, ensure_ascii=False)


def from_text(text: str) -> Plan:
    """The plan that was kept.

    Raises ValueError when it is of another form.
    """
    data = json.loads(text)
    if data.pop("form", None) != FORM:
        raise ValueError("a kept plan of another form")
    try:
        return Plan(
            **{
                **data,
                "days": tuple(_day(day) for day in data["days"]),
                "unplaced": tuple(Unplaced(**row) for row in data["unplaced"]),
                "late": tuple(Late(**row) for row in data["late"]),
                "moved": tuple(Moved(**row) for row in data["moved"]),
            }
        )
    except (KeyError, TypeError) as error:
        raise ValueError(f"a kept plan without its {error}") from error


def _plain(value: object) -> str:
    if isinstance(value, Fraction):
        return str(value)
    raise TypeError(f"{value!r} is not kept")


def _day(row: dict[str, Any]) -> ServiceDay:
    return ServiceDay(**{**row, "visits": tuple(_visit(visit) for visit in row["visits"])})


def _visit(row: dict[str, Any]) -> Visit:
    jobs = tuple(PlannedJob(**{**job, "life_expected": _life(job)}) for job in row["jobs"])
    return Visit(**{**row, "access": tuple(row["access"]), "jobs": jobs})


def _life(job: dict[str, Any]) -> Fraction | None:
    return None if job["life_expected"] is None else Fraction(job["life_expected"])
