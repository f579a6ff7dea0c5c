"""fleetcare plan --why: why a visit stands on its day."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from fleetcare.cli.plan_look import Ground, Planned


def tell_why(found: Planned, asked: str, form: str, width: int) -> None:
    """Print why the visits of a day, an engine or a boat stand where they stand."""
    from fleetcare.cli.looking import printed
    from fleetcare.plan.elsewhere import visits_asked, why_visit
    from fleetcare.show.plan_why import HEAD, why_rows, why_text

    made, answer = found.made, found.solution.answer
    calendar = made.calendar
    first = date.fromordinal(calendar.first)
    day, engines = asked_of(found.ground, first, calendar.days - 1, asked)
    at = None if day is None else day - made.calendar.first
    visits = [
        why_visit(made, answer, engine, on)
        for engine, on in visits_asked(made, answer, at, engines)
    ]
    if form == "table" and not visits:
        click.echo(_nothing(found, day, asked))
        return
    printed(
        form, lambda: why_rows(made, visits), date.fromordinal(made.calendar.first), HEAD,
        lambda: why_text(made, visits, width),
    )  # fmt: skip


def asked_of(
    seen: Ground, first: date, horizon: int, text: str
) -> tuple[int | None, tuple[str, ...]]:
    """The day (an ordinal), or the engines, that a text means; refused when it means neither."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.days import day

    on = day(text, "--why", first)
    if isinstance(on, Fault):
        return None, _engines(seen, text)
    if not 0 <= (on - first).days <= horizon:
        raise RefusedError(f"--why: {on} is none of the days planned; --horizon DAYS looks further")
    return on.toordinal(), ()


def _engines(seen: Ground, text: str) -> tuple[str, ...]:
    fleet = seen.fleet
    if fleet.has_boat(text) and not fleet.has_engine(text):
        boat = fleet.boat(text).name
        return tuple(dict.fromkeys(row.engine for row in seen.rows if row.boat == boat)) or (boat,)
    return (fleet.engine(text).name,)


def _nothing(found: Planned, day: int | None, asked: str) -> str:
    """What there is to say of a day or an engine without a visit."""
    from fleetcare.show.plan import weekday

    made = found.made
    if day is None:
        left = [item for item in found.plan.unplaced if item.engine == asked]
        if left:
            return "\n".join(f"{item.task} has no day: {item.reason}" for item in left)
        return f"{asked}: nothing of it comes due within these days."
    at = day - made.calendar.first
    name = weekday(day, made.calendar.first)
    if not any(place.minutes[at] for place in made.problem.places):
        return f"{name}: the workshop is closed."
    return f"{name}: open, and nothing is planned."
