"""The third part of a history: the log, kind by kind; what was withdrawn is struck through."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from dateutil.relativedelta import relativedelta

from fleetcare.fleet.days import MONTHS
from fleetcare.fleet.waters import WORDS
from fleetcare.log.entries import (
    Entry,
    Finding,
    Incident,
    Job,
    Launch,
    LayUp,
    MeterChange,
    Mount,
    PutOff,
    Reading,
    Retire,
    Run,
    Store,
    Swap,
)
from fleetcare.show.history_page_facts import Past, Written
from fleetcare.show.history_page_form import Cell, Piece, Section, Table, cell, cells
from fleetcare.show.words import Words, isolated

WIDTHS = (13, 17, 9, 23, 12, 18, 8)  # of the columns of jobs and findings


def work(past: Past, words: Words) -> Section | None:
    """Jobs, with what was found."""
    rows = tuple(_job_rows(past.entries, past, words))
    if not rows:
        return None
    return Section("work", words("Work done"), table=Table(_job_head(words), rows, WIDTHS, (2, 6)))


def earlier_work(past: Past, words: Words) -> Section | None:
    """Jobs and findings on its components while other engines carried them."""
    rows = tuple(
        (*row, cell(isolated(getattr(item.entry, "engine", ""))))
        for item in past.earlier
        for row in (*_job_rows([item], past, words), *_found_rows([item], past, words))
    )
    if not rows:
        return None
    head = (*_job_head(words), words("Under"))
    title = words("Work on its components before they came here")
    return Section("earlier", title, table=Table(head, rows, (*WIDTHS, 12), (2, 6)))


def _job_head(words: Words) -> tuple[str, ...]:
    return (words("Day"), words("Job"), words("Meter"), words("Found"), words("Who"),
            words("Note"), words("Entry"))  # fmt: skip


def _job_rows(entries: Iterable[Written], past: Past, words: Words) -> Iterator[tuple[Cell, ...]]:
    for item in entries:
        entry = item.entry
        if isinstance(entry, Job):
            found = _seen(entry.part, entry.condition, entry.count, words)
            yield _row(past, item, words, (entry.task, _figure(entry.reading, words), found))


def found(past: Past, words: Words) -> Section | None:
    """What was found without a job, and what happened."""
    rows = tuple(_found_rows(past.entries, past, words))
    if not rows:
        return None
    head = (words("Day"), words("What"), words("Meter"), words("Found"), words("Who"),
            words("Note"), words("Entry"))  # fmt: skip
    return Section("found", words("Found and happened"), table=Table(head, rows, WIDTHS, (2, 6)))


def _found_rows(entries: Iterable[Written], past: Past, words: Words) -> Iterator[tuple[Cell, ...]]:
    for item in entries:
        entry = item.entry
        if isinstance(entry, Finding):
            seen = _seen(entry.part, entry.condition, entry.count, words)
            yield _row(past, item, words, (words("found"), _figure(entry.reading, words), seen))
        elif isinstance(entry, Incident):
            what = (words("happened"), _figure(entry.reading, words), entry.kind)
            yield _row(past, item, words, what)


def _seen(part: str, condition: str, count: int | None, words: Words) -> str:
    if not condition:
        return ""
    pieces = "" if count is None else f" ({words.number(count)})"
    return f"{part} {condition}{pieces}".strip()


def _figure(reading: int | None, words: Words) -> str:
    return "" if reading is None else words.hours(reading, 2)


def _row(
    past: Past, item: Written, words: Words, told: tuple[str, str, str]
) -> tuple[Cell, ...]:  # fmt: skip
    """A row of an entry; that it was withdrawn, by whom and when, is said beside it."""
    note = item.entry.note if item.entry is not None else ""
    struck = item.withdrawn
    noted: tuple[Piece, ...] = (Piece(note, struck),) if note else ()
    if struck:
        noted = (*noted, Piece(withdrawn_words(past, item.number, words)))
    return (
        *cells((words.day(item.on), *told, item.by), struck),
        Cell(noted or (Piece(""),)),
        *cells((str(item.number),), struck),
    )


def withdrawn_words(past: Past, number: int, words: Words) -> str:
    """Who withdrew an entry and when."""
    live = [item for item in past.entries if item.withdraws == number and not item.withdrawn]
    if not live:
        return words("withdrawn")
    last = live[-1]
    if not last.by:
        return words("withdrawn on {day} (entry {number})", day=words.day(last.written),
                     number=last.number)  # fmt: skip
    return words(
        "withdrawn by {role} on {day} (entry {number})",
        role=last.by, day=words.day(last.written), number=last.number,
    )  # fmt: skip


# -- changes, corrections -------------------------------------------------------------------------

_CHANGES = (Mount, Store, Swap, LayUp, Launch, MeterChange, Retire)


def changes(past: Past, words: Words) -> Section | None:
    """Boats, components, meters, lay-ups: everything that changed what it is or where."""
    rows = []
    for item in past.entries:
        if isinstance(item.entry, _CHANGES):
            texts = _row(past, item, words, (_change(item.entry, past, words), "", ""))
            rows.append((texts[0], texts[1], *texts[4:]))
    if not rows:
        return None
    head = (words("Day"), words("What"), words("Who"), words("Note"), words("Entry"))
    return Section(
        "changes", words("Changes"), table=Table(head, tuple(rows), (13, 42, 12, 25, 8), (4,))
    )


def _change(
    entry: Mount | Store | Swap | LayUp | Launch | MeterChange | Retire, past: Past, words: Words
) -> str:
    match entry:
        case Mount():
            return words("mounted on {boat}", boat=isolated(entry.boat))
        case Store():
            return words("into store")
        case Swap():
            other = entry.other if entry.engine == past.engine.name else entry.engine
            component = words(entry.component)
            return words(
                "exchanged its {component} with {engine}", component=component,
                engine=isolated(other),
            )  # fmt: skip
        case LayUp():
            return words("laid up")
        case Launch():
            return words("launched")
        case Retire():
            return words("retired")
        case MeterChange():
            return _meter(entry, words)


def _meter(entry: MeterChange, words: Words) -> str:
    old, new = _figure(entry.old, words), _figure(entry.new, words)
    if entry.new is None:
        return words("meter stopped or gone; last figure {old}", old=old or words("not known"))
    if entry.old is None:
        return words("meter fitted; first figure {new}", new=new)
    return words("meter replaced: old one's last {old}, new one's first {new}", old=old, new=new)


def taken_back(past: Past, words: Words) -> Section | None:
    """Entries that were withdrawn, and withdrawals that were."""
    rows, entries = [], {item.number: item for item in past.entries}
    for item in past.entries:
        if item.withdraws is not None:
            note = words("this withdrawal was itself withdrawn") if item.withdrawn else ""
            texts = (
                words.day(item.written), str(item.withdraws), _what(entries[item.withdraws], words),
                item.by, note, str(item.number),
            )  # fmt: skip
            rows.append(cells(texts, item.withdrawn))
    if not rows:
        return None
    head = (words("Day"), words("Entry withdrawn"), words("What"), words("Who"), words("Note"),
            words("Entry"))  # fmt: skip
    lead = words("Entries are never changed or removed: a mistake is withdrawn by a later one.")
    table = Table(head, tuple(rows), (14, 13, 28, 13, 24, 8), (1, 5))
    return Section("withdrawn", words("Withdrawn"), (lead,), table)


def _what(item: Written, words: Words) -> str:
    """What a withdrawn entry said, briefly; its own row has the rest."""
    entry, on = item.entry, words.day(item.on)
    if entry is None:
        return words("a withdrawal")
    if isinstance(entry, Reading):
        return words("{on}: reading {figure}", on=on, figure=words.hours(entry.reading, 2))
    if isinstance(entry, Run):
        return words("{on}: run {amount}", on=on, amount=_ran(entry, words))
    if isinstance(entry, Job | PutOff):
        return f"{on}: {entry.task}"
    if isinstance(entry, Finding):
        return f"{on}: {_seen(entry.part, entry.condition, entry.count, words)}"
    if isinstance(entry, Incident):
        return f"{on}: {entry.kind}"
    return on


# -- hours, month by month ------------------------------------------------------------------------


def months(past: Past, words: Words) -> Section | None:
    """Readings and runs as they were written, and the hours of each month."""
    rows = []
    told = [item for item in past.entries if isinstance(item.entry, Reading | Run)]
    for first, last in _months(past):
        mine = [item for item in told if first <= item.on <= last]
        begin = past.use.mix_to(max(first.toordinal(), past.since) - 1, past.last)
        end = past.use.mix_to(min(last.toordinal(), past.last), past.last)
        hours = sum(end[:3]) - sum(begin[:3])
        if not mine and not hours:
            continue
        rows.append(
            (
                cell(
                    words("{month} {year}", month=words(MONTHS[first.month - 1]), year=first.year)
                ),
                Cell(tuple(_figures(past, mine, Reading, words))),
                Cell(tuple(_figures(past, mine, Run, words))),
                cell(words.hours(hours)),
                cell(", ".join(dict.fromkeys(item.by for item in mine if item.by))),
            )
        )
    if not rows:
        return None
    head = (words("Month"), words("Meter, by day"), words("Runs, by day"), words("Hours"),
            words("Who"))  # fmt: skip
    lead = words("Day of the month: figure. Hours are those of the month, spread between readings.")
    return Section(
        "months",
        words("Readings and hours"),
        (lead,),
        Table(head, tuple(rows), (11, 34, 34, 8, 13), (3,)),
    )


def _months(past: Past) -> Iterator[tuple[date, date]]:
    on = [item.on for item in past.entries if isinstance(item.entry, Reading | Run)]
    first = min([past.engine.since, *on]).replace(day=1)
    while first.toordinal() <= past.last:
        after = first + relativedelta(months=1)
        yield first, after - relativedelta(days=1)
        first = after


def _figures(
    past: Past, items: Sequence[Written], kind: type[Reading | Run], words: Words
) -> Iterator[Piece]:
    """Day and figure of each; what was withdrawn is struck, and said with who and when."""
    mine = [item for item in items if isinstance(item.entry, kind)]
    for at, item in enumerate(mine):
        entry, end = item.entry, "," if at + 1 < len(mine) else ""
        assert entry is not None
        note = f" ({entry.note})" if entry.note else ""
        text = f"{item.on.day}:\u00a0{_figure_of(entry, words)}{note}"
        if item.withdrawn:
            yield Piece(text, struck=True)
            yield Piece(f"({withdrawn_words(past, item.number, words)}){end}")
        else:
            yield Piece(text + end)


def _figure_of(entry: Entry, words: Words) -> str:
    if isinstance(entry, Reading):
        return words.hours(entry.reading, 2)
    assert isinstance(entry, Run)
    return _ran(entry, words)


def _ran(entry: Run, words: Words) -> str:
    if entry.hours is None:
        amount = words("{fuel} l", fuel=words.hours(entry.fuel or 0, 2))
    else:
        amount = words("{hours} h", hours=words.hours(entry.hours, 2))
    told = [amount.replace(" ", "\u00a0")]
    if entry.water is not None:
        told.append(words(WORDS[entry.water]))
    if entry.hire_time:
        told.append(words("hire time"))
    return " ".join(told)
