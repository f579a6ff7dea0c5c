"""Rows of other people's sheets against the log: what is there, what is doubled, what cannot be."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from fleetcare.errors import Fault
from fleetcare.exchange.accounts import WHERE, Report, source_of
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.drafts import Draft
from fleetcare.exchange.found import FoundSheet
from fleetcare.exchange.resolving import Resolved, Resolver, facts, whole
from fleetcare.exchange.slips import Mark, Slip, slips
from fleetcare.exchange.tally import IN_THE_LOG, Tally
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Entry, Finding, Job, Reading, Run
from fleetcare.log.history import History
from fleetcare.rules.sets import RuleBook
from fleetcare.store.fetch import Kept

LONG_DAY = 1400  # hundredths of an hour; more than that in a day is worth a look: our choice
KINDS: Mapping[type, str] = {
    Reading: "readings", Run: "runs", Job: "jobs", Finding: "findings"
}  # fmt: skip


class FoundRows:
    """The rows of all sheets of one import, each resolved, and accounted for in the report."""

    def __init__(
        self,
        fleet: Fleet,
        book: RuleBook,
        history: History,
        kept: Sequence[Kept],
        asked: Asked,
        today: date,
        report: Report,
    ) -> None:
        self.fleet, self.history, self.asked, self.report = fleet, history, asked, report
        self.resolver = Resolver(fleet, book, history, asked, today)
        self.there: Counter[tuple[object, ...]] = Counter()
        self.live: set[tuple[object, ...]] = set()
        self.jobs: dict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
        self.of_day: dict[tuple[object, ...], list[tuple[object, ...]]] = defaultdict(list)
        for item in kept:
            if item.entry is not None:
                self.there[facts(item.entry)] += 1
                if not item.withdrawn:
                    self.live.add(facts(item.entry))
                    if isinstance(item.entry, Reading | Run):
                        self.of_day[_engine_day(item.entry)].append(facts(item.entry))
            if isinstance(item.entry, Job) and not item.withdrawn:
                where = f"entry {item.number}"
                self.jobs[item.entry.engine, item.entry.task].append((_day(item.entry), where))
        self.places: set[str] = set()
        self.sharing: dict[str, set[str]] = {}  # by the place of a row that names a boat alone
        self.fed_back: set[str] = set()  # the sources that are tables of refused rows

    def fresh(self, sheets: Sequence[FoundSheet]) -> list[Resolved]:
        """The rows that the log does not hold yet; all others are accounted for."""
        rows: list[Resolved] = []
        self.fed_back = {sheet.grid.name for sheet in sheets if WHERE in sheet.layout.heads}
        for sheet in sheets:
            has_times = any(draft.is_clock for draft in sheet.drafts)
            for draft in sheet.drafts:
                self.report.rows += 1
                if draft.skip:
                    self.report.skip(draft.place, draft.skip)
                    continue
                row = self.resolver.resolve(draft)
                if row.faults:
                    self.report.refuse(row.place, row.faults[0], row.faults[1:])
                else:
                    rows.append(row)
                    self._doubt(draft, row, has_times)
                    if not draft.engine:
                        self.sharing[row.place] = self.resolver.carried_by(draft.boat)
        rows = self._new(rows)
        self.places = {row.place for row in rows}
        return self._without_slips(rows)

    def kept(
        self, rows: Sequence[Resolved], good: set[int], bad: Mapping[str, Fault]
    ) -> list[Entry]:
        """The entries of the rows of which the log can hold every one."""
        entries: list[Entry] = []
        for row in rows:
            if all(id(entry) in good for entry in row.entries):
                self.report.take(row.place, KINDS[type(row.entries[0])], row.entries)
                entries += row.entries
            else:
                self.report.refuse(row.place, bad[row.place])
        return entries

    # -- what is there --------------------------------------------------------------------------

    def _new(self, rows: Iterable[Resolved]) -> list[Resolved]:
        """The rows that say something new: not in the log, nor said by a row above."""
        new: list[Resolved] = []
        said: dict[tuple[object, ...], str] = {}
        tally = Tally(self.there)
        for row in rows:
            above = said.setdefault((source_of(row.place), whole(row.entries)), row.place)
            is_double = above != row.place
            if is_double and (self.asked.once or not _holds_run(row.entries)):
                self.report.skip(row.place, f"says the same as {above}")
                continue
            stands = [tally.where(facts(entry), entry, row.place) for entry in row.entries]
            pairs = zip(row.entries, stands, strict=True)
            left = tuple(entry for entry, where in pairs if not where)
            other = next((where for where in stands if where not in ("", IN_THE_LOG)), "")
            if not left and other:
                self.report.skip(row.place, f"says the same as {other}")
            elif not left:
                self.report.there(row.place, row.entries)
                if _holds_run(row.entries) and source_of(row.place) in self.fed_back:
                    self.report.doubt(
                        "mended runs that the log holds already, not taken: if it ran twice that "
                        "day, mend them in the sheet they came from and import that", row.place,
                    )  # fmt: skip
                if not any(facts(entry) in self.live for entry in row.entries):
                    self.report.doubt("rows withdrawn since, which stay so", row.place)
            elif fault := self._again(row.place, left):
                self.report.refuse(row.place, fault)
            else:
                tally.take(map(facts, left), row.place)
                new.append(row._replace(entries=left))
                if is_double:
                    self.report.doubt(
                        "runs that say just what another row says, each taken", row.place
                    )
        self._beside(new, {key for _, key in tally.seen})
        return new

    def _beside(self, new: Iterable[Resolved], said: set[tuple[object, ...]]) -> None:
        """Name the rows that may be what became of another: a figure mended since it was taken."""
        for row in new:
            figures = [entry for entry in row.entries if isinstance(entry, Reading | Run)]
            known = [key for entry in figures for key in self.of_day[_engine_day(entry)]]
            others = [
                facts(replace(entry, engine=other))
                for entry in figures for other in self.sharing.get(row.place, set())
                if facts(replace(entry, engine=other)) in self.of_day[_engine_day(entry, other)]
            ]  # fmt: skip
            if any(key not in said for key in others):
                self.report.doubt(
                    "rows that the log holds of another engine, which was on that boat by what was "
                    "known then (fleetcare undo takes one back)", row.place,
                )  # fmt: skip
            elif any(key not in said for key in known):
                self.report.doubt(
                    "rows beside another figure of that engine and day, which the log holds and "
                    "these files do not: mended since? (fleetcare undo takes one back)", row.place,
                )  # fmt: skip

    def _again(self, place: str, entries: Sequence[Entry]) -> Fault | None:
        """A job that is logged within a day already, in other words."""
        for entry in entries:
            if not isinstance(entry, Job):
                continue
            day, known = _day(entry), self.jobs[entry.engine, entry.task]
            for other, where in known:
                if abs(other - day) <= 1 and not self.asked.again:
                    on = date.fromordinal(other).isoformat()
                    what = f'"{entry.task}" of "{entry.engine}" stands already on {on} ({where})'
                    return Fault("", what, "If it was done twice: --again.")
        for entry in entries:
            if isinstance(entry, Job):
                self.jobs[entry.engine, entry.task].append((_day(entry), place))
        return None

    # -- what cannot be -------------------------------------------------------------------------

    def _without_slips(self, rows: Sequence[Resolved]) -> list[Resolved]:
        """The rows but those whose figures the others of their engine speak against."""
        marks: dict[str, list[Mark]] = defaultdict(list)
        for at, row in enumerate(rows):
            for entry in row.entries:
                figure, engine = getattr(entry, "reading", None), getattr(entry, "engine", "")
                if (
                    figure is not None
                    and _day(entry) > self.fleet.engines[engine].since.toordinal()
                ):
                    marks[engine].append(Mark(_day(entry), figure, at))
        bad: set[int] = set()
        for engine, new in marks.items():
            bad |= self._slips_of(engine, new, rows)
        return [row for at, row in enumerate(rows) if at not in bad]

    def _slips_of(self, engine: str, new: list[Mark], rows: Sequence[Resolved]) -> set[int]:
        log, known = self.history.of(engine), self.fleet.engines[engine]
        if log.meters or known.reading is None:
            return set()  # the log itself says what stands where meters were changed
        since = known.since.toordinal()
        fixed = [
            Mark(day, figure, -1)
            for day, figure in zip(log.figure_days, log.figures, strict=True)
            if day > since
        ]
        marks = [Mark(since, known.reading, -1), *fixed, *new]
        out: set[int] = set()
        for slip in slips(marks):
            if slip.mark.key not in out:
                out.add(slip.mark.key)
                self.report.refuse(rows[slip.mark.key].place, _slip_fault(engine, slip))
        self._steep(sorted(mark for mark in marks if mark.key not in out), rows)
        return out

    # -- what is worth a look -------------------------------------------------------------------

    def _doubt(self, draft: Draft, row: Resolved, has_times: bool) -> None:
        if draft.like_clock and has_times:
            self.report.doubt(
                "figures like 12.30, read as 12.3 h, beside times like 12:30", row.place
            )
        if draft.is_rounded:
            self.report.doubt("figures with more than two decimals, rounded", row.place)
        if draft.hours is not None and draft.fuel is not None:
            self.report.doubt("rows with hours and fuel, of which the hours count", row.place)
        engine = getattr(row.entries[0], "engine", "")
        if engine and self.resolver.is_elsewhere(draft, engine):
            self.report.doubt(
                "rows whose engine the fleet had elsewhere than on their boat", row.place
            )
        if (draft.hours or 0) > LONG_DAY:
            self.report.doubt("days of more than 14 hours", row.place)

    def _steep(self, marks: Sequence[Mark], rows: Sequence[Resolved]) -> None:
        last = marks[0]
        for mark in marks[1:]:
            days = mark.day - last.day
            if mark.key >= 0 and days and mark.figure - last.figure > LONG_DAY * days:
                place = rows[mark.key].place
                self.report.doubt("figures that rise by more than 14 hours a day", place)
            last = mark


def _engine_day(entry: Reading | Run, engine: str = "") -> tuple[object, ...]:
    return type(entry), engine or entry.engine, entry.on


def _holds_run(entries: Sequence[Entry]) -> bool:
    return any(isinstance(entry, Run) for entry in entries)


def _day(entry: Entry) -> int:
    return entry.on.toordinal()


def _slip_fault(engine: str, slip: Slip) -> Fault:
    on = date.fromordinal(slip.against.day).isoformat()
    day = date.fromordinal(slip.mark.day).isoformat()
    figure, other = shown(slip.mark.figure), shown(slip.against.figure)
    name = f'"{engine}"' if " " in engine else engine
    if slip.is_low:
        return Fault(
            "",
            f'"{engine}" reads less than the {other} it read on {on}',
            "A slip now, or a slip before? Another engine's figure? Another meter: fleetcare "
            f"reading {name} {figure} --on {day} --old-meter {other}, then import again.",
        )
    if slip.mark.figure > slip.against.figure and slip.against.day > slip.mark.day:
        return Fault("", f'"{engine}" reads {figure} here, but {other} on {on} and after it',
                     "A slip, or another engine's figure?")  # fmt: skip
    way = "until" if slip.against.day > slip.mark.day else "from"
    return Fault("", f'"{engine}" would have run more than 24 h a day {way} {other} on {on}',
                 "A slip here or there, or another meter?")  # fmt: skip
