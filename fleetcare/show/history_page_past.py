"""The second part of a history: boats over time, components and their way, where it is silent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from fleetcare.due.records import NO_RECORD
from fleetcare.fleet.waters import WORDS
from fleetcare.show.history_page_facts import GAP, LATE, Carried, Past
from fleetcare.show.history_page_form import Section, Table, cells
from fleetcare.show.words import Words, isolated

FEW_ROLES = 12


def boats(past: Past, words: Words) -> Section:
    """Where it was: boats, waters, store, laid up."""
    rows, afloat = [], False
    for stay in past.stays:
        boat = words("in store") if stay.boat is None else stay.boat
        afloat = afloat or stay.boat is not None
        water = words(WORDS[stay.water])
        if not afloat:
            water = words("not known, counts as {water}", water=water)
        use = "" if stay.boat is None else words(past.fleet.boats[stay.boat].use)
        rows.append(
            (stay.first, (
                _from(stay.first, words), _to(stay.last, past, words), boat, use,
                water, _ran(past, stay.first, stay.last, words),
            ))
        )  # fmt: skip
    rows += [
        (first, (_from(first, words), _to(last, past, words), words("laid up"), "", "", ""))
        for first, last in past.laid_up
    ]
    head = (words("From"), words("To"), words("Where"), words("Use"), words("Water"),
            words("Hours"))  # fmt: skip
    told = tuple(cells(texts) for _, texts in sorted(rows, key=lambda row: row[0]))
    return Section(
        "boats", words("Boats and waters"), table=Table(head, told, (16, 16, 30, 12, 14, 12), (5,))
    )


def _from(day: int, words: Words) -> str:
    return words.day(date.fromordinal(day))


def _to(day: int, past: Past, words: Words) -> str:
    if day >= past.last and past.retired is None:
        return words("today")
    return words.day(date.fromordinal(day))


def _ran(past: Past, first: int, last: int, words: Words) -> str:
    mix, before = past.use.mix_to(last, past.last), past.use.mix_to(first - 1, past.last)
    return words.hours(sum(mix[:3]) - sum(before[:3]))


def components(past: Past, words: Words) -> Section:
    """What it is made of: each component's way to it and hours, and where its own ones are."""
    rows = tuple(
        cells((words(item.kind), _origin(past, item, words), *_legs(past, item, words)))
        for item in past.components
    )
    head = (words("Component"), words("Came with"), words("Its way here"), words("Hours known"))
    lines = tuple(
        words(
            "Its own {component} is under {engine} now.",
            component=words(kind), engine=isolated(other),
        )
        for kind, other in past.away.items()
    )  # fmt: skip
    lead = words("Wear belongs to the component: its hours and jobs go with it.")
    table = Table(head, rows, (16, 18, 54, 12), (3,))
    return Section("components", words("Components"), (lead,), table, lines=lines)


def _origin(past: Past, item: Carried, words: Words) -> str:
    if item.came_with == past.engine.name:
        return words("this engine")
    return isolated(item.came_with)


def _legs(past: Past, item: Carried, words: Words) -> tuple[str, str]:
    told = []
    for leg in item.legs:
        first, hours = _from(leg.first, words), words.hours(leg.hours)
        engine = isolated(leg.engine)
        if leg.engine == past.engine.name and leg.last >= past.last:
            told.append(words("here since {day}, {hours} h", day=first, hours=hours))
        elif leg.engine == past.engine.name:
            last = _from(leg.last, words)
            told.append(
                words("here {first} to {last}, {hours} h", first=first, last=last, hours=hours)
            )
        else:
            span = words.span(date.fromordinal(leg.first), date.fromordinal(leg.last))
            told.append(
                words("under {engine} {span}, {hours} h", engine=engine, span=span, hours=hours)
            )
    return "; ".join(told), words.hours(item.hours)


# -- where it is silent ---------------------------------------------------------------------------


def gaps(past: Past, words: Words) -> Section:
    """What this history cannot tell, said as plainly as what it can."""
    lines = tuple(_gap_lines(past, words))
    lead = words("Nothing here was filled in or smoothed: where the log is silent it says so.")
    if not lines:
        lines = (words("No gap was found."),)
    return Section("gaps", words("Gaps"), (lead,), lines=lines)


def _gap_lines(past: Past, words: Words) -> Iterator[str]:
    if not past.engine.new:
        yield words(
            "What happened before {day} is known only where somebody told it afterwards.",
            day=words.day(past.engine.since),
        )
    for first, last, days in past.gaps:
        span = words.span(date.fromordinal(first), date.fromordinal(last))
        yield words.several(
            "No reading and no run for {count} day afloat: {span}.",
            "No reading and no run for {count} days afloat: {span}.", days, span=span,
        )  # fmt: skip
    if not past.gaps:
        yield words.several(
            "No stretch of more than {count} day afloat is without a reading or a run.",
            "No stretch of more than {count} days afloat is without a reading or a run.", GAP,
        )  # fmt: skip
    for first, last in past.use.closes.unmetered:
        if past.engine.meter or past.use.closes.changes:
            end = min(last, past.last)
            span = words.span(date.fromordinal(first + 1), date.fromordinal(end))
            yield words("No meter ran {span}; hours are those of its runs.", span=span)
    if past.use.scaled:
        yield words("Some runs add up to more than the meter shows; the meter counts.")
    unknown = [row.task for row in past.rows if row.status == NO_RECORD or row.life_used is None]
    never = [row.task for row in past.rows if row.task in unknown and row.rule.limits]
    if never:
        yield words("No record of when it was last done: {jobs}.", jobs=words.all_of(never))
    yield from _about_entries(past, words)


def _about_entries(past: Past, words: Words) -> Iterator[str]:
    own = [item for item in past.entries if item.entry is not None]
    unsigned = sum(not item.by for item in own)
    if unsigned:
        yield words.several(
            "{count} entry bears no role.", "{count} entries bear no role.", unsigned
        )
    late = sum((item.written - item.on).days > LATE for item in own)
    if late:
        yield words(
            "{number} of {entries} were written into this file more than {days} days after their "
            "day; what was brought in from tables counts so.",
            number=words.number(late), days=LATE,
            entries=words.several("{count} entry", "{count} entries", len(own)),
        )  # fmt: skip


def roles(past: Past, words: Words) -> Section:
    """Who signed the entries: roles, how many, from when to when."""
    own = [item for item in past.entries if item.entry is not None]
    counts = Counter(item.by for item in own)
    rows = []
    for role, count in sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))[:FEW_ROLES]:
        days = [item.on for item in own if item.by == role]
        span = words.span(min(days), max(days))
        rows.append(cells((role or words("no role"), words.number(count), span)))
    head = (words("Role"), words("Entries"), words("From the first to the last"))
    lines: tuple[str, ...] = ()
    if len(counts) > FEW_ROLES:
        lines = (words("And {number} more roles.", number=len(counts) - FEW_ROLES),)
    return Section(
        "roles", words("Who wrote it down"), table=Table(head, tuple(rows), (30, 15, 55), (1,)),
        lines=lines,
    )  # fmt: skip
