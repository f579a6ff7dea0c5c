"""Which engines and which jobs a sheet is of: what was named, what is planned, what is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.due.records import Due
    from fleetcare.plan.records import Plan
    from fleetcare.show.sheet import Asked, Sheet

NAMED = 6  # planned days named in a refusal, at most


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for on the line."""

    engines: tuple[str, ...]
    on: date | None
    due: bool
    boat: str | None
    place: str | None
    within: int | None
    tasks: tuple[str, ...]


def is_planned(wanted: Wanted) -> bool:
    """Whether the sheet is of a day of the plan."""
    return wanted.on is not None or not (wanted.engines or wanted.due)


def refuse_mixtures(wanted: Wanted) -> None:
    """Refuse words on the line that ask for two things."""
    from fleetcare.errors import RefusedError

    if wanted.due and (wanted.on or wanted.engines):
        raise RefusedError("--due is of every engine and of today: give it without ENGINE and --on")
    if wanted.tasks and (not wanted.engines or wanted.on):
        raise RefusedError("--task: on which engine? fleetcare sheet ENGINE --task TASK")
    if wanted.tasks and wanted.within is not None:
        raise RefusedError("--task names the jobs; --within would choose others")
    if is_planned(wanted) and wanted.within is not None:
        raise RefusedError("--within goes with ENGINE or --due; a planned day has its own jobs")


def asked_of(
    seen: View, wanted: Wanted, plan: Plan | None, as_of: date
) -> tuple[date, list[Asked]]:
    """The day of the sheet, and engine by engine the jobs that were asked for."""
    on = as_of
    if is_planned(wanted):
        day, asked = _planned(seen, wanted, plan, as_of)
        on = date.fromordinal(day)
    elif wanted.tasks:
        asked = _named_jobs(seen, wanted)
    else:
        asked = _due_jobs(seen, wanted, as_of)
    return on, _of_place(seen, asked, wanted)


def _planned(seen: View, wanted: Wanted, plan: Plan | None, as_of: date) -> tuple[int, list[Asked]]:
    """A day of the kept plan, the next one when none is named, and its visits."""
    from fleetcare.errors import RefusedError
    from fleetcare.show.sheet import Asked

    if plan is None:
        raise RefusedError(
            "no plan is kept. Name engines, or --due; fleetcare plan --fix keeps a plan"
        )
    days = sorted({day.on for day in plan.days})
    coming = [day for day in days if day >= as_of.toordinal()]
    on = wanted.on.toordinal() if wanted.on is not None else coming[0] if coming else None
    if on not in days:
        told = ", ".join(date.fromordinal(day).isoformat() for day in coming[:NAMED])
        told = f"coming ones: {told}" if told else "it has none to come; fleetcare plan --fix"
        what = f"{wanted.on} is no service day" if wanted.on else "there is no service day left"
        raise RefusedError(f"{what} of the plan that is kept ({told})")
    assert on is not None
    names = {seen.fleet.engine(engine).name for engine in wanted.engines}
    asked = [
        Asked(visit.engine, visit.tasks, plan.first)
        for day in plan.days
        if day.on == on
        for visit in day.visits
        if not names or _name(seen, visit.engine) in names
    ]
    if names and not asked:
        raise RefusedError(
            f"{', '.join(sorted(names))}: not planned on {date.fromordinal(on)}. What is due of it "
            f"now: fleetcare sheet ENGINE"
        )
    return on, asked


def _name(seen: View, engine: str) -> str:
    """The name an engine has now."""
    return seen.fleet.engine(engine).name if seen.fleet.has_engine(engine) else engine


def _named_jobs(seen: View, wanted: Wanted) -> list[Asked]:
    from fleetcare.cli.naming import typed_task
    from fleetcare.show.sheet import Asked

    names = dict.fromkeys(seen.fleet.engine(engine).name for engine in wanted.engines)
    return [
        Asked(
            name,
            tuple(
                dict.fromkeys(
                    typed_task(seen.fleet, seen.book, name, task) for task in wanted.tasks
                )
            ),
        )
        for name in names
    ]


def _due_jobs(seen: View, wanted: Wanted, as_of: date) -> list[Asked]:
    """What is due or wanted of the engines named, or of all by place and boat."""
    from fleetcare.fleet.names import natural
    from fleetcare.show.sheet import Asked

    jobs: dict[str, list[str]] = {}
    boats: dict[str, str] = {}
    for row in seen.rows:
        if _is_wanted(row, wanted.within, as_of):
            jobs.setdefault(row.engine, []).append(row.task)
            boats[row.engine] = row.boat or ""
    if wanted.engines:
        named = dict.fromkeys(seen.fleet.engine(engine).name for engine in wanted.engines)
        return [Asked(name, tuple(jobs[name])) for name in named if name in jobs]

    def place(name: str) -> tuple[object, ...]:
        boat = boats[name]
        where = seen.fleet.boats[boat].place if boat else ""
        return not boat, natural(where), natural(boat), natural(name)

    return [Asked(name, tuple(jobs[name])) for name in sorted(jobs, key=place)]


def _is_wanted(row: Due, within: int | None, as_of: date) -> bool:
    """Whether a row is due; what was put off waits, unless it leads to the worst."""
    if row.put_off_until is not None and not row.is_precursor:
        return False
    if row.status != "clear":
        return True
    last = as_of.toordinal() + (within or 0)
    return within is not None and row.due_on is not None and row.due_on <= last


def _of_place(seen: View, asked: Sequence[Asked], wanted: Wanted) -> list[Asked]:
    """Only those of the boat or the place asked for."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import folded

    if wanted.boat is None and wanted.place is None:
        return list(asked)
    boats = {row.engine: row.boat for row in seen.rows}
    kept = list(asked)
    if wanted.boat is not None:
        boat = seen.fleet.boat(wanted.boat).name
        kept = [item for item in kept if boats.get(item.engine) == boat]
    if wanted.place is not None:
        places = {name: boat.place for name, boat in seen.fleet.boats.items() if boat.place}
        place = {folded(place): place for place in places.values()}.get(folded(wanted.place))
        if place is None:
            known = ", ".join(sorted(set(places.values()))) or "none"
            raise RefusedError(f'no boat has the place "{wanted.place}"; there are: {known}')
        kept = [item for item in kept if places.get(boats.get(item.engine) or "") == place]
    return kept


def nothing_there(made: Sheet, wanted: Wanted) -> Exception:
    """The refusal of a sheet that would be empty: why, and what to ask for instead."""
    from fleetcare.errors import RefusedError
    from fleetcare.show.sheet_view import sheet_view

    if made.left_out:
        told = "; ".join(sheet_view(made).left_out)
        return RefusedError(f"nothing is left to do on {made.on}: {told}")
    if wanted.engines:
        return RefusedError(
            f"nothing is due of {', '.join(wanted.engines)}. What comes soon: --within DAYS; a job "
            f"of your choice: --task TASK"
        )
    return RefusedError("nothing to do there. fleetcare due --all shows every job")
