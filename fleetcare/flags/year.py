"""Looking back on a span of days: hours, jobs, minutes, parts and what happened, boat by boat."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from fleetcare.flags.days_held import days_held
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import EngineLog, History, Seen
from fleetcare.rules.bench import minutes_of_visit, parts_of_visit
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import NO_HOURS, Mix, plus
from fleetcare.usage.meter import Hours
from fleetcare.usage.year import Stay, stays

Key = tuple[str | None, str | None]  # boat, or None in store; engine, or None for all of them


@dataclass(slots=True)
class Account:
    """What one boat's engines ran, and what was done to them; of one engine when it is named.

    `boat` is None for the engines in store. `mix` is hundredths of an hour by water, likely ones
    apart; `run_days` and `held_days` are days of the boat, not of each engine, and a day held is
    one on which an engine was mounted, not laid up and held. `known_from` is the day from which
    alone something here is known, `figures_to` the last day that every engine's figures reach;
    both None when nothing is missing. `before` are the hours of the same days a year earlier,
    where those and these are wholly known.
    """

    boat: str | None
    engine: str | None
    mix: Mix = NO_HOURS
    run_days: int = 0
    jobs: int = 0
    precursor_jobs: int = 0
    minutes: int = 0
    without_rule: int = 0
    parts: Counter[str] = field(default_factory=Counter)
    findings: int = 0
    incidents: int = 0
    held_days: int = 0
    known_from: int | None = None
    figures_to: int | None = None
    before: Hours | None = None

    @property
    def hours(self) -> Hours:
        """Hours in all waters, without the likely ones."""
        return self.mix[0] + self.mix[1] + self.mix[2]

    @property
    def likely(self) -> Hours:
        """Likely hours in all waters."""
        return self.mix[3] + self.mix[4] + self.mix[5]


@dataclass(frozen=True, slots=True)
class Year:
    """The accounts of a span and their total; `last` is not after today.

    `known_from` and `figures_to` tell of each engine that is not wholly known; `earlier_jobs` is
    how many jobs were done before their engine was known, and so belong to no boat.
    """

    first: date
    last: date
    accounts: tuple[Account, ...]
    total: Account
    known_from: Mapping[str, int]
    figures_to: Mapping[str, int]
    earlier_jobs: int


@dataclass(frozen=True, slots=True)
class Asked:
    """What to look back on: the days, and which boat or engine alone; a row for each engine?"""

    first: date
    last: date
    boat: str | None = None
    engine: str | None = None
    by_engine: bool = False

    def wants(self, stay: Stay) -> bool:
        """Whether a stay is in the question."""
        return self.engine in (None, stay.engine) and self.boat in (None, stay.boat)

    @property
    def each_engine(self) -> bool:
        """Whether rows are of one engine each."""
        return self.by_engine or self.engine is not None

    def key(self, boat: str | None, engine: str) -> Key:
        """The account that a boat and engine belong to."""
        return (boat, engine if self.each_engine else None)

    def year_before(self) -> Asked:
        """The same days a year earlier; the end of February stays the end of February."""
        a_year = relativedelta(years=1)
        last = self.last + timedelta(days=1) - a_year - timedelta(days=1)
        return replace(self, first=self.first - a_year, last=last)


def year(fleet: Fleet, history: History, book: RuleBook, as_of: date, asked: Asked) -> Year:
    """Look back on the days asked for, with what is known on `as_of`."""
    last = min(asked.last, as_of)
    carriage = Carriage(fleet, history, as_of.toordinal())
    known = _Known(fleet, history, book, carriage, last.toordinal())
    mine = _asked_for(asked, known)
    accounts = _accounts(asked, known, mine)
    _add_days(asked, known, mine, accounts)
    _add_work(asked, known, mine, accounts)
    total = _total(accounts.values())
    if asked.last <= as_of:
        _compare(asked, known, mine, accounts, total)
    ordered = sorted(
        accounts.values(),
        key=lambda item: (item.boat is None, natural(item.boat or ""), natural(item.engine or "")),
    )
    known_from = {stay.engine: stay.known_from for stay in mine if stay.known_from is not None}
    figures_to = {stay.engine: stay.figures_to for stay in mine if stay.figures_to < stay.last}
    return Year(
        asked.first, last, tuple(ordered), total, known_from, figures_to,
        _earlier_jobs(asked, known),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Known:
    """Everything that is asked, and the last day of the span that has been."""

    fleet: Fleet
    history: History
    book: RuleBook
    carriage: Carriage
    last: int

    def ruleset(self, engine: str) -> RuleSet:
        return self.book.set_of(self.fleet.engines[engine].rules or self.fleet.settings.rules)


def _accounts(asked: Asked, known: _Known, mine: Sequence[Stay]) -> dict[Key, Account]:
    """An account for each boat there was, and for the engines in store, with their hours."""
    accounts: dict[Key, Account] = {}
    for boat in known.fleet.boats.values():
        gone = known.history.boats_retired.get(boat.name, known.last)
        there = boat.since.toordinal() <= known.last and gone >= asked.first.toordinal()
        if not asked.each_engine and asked.boat in (None, boat.name) and there:
            accounts[boat.name, None] = Account(boat.name, None)
    for stay in mine:
        key = asked.key(stay.boat, stay.engine)
        account = accounts.setdefault(key, Account(*key))
        account.mix = plus(account.mix, stay.mix)
        if stay.known_from is not None:
            account.known_from = max(account.known_from or 0, stay.known_from)
        if stay.figures_to < stay.last:
            account.figures_to = min(account.figures_to or stay.last, stay.figures_to)
    return accounts


def _add_days(
    asked: Asked, known: _Known, mine: Sequence[Stay], accounts: Mapping[Key, Account]
) -> None:
    """Count the days that a boat ran and was held, whichever of its engines it was."""
    ran: dict[Key, set[int]] = {}
    held: dict[Key, set[int]] = {}
    for stay in mine:
        key = asked.key(stay.boat, stay.engine)
        ran.setdefault(key, set()).update(stay.run_days)
        if stay.boat is not None:
            held.setdefault(key, set()).update(_held_afloat(known, stay))
    for key, account in accounts.items():
        account.run_days, account.held_days = len(ran.get(key, ())), len(held.get(key, ()))


def _held_afloat(known: _Known, stay: Stay) -> Iterator[int]:
    """Days of a stay on which the engine was held and not laid up: the morning list's."""
    idle = known.carriage.uses[stay.engine].idle
    held = days_held(known.fleet, known.history, known.book, stay.engine, stay.first, stay.last)
    return (day for day in held if not any(begin <= day <= end for begin, end in idle))


def _add_work(
    asked: Asked, known: _Known, mine: Sequence[Stay], accounts: Mapping[Key, Account]
) -> None:
    """Add what was done to each engine, and what was seen, to the account of its stay."""
    for stay in mine:
        log = known.history.engines.get(stay.engine)
        if log is None:
            continue
        account = accounts[asked.key(stay.boat, stay.engine)]
        for tasks in _jobs_by_day(log, stay.first, stay.last).values():
            _add_visit(account, known.ruleset(stay.engine), tasks)
        account.incidents += sum(stay.first <= day <= stay.last for day, _ in log.incidents)
        account.findings += sum(
            stay.first <= seen.day <= stay.last and not _is_fine(known.book, seen)
            for seen in log.seen
        )


def _jobs_by_day(log: EngineLog, first: int, last: int) -> dict[int, list[str]]:
    by_day: dict[int, list[str]] = {}
    for task, marks in log.jobs.items():
        for mark in marks:
            if first <= mark.day <= last:
                by_day.setdefault(mark.day, []).append(task)
    return by_day


def _add_visit(account: Account, ruleset: RuleSet, tasks: Sequence[str]) -> None:
    """Add the jobs of one engine and day; what today's rules do not know has no minutes."""
    ruled = [task for task in tasks if task in ruleset.rules]
    account.jobs += len(tasks)
    account.without_rule += len(tasks) - len(ruled)
    account.precursor_jobs += sum(ruleset.rules[task].is_precursor for task in ruled)
    account.minutes += minutes_of_visit(ruleset, ruled)
    account.parts.update(parts_of_visit(ruleset, ruled))


def _is_fine(book: RuleBook, seen: Seen) -> bool:
    """Whether a condition has the weight fine; a word that is not known has not."""
    condition = book.conditions.get(seen.part, {}).get(seen.condition)
    return condition is not None and condition.weight == "fine"


def _earlier_jobs(asked: Asked, known: _Known) -> int:
    """Jobs of the span from before their engine was known: they belong to no boat."""
    if asked.boat is not None:
        return 0
    first, last = asked.first.toordinal(), known.last
    return sum(
        first <= mark.day <= min(last, use.since - 1)
        for name, use in known.carriage.uses.items()
        if asked.engine in (None, name) and name in known.history.engines
        for marks in known.history.engines[name].jobs.values()
        for mark in marks
    )


def _total(accounts: Collection[Account]) -> Account:
    """All of it together; days are added up, so two boats out on one day are two."""
    total = Account(None, None)
    for item in accounts:
        total.mix = plus(total.mix, item.mix)
        for name in _ADDED:
            setattr(total, name, getattr(total, name) + getattr(item, name))
        total.parts.update(item.parts)
    total.known_from = max((a.known_from for a in accounts if a.known_from), default=None)
    total.figures_to = min((a.figures_to for a in accounts if a.figures_to), default=None)
    return total


_ADDED = (
    "run_days", "jobs", "precursor_jobs", "minutes", "without_rule", "findings", "incidents",
    "held_days",
)  # fmt: skip


def _compare(
    asked: Asked, known: _Known, mine: Sequence[Stay], accounts: Mapping[Key, Account],
    total: Account,
) -> None:  # fmt: skip
    """Give each account the hours of the year before, where both years are wholly known."""
    earlier = asked.year_before()
    before = _asked_for(earlier, known)
    whole = _whole_keys(asked, mine) & _whole_keys(earlier, before)
    for key in whole & set(accounts):
        hours = [stay.mix for stay in before if earlier.key(stay.boat, stay.engine) == key]
        accounts[key].before = sum((mix[0] + mix[1] + mix[2] for mix in hours), start=0)
    if accounts and set(accounts) <= whole:
        total.before = sum((item.before or 0 for item in accounts.values()), start=0)


def _asked_for(asked: Asked, known: _Known) -> list[Stay]:
    first, last = asked.first.toordinal(), min(asked.last.toordinal(), known.last)
    return [stay for stay in stays(known.carriage, first, last) if asked.wants(stay)]


def _whole_keys(asked: Asked, mine: Sequence[Stay]) -> set[Key]:
    """The accounts of which nothing is unknown, from the first day of the span to the last.

    A boat must have had an engine from the first day on: what ran on it before the first one
    known is not known. A row of one engine must be of all the days.
    """
    first, last = asked.first.toordinal(), asked.last.toordinal()
    by_key: dict[Key, list[Stay]] = {}
    for stay in mine:
        by_key.setdefault(asked.key(stay.boat, stay.engine), []).append(stay)
    return {
        (boat, engine)
        for (boat, engine), here in by_key.items()
        if all(stay.is_whole for stay in here)
        and (boat is None or any(stay.first <= first for stay in here))
        and (engine is None or any(stay.first <= first and last <= stay.last for stay in here))
    }
