"""The first part of a history: what the engine is, how it stands today, what is due on it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.flags.flag import in_order
from fleetcare.fleet.waters import WORDS
from fleetcare.log.entries import MeterChange, PutOff
from fleetcare.show.history_page_facts import Past
from fleetcare.show.history_page_form import Cell, Section, Table, cell, cells
from fleetcare.show.words import Words, isolated
from fleetcare.show.words_due import coming, last_done, life, state, why

MOST_LIFE = 2000  # per mille: a bar ends at twice the limit


def kind_of(past: Past, words: Words) -> str:
    """What the engine is: family, power, stroke, year, steering."""
    engine = past.engine
    told = [engine.family] if engine.family else []
    if engine.hp:
        told.append(words("{power} hp", power=words.number(engine.hp, 1)))
    if engine.stroke:
        told.append(words("two-stroke") if engine.stroke == 2 else words("four-stroke"))
    if engine.year:
        told.append(words("built {year}", year=engine.year))
    if engine.steering:
        told.append(words("tiller") if engine.steering == "tiller" else words("remote steering"))
    return ", ".join(told)


def verdict_of(past: Past, words: Words) -> tuple[str, str]:
    """How it stands in a line, and the look of that line."""
    holds = [item for item in past.standing if item.holds]
    if past.retired is not None:
        day = words.day(date.fromordinal(past.retired))
        return words("Retired since {day}: it is on no list any more.", day=day), ""
    if holds:
        told = words.all_of([item_words(past, words, item.day, item.what) for item in holds])
        return words("Held, it must not go out: {what}.", what=told), "held"
    precursors = [row for row in past.rows if row.is_precursor]
    if precursors:
        jobs = words.all_of([row.task for row in in_order(precursors, ())])
        look = "overdue" if any(row.status == OVERDUE for row in precursors) else "no-record"
        return words(
            "Not held; but this leads to overheating or a seized swivel: {jobs}.", jobs=jobs
        ), look
    return words("Not held, and nothing that leads to overheating or a seized swivel waits."), ""


def item_words(past: Past, words: Words, day: int, what: str) -> str:
    """What was found or happened, and when."""
    on = words.day(date.fromordinal(day), past.as_of)
    return words("{what} on {day}", what=words.again(what), day=on)


def facts_of(past: Past, words: Words) -> Iterator[tuple[str, str]]:
    """What stands at the head: pairs of what and which."""
    engine = past.engine
    if engine.also:
        yield words("Also called"), ", ".join(isolated(name) for name in engine.also)
    since = words.day(engine.since)
    if engine.reading is not None:
        read = words.hours(engine.reading, 2)
        since = words("{day}, when its meter read {figure}", day=since, figure=read)
    yield words("Known since"), since + (f" ({words('new then')})" if engine.new else "")
    yield words("Today"), _place(past, words)
    yield words("Engine hours"), _hours(past, words)
    yield words("Run since then"), _run(past, words)
    yield words("The log"), _counts(past, words)
    yield words("Rule set"), engine.rules or past.fleet.settings.rules
    if engine.without:
        yield words("Has no"), ", ".join(engine.without)


def _place(past: Past, words: Words) -> str:
    stay = past.stays[-1] if past.stays else None
    if stay is None or stay.boat is None:
        where = words("in store")
    else:
        where = words(
            "on {boat}, in {water} water", boat=isolated(stay.boat), water=words(WORDS[stay.water])
        )
    if past.laid_up and past.laid_up[-1][1] == past.last and _is_laid_up(past):
        day = words.day(date.fromordinal(past.laid_up[-1][0]))
        where += "; " + words("laid up since {day}", day=day)
    return where


def _is_laid_up(past: Past) -> bool:
    return any(row.laid_up for row in past.rows) or past.retired is not None


def _hours(past: Past, words: Words) -> str:
    now = words.hours(past.use.hours_to(past.last, past.last))
    if not past.engine.meter and not past.use.closes.changes:
        return words("{hours} h by its runs; it has no meter", hours=now)
    readings = [
        (item.on, item.number, figure)
        for item in past.entries
        if not item.withdrawn and not isinstance(item.entry, MeterChange)
        if (figure := getattr(item.entry, "reading", None)) is not None
    ]
    if not readings:
        return words("{hours} h", hours=now)
    on, _, figure = max(readings)
    read = words.hours(figure, 2)
    return words(
        "{hours} h; last read {figure} on {day}", hours=now, figure=read, day=words.day(on)
    )


def _run(past: Past, words: Words) -> str:
    mix = past.use.mix_to(past.last, past.last)
    told = [
        words(
            "{hours} h in {water} water", hours=words.hours(mix[water]), water=words(WORDS[water])
        )
        for water in range(3)
        if mix[water]
    ]
    likely = max((row.likely_hours for row in past.rows), default=0)
    text = ", ".join(told) or words("nothing")
    if likely:
        text += "; " + words("likely {hours} h more", hours=words.hours(round(likely)))
    return text


def _counts(past: Past, words: Words) -> str:
    own = [item for item in past.entries if item.entry is not None]
    withdrawn = sum(item.withdrawn for item in own)
    text = words.several("{count} entry", "{count} entries", len(own))
    if own:
        text += " " + words.span(min(item.on for item in own), max(item.on for item in own))
    if withdrawn:
        text += "; " + words.several(
            "{count} of them withdrawn, struck through below",
            "{count} of them withdrawn, struck through below", withdrawn,
        )  # fmt: skip
    return text


# -- what waits, what is due, what was put off ----------------------------------------------------


def waiting(past: Past, words: Words) -> Section | None:
    """What was found or happened and is not answered yet."""
    if not past.standing:
        return None
    rows = tuple(
        (
            cell(words("held") if item.holds else words("wanted"), "held" if item.holds else "due"),
            cell(words.again(item.what)),
            cell(words.day(date.fromordinal(item.day))),
            cell(", ".join(item.wanted)),
            cell(item.proof),
            cell(item.by),
        )
        for item in past.standing
    )
    head = (words("State"), words("What"), words("Since"), words("Jobs wanted"),
            words("To be seen"), words("Said by"))  # fmt: skip
    return Section(
        "waiting", words("What waits"), table=Table(head, rows, (10, 22, 12, 24, 22, 10))
    )


def due_now(past: Past, words: Words) -> Section:
    """Every job with the life used today."""
    title = words("Due now, and the life used of every job")
    if past.retired is not None:
        return Section("due", title, (words("A retired engine has no due list."),))
    counts = [
        words("{number} {status}", number=number, status=words(status))
        for status in (OVERDUE, NO_RECORD, DUE, CLEAR)
        if (number := sum(row.status == status for row in past.rows))
    ]
    lead = words(
        "{counts}. The bar ends at twice the limit, its line is the limit.",
        counts=", ".join(counts),
    )
    rows = tuple(
        (
            cell(row.task, small=row.rule.title),
            cell(state(row, past.as_of, words), row.status.replace(" ", "-")),
            cell(life(row, words), life=_bar(row)),
            cell(coming(row, past.as_of, words)),
            cell(last_done(row, words)),
            cell("; ".join(filter(None, _whys(row, past, words)))),
        )
        for row in in_order(past.rows, ())
    )
    head = (words("Job"), words("State"), words("Life used"), words("Comes due"),
            words("Last done"), words("Why"))  # fmt: skip
    return Section("due", title, (lead,), Table(head, rows, (22, 13, 11, 14, 13, 27)))


def _bar(row: Due) -> int | None:
    if row.life is None:
        return None
    return min(MOST_LIFE, round(row.life * 1000))


def _whys(row: Due, past: Past, words: Words) -> Iterator[str]:
    if row.rule.leads_to and row.status != CLEAR:
        harms = ", ".join(words(harm) for harm in row.rule.leads_to)
        yield words("leads to {harms}", harms=harms)
    yield why(row, words)
    if row.put_off_until is not None:
        day = words.day(date.fromordinal(row.put_off_until), past.as_of)
        yield words("put off to {day}: {because}", day=day, because=row.because)


def put_off(past: Past, words: Words) -> Section | None:
    """Every time a job was put off, and why."""
    told = [item for item in past.entries if isinstance(item.entry, PutOff)]
    if not told:
        return None
    rows: list[tuple[Cell, ...]] = []
    for item in told:
        entry = item.entry
        assert isinstance(entry, PutOff)
        texts = (
            words.day(item.on), entry.task, words.day(entry.until), entry.note, item.by,
            str(item.number),
        )  # fmt: skip
        rows.append(cells(texts, item.withdrawn))
    head = (words("Day"), words("Job"), words("Until"), words("Because"), words("Who"),
            words("Entry"))  # fmt: skip
    return Section(
        "put-off", words("Put off"), table=Table(head, tuple(rows), (13, 18, 13, 36, 12, 8), (5,))
    )
