"""Service days on calendars: one event a day for the workshop, one a visit for whom it concerns.

The day's event says which boats come in; a boat's or an engine's own says what is done to it. Its
UID follows from the fleet and the day, a visit's from the engine's first name too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date

from fleetcare.fleet.fleet import Fleet
from fleetcare.plan.records import Plan, ServiceDay, Visit
from fleetcare.rules.bench import access_steps, parts_of_visit
from fleetcare.rules.rule import PRECURSOR_HARMS, RuleSet
from fleetcare.show.event_words import BEFORE_ALL, counted, plain
from fleetcare.show.events import SERVICE_DAY, About, Event, digest, event_uid, midnight

NAMED = 3  # boats named in a title, at most


def service_day_events(
    plan: Plan, fleet: Fleet, rules: Mapping[str, RuleSet], uses: Mapping[str, str], as_of: date
) -> tuple[Event, ...]:
    """The events of a plan's days and visits; `rules` and `uses` are by the engine's name."""
    found: list[Event] = []
    for day in plan.days:
        found.append(_of_day(day, fleet, rules, as_of))
        found += [_of_visit(day, visit, fleet, rules, uses, as_of) for visit in day.visits]
    return tuple(found)


def _of_day(day: ServiceDay, fleet: Fleet, rules: Mapping[str, RuleSet], as_of: date) -> Event:
    on = date.fromordinal(day.on)
    names = list(dict.fromkeys(visit.boat or visit.engine for visit in day.visits))
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    place = f" at {day.place}" if day.place else ""
    lines = [f"{day.minutes} of {day.capacity} min planned{place}."]
    lines += [f"{_where(visit)}: {_jobs(visit)}. {visit.minutes} min." for visit in day.visits]
    parts: Counter[str] = Counter()
    for visit in day.visits:
        parts += _parts(visit, rules)
    uid = event_uid(fleet.id, SERVICE_DAY, on.isoformat(), *([day.place] if day.place else []))
    lines += [*_part_lines(parts), f"Its sheet: fleetcare sheet --on {on.isoformat()}", BEFORE_ALL]
    title = f"Service day{place}: {', '.join(names[:NAMED])}{more}"
    return _event(uid, on, title, lines, as_of, None, About())


def _of_visit(
    day: ServiceDay, visit: Visit, fleet: Fleet, rules: Mapping[str, RuleSet],
    uses: Mapping[str, str], as_of: date,
) -> Event:  # fmt: skip
    on = date.fromordinal(day.on)
    first_name = fleet.engines[visit.engine].first_name
    place = f" at {day.place}" if day.place else ""
    lines = [f"{_where(visit)}, is wanted for the day{place}: {visit.minutes} min of work."]
    late = [job.task for job in visit.jobs if job.late]
    lines.append(f"To do: {_jobs(visit)}.")
    if late:
        lines.append(f"Late by then: {', '.join(late)}.")
    lines += [*_leads_to(visit, rules), *_part_lines(_parts(visit, rules))]
    if visit.access:
        lines.append(f"To open, in this order: {', '.join(visit.access)}.")
    lines += [*_cautions(visit, rules), BEFORE_ALL]
    lines.append(f"Its sheet: fleetcare sheet --on {on.isoformat()}")
    uid = event_uid(fleet.id, SERVICE_DAY, on.isoformat(), first_name)
    title = f"Service day: {visit.boat or visit.engine}, {counted(len(visit.jobs), 'job')}"
    about = About(first_name, visit.boat, uses.get(visit.engine, ""))
    return _event(uid, on, title, lines, as_of, visit, about)


def _event(
    uid: str, on: date, title: str, lines: Iterable[str], as_of: date, visit: Visit | None,
    about: About,
) -> Event:  # fmt: skip
    description = "\n".join(plain(line) for line in lines)
    return Event(
        uid=uid, kind=SERVICE_DAY, engine=plain(visit.engine) if visit else "",
        boat=plain(visit.boat) if visit and visit.boat else None, task="", on=on,
        title=plain(title), status=SERVICE_DAY, description=description,
        categories=(SERVICE_DAY,), stamp=midnight(as_of), lead=plain(title),
        basis=digest(description), about=about,
    )  # fmt: skip


def _where(visit: Visit) -> str:
    place = "in store" if visit.boat is None else f"on {visit.boat}"
    return f"{visit.engine} {place}"


def _jobs(visit: Visit) -> str:
    return ", ".join(visit.tasks)


def _known(visit: Visit, rules: Mapping[str, RuleSet]) -> tuple[RuleSet | None, list[str]]:
    """The rule set of an engine, and the tasks of a visit that it still has."""
    ruleset = rules.get(visit.engine)
    return ruleset, [task for task in visit.tasks if ruleset and task in ruleset.rules]


def _parts(visit: Visit, rules: Mapping[str, RuleSet]) -> Counter[str]:
    ruleset, tasks = _known(visit, rules)
    return parts_of_visit(ruleset, tasks) if ruleset else Counter()


def _part_lines(parts: Mapping[str, int]) -> list[str]:
    told = [item if count == 1 else f"{count} x {item}" for item, count in parts.items()]
    return [f"Parts: {', '.join(told)}."] if told else []


def _leads_to(visit: Visit, rules: Mapping[str, RuleSet]) -> list[str]:
    """Which jobs must not slip again, and what they lead to."""
    ruleset, tasks = _known(visit, rules)
    if ruleset is None:
        return []
    lines = []
    for harm in PRECURSOR_HARMS:
        mine = [task for task in tasks if harm in ruleset.rules[task].leads_to]
        if mine:
            verb = "leads" if len(mine) == 1 else "lead"
            lines.append(f"Skipped, {', '.join(mine)} {verb} to {harm}.")
    return lines


def _cautions(visit: Visit, rules: Mapping[str, RuleSet]) -> list[str]:
    ruleset, tasks = _known(visit, rules)
    if ruleset is None:
        return []
    steps = access_steps(ruleset, tasks).values()
    told = [caution for step in steps for caution in step.cautions]
    told += [caution for task in tasks for caution in ruleset.rules[task].cautions]
    lines = [f"- {caution}" for caution in dict.fromkeys(told)]
    return ["Take care:", *lines] if lines else []
