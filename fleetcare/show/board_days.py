"""Coming days and readings to take: what falls due when, and the days that work is planned on."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.due.readings import WorthReading, readings_worth_taking
from fleetcare.due.records import CLEAR, DUE, Due
from fleetcare.plan.records import ServiceDay
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_ink import Ink, listed, name, shortened, text
from fleetcare.show.lists import whole_hours

AHEAD = 30  # days that are listed; the look-ahead of "due"
MOST_TASKS = 4


def days_part(facts: Facts, ink: Ink) -> str:
    """The coming days, each with what falls due and what is planned on it."""
    words = ink.words
    due = _due_by_day(facts)
    planned = _planned(facts)
    days = sorted({*due, *planned})
    items = []
    for day in days:
        today = f" <i>{text(words('today'))}</i>" if day == facts.today else ""
        told = "".join(_service(item, ink) for item in planned.get(day, ()))
        if day in due:
            told += _jobs(due[day], ink)
        items.append(f"<b>{text(ink.weekday(day))}{today}</b><div>{told}</div>")
    out = listed(items, "days") if items else ""
    if not items:
        none = words("Nothing falls due within {days} days.", days=AHEAD)
        out = f"<p>{text(none)}</p>"
    if facts.plan is not None and facts.plan.last < facts.today:
        ended = words("The kept plan ended on {day}.", day=ink.day(facts.plan.last))
        out += f"<p>{text(ended)}</p>"
    return out


def _due_by_day(facts: Facts) -> dict[int, list[Due]]:
    """Rows by the day they fall due, those put off by the day they come back."""
    found: dict[int, list[Due]] = {}
    for row in facts.rows:
        if row.status not in (DUE, CLEAR):
            continue
        day = row.due_on if row.put_off_until is None else row.put_off_until
        if day is None and row.status == DUE:
            day = facts.today
        if day is not None and day <= facts.today + AHEAD:
            found.setdefault(max(day, facts.today), []).append(row)
    return found


def _planned(facts: Facts) -> dict[int, list[ServiceDay]]:
    found: dict[int, list[ServiceDay]] = {}
    for item in facts.plan.days if facts.plan is not None else ():
        if item.on >= facts.today:
            found.setdefault(item.on, []).append(item)
    return found


def _jobs(rows: Sequence[Due], ink: Ink) -> str:
    """Jobs engine by engine."""
    by_engine: dict[str, list[str]] = {}
    for row in rows:
        by_engine.setdefault(row.engine, []).append(row.rule.name)
    return listed(
        [f"{ink.engine(engine)} {text(', '.join(tasks))}" for engine, tasks in by_engine.items()],
        "jobs",
    )


def _service(item: ServiceDay, ink: Ink) -> str:
    words = ink.words
    minutes = words("{minutes} of {capacity} min", minutes=item.minutes, capacity=item.capacity)
    place = f" {name(item.place)}" if item.place else ""
    visits = [f"{ink.with_boat(visit.engine)}: {text(', '.join(visit.tasks))}"
              for visit in item.visits]  # fmt: skip
    head = text(words("service day"))
    return (
        f"<p><span class=service>{head}</span>{place}, {text(minutes)}</p>"
        f"{listed(visits, 'jobs planned')}"
    )


def readings_part(facts: Facts, ink: Ink) -> str:
    """The readings that could change what the board says, the most telling first."""
    worth = readings_worth_taking(facts.rows)
    if not worth:
        none = ink.words("No reading would change what stands here.")
        return f"<p>{text(none)}</p>"
    return shortened([_reading(item, facts, ink) for item in worth], "reads", ink)


def _reading(item: WorthReading, facts: Facts, ink: Ink) -> str:
    words = ink.words
    days = facts.today - item.known_through
    age = words.several("not read for {count} day", "not read for {count} days", days)
    likely = words(
        "likely {hours} h since, perhaps {most} h",
        hours=whole_hours(item.likely_hours), most=whole_hours(item.most_hours),
    )  # fmt: skip
    tasks = ", ".join(item.tasks[:MOST_TASKS])
    more = len(item.tasks) - MOST_TASKS
    if more > 0:
        tasks += " " + words("and {count} more", count=more)
    may = words("may be used up: {jobs}", jobs=tasks)
    return f"<b>{ink.with_boat(item.engine)}</b> {text(f'{age}; {likely}; {may}')}"
