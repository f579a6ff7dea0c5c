"""Events for calendars: one for each job that has a day, and an early notice where one helps.

In: rows of the due list. Out: `Event` records. An event moves and keeps its UID, which follows
from the fleet, the kind of event and the names alone. What of them is worth sending is decided
in `settling`, the season's marks are made in `season_marks`.
"""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from fractions import Fraction

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.fleet.days import spoken
from fleetcare.rules.rule import PRECURSOR_HARMS, RuleSet
from fleetcare.show.event_words import (
    Moving,
    as_of_line,
    counted,
    describe_early,
    plain,
    told,
)

NAMESPACE = uuid.UUID("27b0b0cd-9531-4498-a1bc-ae919d63050b")  # of every fleet's own namespace
JOB, EARLY, SEASON_MARK, SERVICE_DAY = "job", "early notice", "season mark", "service day"
HORIZON_DAYS = 365
EARLY_DAYS = 14  # an early notice comes a fortnight before the day at least: our design choice
EARLY_SHARE = 5  # and a fifth of the days left: our design choice


@dataclass(frozen=True, slots=True)
class About:
    """What an event concerns, by which feeds choose: names as the fleet has them."""

    first_name: str = ""
    boat: str | None = None
    use: str = ""
    task: str = ""
    harms: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """An all-day event: what a calendar shows of one job, or of a day.

    `on` is the day it stands on, `status` the due list's word or its kind. `stamp` (UTC) is when
    it was last changed and `sequence` how often it was moved or renamed since it was first sent.
    `lead` is its title without the day. `basis` stands for what its description rests on, time
    apart: while that stays, so do the lines numbered in `moving`, and with them all it says.
    """

    uid: str
    kind: str
    engine: str
    boat: str | None
    task: str
    on: date
    title: str
    status: str
    description: str
    categories: tuple[str, ...]
    stamp: datetime
    sequence: int = 0
    lead: str = ""
    basis: str = ""
    moving: tuple[int, ...] = ()
    about: About = About()

    @property
    def moving_lines(self) -> str:
        """The lines that move by themselves."""
        lines = self.description.split("\n")
        return "\n".join(lines[at] for at in self.moving)

    def with_moving(self, text: str) -> Event:
        """The event with other lines in the places of those that move by themselves."""
        if not self.moving:
            return self
        lines = self.description.split("\n")
        for at, line in zip(self.moving, text.split("\n"), strict=True):
            lines[at] = line
        return replace(self, description="\n".join(lines))


def events_of(
    rows: Sequence[Due],
    fleet_id: str,
    as_of: date,
    horizon_days: int = HORIZON_DAYS,
    rules: Mapping[str, RuleSet] | None = None,
    known_to: Mapping[str, int] | None = None,
    uses: Mapping[str, str] | None = None,
    holds: Mapping[str, str] | None = None,
) -> tuple[Event, ...]:
    """An event for each job that has a day within the horizon, by day and title.

    Overdue jobs, precursors without record, and due ones whose day is past stand on `as_of`. Jobs
    put off are left out unless they are precursors; so are those without record, which
    `calendar_note` counts. A job that may well come due long before its day has an early notice
    too. By the engine's name `rules` gives its rule set, for the cautions, minutes and parts of
    the access steps; `known_to` the day of its last reading or run; `uses` its use;
    `holds` what holds it, in words.
    """
    today, last = as_of.toordinal(), as_of.toordinal() + horizon_days
    found = []
    for row in rows:
        if _is_put_off(row, today) and not row.is_precursor:
            continue
        hold = holds.get(row.engine, "") if holds and row.status != CLEAR else ""
        made = _Maker(row, fleet_id, as_of, rules, known_to, uses, hold)
        day = _day_of(row, today)
        if day is not None and day <= last:
            found.append(made.job(date.fromordinal(day)))
        early = _early_day(row, today)
        if early is not None and early <= last:
            found.append(made.early(date.fromordinal(early)))
    return tuple(sorted(found, key=by_day))


class _Maker:
    """Makes the events of one row."""

    def __init__(
        self,
        row: Due,
        fleet_id: str,
        as_of: date,
        rules: Mapping[str, RuleSet] | None,
        known_to: Mapping[str, int] | None,
        uses: Mapping[str, str] | None,
        hold: str,
    ) -> None:
        self.row, self.fleet_id, self.as_of, self.hold = row, fleet_id, as_of, hold
        self.ruleset = rules.get(row.engine) if rules else None
        self.known_to = known_to.get(row.engine) if known_to else None
        use = uses.get(row.engine, "") if uses else ""
        self.about = About(row.first_name, row.boat, use, row.task, row.rule.is_precursor)
        self.named = f"{plain(row.engine)}: {plain(row.task)}"

    def job(self, on: date) -> Event:
        row = self.row
        lead, title = _title(row, self.named, self.as_of)
        lines = told(row, self.as_of, self.ruleset, self.hold)
        return self._event(
            JOB, on, lead, title, row.status, lines, (row.status, plain(row.rule.component),
            *_harms(row)), told(_timeless(row), self.as_of, self.ruleset, self.hold),
        )  # fmt: skip

    def early(self, on: date) -> Event:
        lead = f"{self.named}, may be due from"
        lines = describe_early(self.row, on, self.ruleset)
        basis = describe_early(_timeless(self.row), date.min, self.ruleset)
        return self._event(
            EARLY, on, lead, f"{lead} {spoken(on, self.as_of)}", EARLY, lines,
            (EARLY, plain(self.row.rule.component)), basis,
        )  # fmt: skip

    def _event(
        self, kind: str, on: date, lead: str, title: str, status: str, lines: list[str],
        categories: tuple[str, ...], basis: list[str],
    ) -> Event:  # fmt: skip
        row = self.row
        lines = [*lines, as_of_line(self.as_of, self.known_to)]
        moving = tuple(at for at, line in enumerate(lines) if isinstance(line, Moving))
        rests_on = [*basis, str(self.known_to), str(moving)]
        return Event(
            uid=event_uid(self.fleet_id, kind, row.first_name, row.task),
            kind=kind,
            engine=plain(row.engine),
            boat=None if row.boat is None else plain(row.boat),
            task=plain(row.task),
            on=on,
            title=title,
            status=status,
            description="\n".join(lines),
            categories=categories,
            stamp=midnight(self.as_of),
            lead=lead,
            basis=digest("\n".join(rests_on)),
            moving=moving,
            about=self.about,
        )


def event_uid(fleet_id: str, kind: str, *names: str) -> str:
    """The UID of an event, always the same for the same fleet, kind of event and names."""
    fleet = uuid.uuid5(NAMESPACE, fleet_id)
    # names hold no line breaks, so joining with one keeps them apart
    return str(uuid.uuid5(fleet, "\n".join((kind, *names))))


def calendar_note(rows: Sequence[Due], as_of: date, known_to: int | None = None) -> str:
    """For the calendar's description: how old its figures are, and what it does not show.

    `known_to` is the day of the last reading or run of its engines; the note then stays the same
    until there is another.
    """
    today = as_of.toordinal()
    hidden = [row for row in rows if not row.is_precursor]
    unknown = sum(row.status == NO_RECORD for row in hidden)
    put_off = sum(row.status != NO_RECORD and _is_put_off(row, today) for row in hidden)
    out = [f"{counted(unknown, 'job')} without a record"] if unknown else []
    out += [f"{counted(put_off, 'job')} put off"] if put_off else []
    if known_to is None:
        note = f"Figures as of {spoken(as_of)}."
    else:
        last = spoken(date.fromordinal(known_to))
        note = f"Figures as of {last}, the last reading or run known."
    return f"{note} Not shown here: {' and '.join(out)}; fleetcare due lists them." if out else note


def _day_of(row: Due, today: int) -> int | None:
    """The day a job's event stands on; None when it has none."""
    if row.status == OVERDUE or row.is_precursor:
        return today
    if row.status == NO_RECORD:
        return None
    if row.due_on is None:
        return today if row.status == DUE else None
    return max(row.due_on, today)


def _early_day(row: Due, today: int) -> int | None:
    """The day of the early notice; None when it would tell nothing that the job's own does not."""
    early, on = row.due_early, row.due_on
    if row.status not in (DUE, CLEAR) or early is None or early <= today:
        return None
    if on is None:
        return early
    return early if on - early >= max(EARLY_DAYS, (on - today) / EARLY_SHARE) else None


def _is_put_off(row: Due, today: int) -> bool:
    return row.put_off_until is not None and row.put_off_until > today


def _harms(row: Due) -> tuple[str, ...]:
    """What a precursor leads to; nothing for other rows."""
    if not row.is_precursor:
        return ()
    return tuple(harm for harm in row.rule.leads_to if harm in PRECURSOR_HARMS)


def _title(row: Due, named: str, as_of: date) -> tuple[str, str]:
    """The title, and what of it stands before its day."""
    day: int | None
    if row.status == NO_RECORD:
        lead, day = f"{named}, {NO_RECORD}", None
    elif row.status == OVERDUE:
        day = row.overdue_since or row.due_on
        lead = f"{named}, {OVERDUE}" if day is None else f"{named}, overdue since"
    elif row.due_on is None or row.due_on >= as_of.toordinal():
        lead, day = f"{named}, due", row.due_on
    else:
        lead, day = f"{named}, due since", row.due_on
    title = lead if day is None else f"{lead} {spoken(date.fromordinal(day), as_of)}"
    tail = f" - leads to {' and '.join(_harms(row))}" if row.is_precursor else ""
    return lead, title + tail


def _timeless(row: Due) -> Due:
    """The row without what moves by itself while nobody writes anything down.

    Hours stay in it, so that what anybody wrote down of them tells.
    """
    return replace(
        row,
        governed_by=None,
        life_used=None if row.life_used is None else Fraction(0),
        life_floor=None if row.life_floor is None else Fraction(0),
        days_since=0,
        likely_hours=0,
        likely_since_read=0,
        chance_used=0.0,
        due_early=None,
        due_on=None,
        due_late=None,
    )


def digest(text: str) -> str:
    """A short sum by which two texts are told apart."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def by_day(event: Event) -> tuple[date, str, str]:
    """The order of events in a feed."""
    return event.on, event.title, event.uid


def midnight(day: date) -> datetime:
    """The day's first moment in UTC."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
