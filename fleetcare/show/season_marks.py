"""The season's marks: the days on which the boats of a use are launched and laid up.

In: the dates of each use's season. Out: one event a use and mark, on its next day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from fleetcare.fleet.days import spoken
from fleetcare.show.event_words import BEFORE_ALL, plain
from fleetcare.show.events import (
    HORIZON_DAYS,
    SEASON_MARK,
    About,
    Event,
    digest,
    event_uid,
    midnight,
)

LAUNCH, LAY_UP = "launch", "lay-up"
_DOES = {LAUNCH: "begins", LAY_UP: "ends"}
_TITLE = {LAUNCH: "Launch", LAY_UP: "Lay-up"}
_WHOM = {LAUNCH: "that is laid up", LAY_UP: "that is not laid up yet"}

MonthDay = tuple[int, int]


def season_marks(
    seasons: Mapping[str, tuple[MonthDay, MonthDay]],
    jobs: Mapping[tuple[str, str], Sequence[str]],
    fleet_id: str,
    as_of: date,
    horizon_days: int = HORIZON_DAYS,
) -> tuple[Event, ...]:
    """The next launch and lay-up of each use within the horizon.

    `seasons` gives first and last (month, day) by use; `jobs` the tasks of a mark by use and mark.
    """
    found = []
    for use, days in seasons.items():
        for mark, month_day in zip((LAUNCH, LAY_UP), days, strict=True):
            on = _next(month_day, as_of)
            if (on - as_of).days <= horizon_days:
                found.append(_event(use, mark, on, jobs.get((use, mark), ()), fleet_id, as_of))
    return tuple(found)


def _next(month_day: MonthDay, as_of: date) -> date:
    on = date(as_of.year, *month_day)
    return on if on >= as_of else date(as_of.year + 1, *month_day)


def _event(
    use: str, mark: str, on: date, tasks: Sequence[str], fleet_id: str, as_of: date
) -> Event:
    lead = f"{_TITLE[mark]} of {use} boats,"
    lines = [f"The season of {use} boats {_DOES[mark]} on {spoken(on)}."]
    if tasks:
        lines.append(f"To do at {mark}: {', '.join(tasks)}. Each engine's own events say when.")
    lines.append(BEFORE_ALL)
    lines.append(f"Log it for every engine {_WHOM[mark]}: fleetcare {mark} --all")
    description = "\n".join(plain(line) for line in lines)
    return Event(
        uid=event_uid(fleet_id, SEASON_MARK, on.isoformat(), mark, use),
        kind=SEASON_MARK,
        engine="",
        boat=None,
        task=mark,
        on=on,
        title=f"{lead} {spoken(on, as_of)}",
        status=SEASON_MARK,
        description=description,
        categories=(SEASON_MARK, mark),
        stamp=midnight(as_of),
        lead=lead,
        basis=digest(description),
        about=About(use=use, task=mark),
    )
