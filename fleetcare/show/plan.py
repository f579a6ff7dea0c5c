"""The plan for the terminal: what to do next in full, what comes after in a line a day."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleetcare.due.joints import OPENED_WITHIN, STUCK_MINUTES
from fleetcare.fleet.days import spoken
from fleetcare.plan.records import Late, Moved, Plan, PlannedJob, ServiceDay, Unplaced, Visit
from fleetcare.show.lists import few
from fleetcare.show.plan_strip import legend, strip
from fleetcare.show.table import wrapped

SOON = 7  # days told in full
AT_LEAST = 2  # service days told in full however far off
MOST_LATE, MOST_MOVED = 8, 8
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HARM = "leads to overheating or a seized swivel"


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside a plan: minutes by place and day, engines held, parts of joints at risk.

    `stuck` names by engine the joints that may not come apart; `put_off` counts the jobs left out.
    """

    minutes: Mapping[str, Sequence[int]]
    held: Collection[str] = ()
    stuck: Mapping[str, Sequence[str]] = field(default_factory=dict)
    put_off: int = 0


def plan_text(plan: Plan, beside: Beside, width: int, whole: bool = False) -> str:
    """The plan; with `whole` every day in full and everything that is late or moved."""
    lines = [wrapped(line, width) for line in (_headline(plan), *_summary(plan))]
    if plan.days:
        lines += ["", *strip(plan, beside.minutes, width), wrapped(legend(), width)]
    full = [day for at, day in enumerate(plan.days) if whole or _is_soon(plan, at, day)]
    for day in full:
        lines += ["", *day_lines(day, plan, beside, width)]
    rest = plan.days[len(full) :]
    if rest:
        lines += ["", *(wrapped(_brief(day, plan.first), width) for day in rest)]
        lines.append(wrapped("(--all shows every day in full)", width))
    lines += _section(_late_lines(plan, width, whole))
    lines += _section(_unplaced_lines(plan.unplaced, width))
    lines += _section(_moved_lines(plan, width, whole))
    lines += ["", *(wrapped(line, width) for line in _foot(plan, beside))]
    return "\n".join(lines).replace("\x1b", "")


def _section(lines: list[str]) -> list[str]:
    return ["", *lines] if lines else []


def _is_soon(plan: Plan, at: int, day: ServiceDay) -> bool:
    return at < AT_LEAST or day.on < plan.first + SOON


def weekday(day: int, beside: int | None = None) -> str:
    """A day with its weekday, Mon 20 Jul; with the year when it is not that of `beside`."""
    on = date.fromordinal(day)
    other = None if beside is None else date.fromordinal(beside)
    return f"{WEEKDAYS[on.weekday()]} {spoken(on, other)}"


def counted(number: int, one: str, more: str = "") -> str:
    """The number and the thing."""
    return f"{number} {one if number == 1 else more or f'{one}s'}"


def _headline(plan: Plan) -> str:
    jobs = sum(len(visit.jobs) for day in plan.days for visit in day.visits)
    span = f"{weekday(plan.first, plan.last)} to {weekday(plan.last)}"
    if not plan.days and not plan.unplaced:
        return f"{span}: nothing comes due, so there is nothing to plan."
    engines = {visit.engine for day in plan.days for visit in day.visits}
    return (
        f"{span}: {counted(jobs, 'job')} of {counted(len(engines), 'engine')} on "
        f"{counted(len(plan.days), 'service day')}."
    )


def _summary(plan: Plan) -> Iterable[str]:
    """The worst of it in a line, for whoever reads no further."""
    harmful = sum(item.precursor for item in plan.late)
    others = len(plan.late) - harmful
    leads = HARM if harmful == 1 else HARM.replace("leads", "lead")
    told = [f"{counted(harmful, 'job')} late, which {leads}"] if harmful else []
    if others:
        told.append(
            f"{counted(others, 'other')} late" if harmful else f"{counted(others, 'job')} late"
        )
    if plan.unplaced:
        told.append(f"{len(plan.unplaced)} without a day")
    if told:
        yield f"{'; '.join(told)}. Why is told below."
    elif plan.days:
        yield "All in time."


def day_lines(day: ServiceDay, plan: Plan, beside: Beside, width: int) -> list[str]:
    """A day in full: minutes, then each visit with its access and its jobs."""
    boats = {visit.boat for visit in day.visits if visit.boat is not None}
    place = f", {day.place}" if day.place else ""
    head = (
        f"{weekday(day.on, plan.first)}{place}: {_minutes(day)}, {counted(len(boats), 'boat')} in"
    )
    lines = [wrapped(head, width)]
    for visit in day.visits:
        lines += visit_lines(visit, beside, width)
    return lines


def visit_lines(visit: Visit, beside: Beside, width: int) -> list[str]:
    """One visit: where and what must be opened, then its jobs, the late ones first."""
    boat = visit.boat or "in store"
    name = boat if boat == visit.engine else f"{boat}, {visit.engine}"
    held = ", held" if visit.engine in beside.held else ""
    opened = f": {', '.join(visit.access)}" if visit.access else ""
    lines = [wrapped(f"  {name}{held}, {visit.minutes} min{opened}", width)]
    lines += [wrapped(f"    {line}", width) for line in _job_lines(visit)]
    stuck = [step for step in visit.access if step in beside.stuck.get(visit.engine, ())]
    if stuck:
        why = (
            f"not known to have been opened for {OPENED_WITHIN} months; {STUCK_MINUTES} min more "
            "are allowed for each"
        )
        lines.append(wrapped(f"    may not come apart: {', '.join(stuck)} ({why})", width))
    return lines


def _job_lines(visit: Visit) -> Iterable[str]:
    late = [job for job in visit.jobs if job.late]
    for harm in (True, False):
        mine = [job for job in late if job.precursor is harm]
        if mine:
            leads = f", {HARM}" if harm else ""
            yield f"{_range(job.late for job in mine)} late{leads}: {_tasks(mine)}"
    in_time = [job for job in visit.jobs if not job.late]
    if in_time:
        early = _range(job.pulled_forward for job in in_time)
        saved = f"; {visit.saved} min of access saved" if visit.saved else ""
        when = "on the day" if early == "0 days" else f"{early} early"
        yield f"{when}: {_tasks(in_time)}{saved}"
    elif visit.saved:
        yield f"{visit.saved} min of access saved by doing them together"


def _range(numbers: Iterable[int]) -> str:
    found = sorted(numbers)
    if found[0] == found[-1]:
        return counted(found[0], "day")
    return f"{found[0]} to {found[-1]} days"


def _tasks(jobs: Iterable[PlannedJob]) -> str:
    return ", ".join(job.task for job in jobs)


def _minutes(day: ServiceDay) -> str:
    """How full the day is, and how much of it is shown where only some boats are."""
    shown = sum(visit.minutes for visit in day.visits)
    here = f", {shown} of them shown here" if shown < day.minutes else ""
    return f"{day.minutes} of {day.capacity} min{here}"


def _brief(day: ServiceDay, first: int) -> str:
    """A day in a line: minutes, and each boat with how many jobs."""
    visits: dict[str, int] = {}
    for visit in day.visits:
        name = visit.boat or visit.engine
        visits[name] = visits.get(name, 0) + len(visit.jobs)
    late = sum(job.late > 0 for visit in day.visits for job in visit.jobs)
    told = ", ".join(f"{name} ({number})" for name, number in visits.items())
    place = f" {day.place}," if day.place else ""
    tail = f"; {late} late" if late else ""
    return f"{weekday(day.on, first)},{place} {_minutes(day)}: {told}{tail}"


# -- what is late, left out, moved ---------------------------------------------------------------


def _late_lines(plan: Plan, width: int, whole: bool) -> list[str]:
    harmful = [item for item in plan.late if item.precursor]
    others = [item for item in plan.late if not item.precursor]
    lines: list[str] = []
    if harmful:
        proved = all(item.proved for item in harmful)
        how = "proved: no plan has fewer" if proved else _not_proved(harmful)
        lines.append(wrapped(f"Late and {HARM}: {len(harmful)} ({how})", width))
        lines += _grouped(harmful, plan, width, whole)
    if others:
        most = max(item.days for item in others)
        head = f"Late, other jobs: {len(others)}, by {counted(most, 'day')} at most"
        lines.append(wrapped(head, width))
        if whole or not harmful:
            lines += _grouped(others, plan, width, whole)
    return lines


def _not_proved(items: Sequence[Late]) -> str:
    sure = sum(item.proved for item in items)
    return f"{sure} proved unavoidable, the rest not proved" if sure else "not proved unavoidable"


def _grouped(items: Sequence[Late], plan: Plan, width: int, whole: bool) -> list[str]:
    """A line for each engine and reason, the worst first."""
    groups: dict[tuple[str, str, int], list[Late]] = {}
    for item in items:
        groups.setdefault((item.engine, item.reason, item.days), []).append(item)
    lines = []
    for (engine, reason, days), found in groups.items():
        on = plan.day_of(engine, found[0].task)
        when = "no day" if on is None else weekday(on, plan.first)
        tasks = few([item.task for item in found], 6 if not whole else len(found))
        lines.append(
            wrapped(f"  {engine}: {tasks}; {when}, {counted(days, 'day')} late: {reason}", width)
        )
    shown = lines if whole else lines[:MOST_LATE]
    if len(shown) < len(lines):
        more = f"  and {len(lines) - len(shown)} more (--all shows them)"
        shown = [*shown, wrapped(more, width)]
    return shown


def _unplaced_lines(items: Sequence[Unplaced], width: int) -> list[str]:
    if not items:
        return []
    groups: dict[tuple[str, str], list[str]] = {}
    for item in items:
        groups.setdefault((item.engine, item.reason), []).append(item.task)
    return [
        wrapped(f"No day found for {counted(len(items), 'job')}:", width),
        *(
            wrapped(f"  {engine}: {', '.join(tasks)}: {reason}", width)
            for (engine, reason), tasks in groups.items()
        ),
    ]


def _moved_lines(plan: Plan, width: int, whole: bool) -> list[str]:
    if not plan.moved:
        return []
    groups: dict[tuple[str, int | None, int | None, str], list[Moved]] = {}
    for item in plan.moved:
        groups.setdefault((item.engine, item.before, item.now, item.why), []).append(item)
    lines = [
        wrapped(
            f"  {engine}: {few([item.task for item in found], 4)}: "
            f"{_day_or_none(before, plan.first)} -> {_day_or_none(now, plan.first)}, {why}",
            width,
        )
        for (engine, before, now, why), found in groups.items()
    ]
    shown = lines if whole else lines[:MOST_MOVED]
    if len(shown) < len(lines):
        more = f"  and {len(lines) - len(shown)} more (--all shows them)"
        shown = [*shown, wrapped(more, width)]
    head = f"Moved against the kept plan: {counted(len(plan.moved), 'job')}"
    return [wrapped(head, width), *shown]


def _day_or_none(day: int | None, first: int) -> str:
    return "none" if day is None else weekday(day, first)


def _foot(plan: Plan, beside: Beside) -> Iterable[str]:
    if beside.put_off:
        yield f"{counted(beside.put_off, 'job')} put off and not planned until they come back."
    if not plan.days and not plan.unplaced:
        return
    if plan.cut_short:
        yield "Interrupted: the best plan found so far."
    yield f"Weighed cost {_thousands(plan.cost)} workshop minutes; {_gap(plan)}."


def _gap(plan: Plan) -> str:
    if plan.gap is None:
        return "no bound was proved"
    if plan.gap <= 0:
        return "proved to be the least"
    return f"at most {plan.gap * 100:.1f} % above the least possible"


def _thousands(hundredths: int) -> str:
    return f"{(hundredths + 50) // 100:,}"
