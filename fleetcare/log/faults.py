"""What a log may not hold: refused before anything is written.

What is taken, but worth a careful eye, is named by `usage/doubts.py`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date

from fleetcare.errors import Fault
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import EngineLog, Exchange, History, Meter

MOST_A_DAY = 2400  # hundredths of an hour


def hours_text(hundredths: int) -> str:
    """Hundredths of an hour as a person writes them: 412.0, 3.25."""
    whole, rest = divmod(hundredths, 100)
    return f"{whole}.{rest:02d}" if rest % 10 else f"{whole}.{rest // 10}"


def faults(fleet: Fleet, history: History, engines: Iterable[str] | None = None) -> list[Fault]:
    """Everything wrong with the logs of these engines (all, when none are given)."""
    found: list[Fault] = []
    for name in fleet.engines if engines is None else engines:
        engine, log = fleet.engines[name], history.of(name)
        found += _before_since(engine, log, history)
        found += _earlier_jobs(engine, log)
        found += _meter_faults(engine, log)
        found += _too_long_days(engine, log)
        found += _twice_a_day(engine, log)
        found += _after_retired(engine, log, history)
    found += _boat_faults(fleet, history)
    found += _swap_faults(fleet, history)
    return found


def _place(engine: Engine) -> str:
    return f'engine "{engine.name}"'


def _day(day: int) -> str:
    return date.fromordinal(day).isoformat()


def _days_of_entries(engine: Engine, log: EngineLog, history: History) -> Iterator[tuple[int, str]]:
    """The days of everything but jobs and readings, with its event."""
    yield from ((day, "a run") for day in log.run_days[:1] + log.run_days[-1:])
    yield from ((day, "a run") for day, _, _ in log.fuel_runs)
    yield from ((meter.day, "a meter entry") for meter in log.meters)
    yield from ((seen.day, "a finding") for seen in log.seen if not seen.task)
    yield from ((day, "an incident") for day, _ in log.incidents)
    yield from ((day, "a mount" if boat else "a store") for day, boat in log.places)
    yield from ((day, f"a {word}") for day, word in log.seasons)
    yield from ((item.day, "a put-off") for item in log.put_offs)
    yield from (
        (swap.day, "a swap") for swap in history.swaps if engine.name in (swap.engine, swap.other)
    )
    if log.retired is not None:
        yield log.retired, "its retirement"


def _before_since(engine: Engine, log: EngineLog, history: History) -> Iterator[Fault]:
    since = engine.since.toordinal()
    first = min(_days_of_entries(engine, log, history), default=(since, ""))
    early = bisect_left(log.figure_days, since)
    marks = Counter(_earlier_marks(engine, log))
    spare = Counter(zip(log.figure_days[:early], log.figures[:early], strict=True)) - marks
    if spare:
        first = min(first, (min(spare)[0], "a reading"))
    if first[0] < since:
        yield Fault(
            _place(engine),
            f"has {first[1]} on {_day(first[0])}, before the fleet knew it ({engine.since})",
            "Only jobs are taken from before that day",
        )


def _earlier_marks(engine: Engine, log: EngineLog) -> list[tuple[int, int]]:
    """The days and figures of jobs from before the engine was known, in order."""
    since = engine.since.toordinal()
    return sorted(
        (mark.day, mark.reading)
        for jobs in log.jobs.values()
        for mark in jobs
        if mark.day < since and mark.reading is not None
    )


def _earlier_jobs(engine: Engine, log: EngineLog) -> Iterator[Fault]:
    """Figures of such jobs that do not rise up to those of the engine's first day."""
    since = engine.since.toordinal()
    last_day, last = since, 0
    for day, reading in _earlier_marks(engine, log):
        if not engine.meter:
            yield _no_meter(engine, day, reading)
        elif reading < last or reading > (engine.reading or 0):
            yield Fault(
                _place(engine),
                f"has a job on {_day(day)} at {hours_text(reading)} h, which its other readings "
                f"do not allow (it read {hours_text(engine.reading or 0)} on {engine.since})",
            )
        if reading >= last:
            last_day, last = day, reading
    at = bisect_left(log.figure_days, since)
    on_since = log.figures[at : bisect_left(log.figure_days, since + 1)]
    replaced = any(meter.day == since for meter in log.meters)
    if engine.meter and not replaced and on_since and min(on_since) < last:
        yield _falls(engine, since, min(on_since), last_day, last)


def _no_meter(engine: Engine, day: int, figure: int) -> Fault:
    return Fault(
        _place(engine),
        f"has no meter on {_day(day)}, so it cannot read {hours_text(figure)}",
        "Log its runs, or say that a meter was fitted: fleetcare reading … --fitted",
    )


def _falls(engine: Engine, day: int, figure: int, last_day: int, last: int) -> Fault:
    name = f'"{engine.name}"' if " " in engine.name else engine.name
    return Fault(
        _place(engine),
        f"reads {hours_text(figure)} on {_day(day)} but read {hours_text(last)} on "
        f"{_day(last_day)}",
        f"A slip now: give the right figure. A slip before: fleetcare log {name} shows the entry "
        f"to undo. Another meter: fleetcare reading {name} {hours_text(figure)} --on {_day(day)} "
        f"--old-meter {hours_text(max(last, figure))}",
    )


def _meter_faults(engine: Engine, log: EngineLog) -> Iterator[Fault]:
    """Figures that fall, figures without a meter, meter entries that do not fit."""
    since = engine.since.toordinal()
    at = bisect_left(log.figure_days, since)
    days, figures = log.figure_days[at:], log.figures[at:]
    if not log.meters and engine.meter and _rises(days, figures, engine.reading or 0, since):
        return
    metered = engine.meter
    last_day, last = since, engine.reading or 0
    low = 0  # on the since day figures may come in any order
    meters = {meter.day: meter for meter in log.meters}
    by_day: dict[int, list[int]] = {}
    for day, figure in zip(days, figures, strict=True):
        by_day.setdefault(day, []).append(figure)
    for day in sorted({*by_day, *meters}):
        given = sorted(by_day.get(day, []))
        if day in meters:
            yield from _change_faults(engine, meters[day], given, metered, last_day, last)
            meter = meters[day]
            metered = meter.new is not None
            floor = meter.new or 0
            kept = [figure for figure in given if not _is_old(meter, last, figure)]
            last_day, last, low = day, max([floor, *kept]), floor
            continue
        if not metered:
            yield _no_meter(engine, day, given[0])
            continue
        if given[0] < (low if day == last_day else last):
            yield _falls(engine, day, given[0], last_day, last)
        last_day, low, last = day, 0, max(last, given[-1])


def _rises(days: list[int], figures: list[int], reading: int, since: int) -> bool:
    """Whether every day's figures are at or above all earlier ones: the quick answer."""
    if days and days[0] == since:
        return False
    if figures and figures[0] < reading:
        return False
    return figures == sorted(figures)


def _is_old(meter: Meter, last: int, figure: int) -> bool:
    return meter.old is not None and last <= figure <= meter.old


def _change_faults(
    engine: Engine, meter: Meter, given: list[int], metered: bool, last_day: int, last: int
) -> Iterator[Fault]:
    if meter.old is None and meter.new is None:
        yield Fault(_place(engine), f"has a meter entry without a figure on {_day(meter.day)}")
    elif meter.old is not None and not metered:
        yield Fault(_place(engine), f"had no meter before {_day(meter.day)} that could have read")
    elif meter.old is not None and meter.old < last:
        yield _falls(engine, meter.day, meter.old, last_day, last)
    elif meter.old is None and metered:
        yield Fault(
            _place(engine),
            f"already has a meter on {_day(meter.day)}",
            "Give the old one's last figure too: --old-meter FIGURE",
        )
    for figure in given:
        if _is_old(meter, last, figure):
            continue
        if meter.new is None or figure < meter.new:
            yield Fault(
                _place(engine),
                f"reads {hours_text(figure)} on {_day(meter.day)}, which neither the old meter "
                f"nor the new one can have shown",
            )


def _too_long_days(engine: Engine, log: EngineLog) -> Iterator[Fault]:
    hours: Counter[int] = Counter()
    fuel: Counter[int] = Counter()
    for day, run in zip(log.run_days, log.run_hours, strict=True):
        hours[day] += run
    for day, burned, _ in log.fuel_runs:
        fuel[day] += burned
    for day, total in hours.items():
        if total > MOST_A_DAY:
            yield Fault(
                _place(engine), f"ran {hours_text(total)} h on {_day(day)}, more than a day"
            )
        elif day in fuel and fuel[day] > (MOST_A_DAY - total) * engine.burn:
            yield Fault(_place(engine), f"ran and burned more on {_day(day)} than a day allows")
    for day, burned in fuel.items():
        if day not in hours and burned > MOST_A_DAY * engine.burn:
            yield Fault(_place(engine), f"burned more on {_day(day)} than a day allows")
    yield from _too_steep(engine, log)


def _too_steep(engine: Engine, log: EngineLog) -> Iterator[Fault]:
    """More than 24 hours a day between the closes of two days with a figure."""
    since = engine.since.toordinal()
    meters = {meter.day: meter for meter in log.meters}
    by_day: dict[int, list[int]] = {since: [engine.reading or 0]} if engine.meter else {}
    for day, figure in zip(log.figure_days, log.figures, strict=True):
        by_day.setdefault(day, []).append(figure)
    last_day, last = since, None
    for day in sorted({*by_day, *meters}):
        given, meter = by_day.get(day, []), meters.get(day)
        if meter is None:
            close: int | None = max(given)
            ran = 0 if last is None else max(given) - last
        elif day == since:  # the figure of the first day was read at its close
            last_day, last = day, _across(meter, given, engine.reading or 0)[0]
            continue
        else:
            close, ran = _across(meter, given, last)
            last_day = day - 1 if last is None else last_day
        if ran > 0 and ran > MOST_A_DAY * (day - last_day):
            yield Fault(
                _place(engine),
                f"ran {hours_text(ran)} h by its meter from {_day(last_day)} to {_day(day)}, more "
                f"than 24 h a day",
                "One of the two figures is a slip, or the meter was replaced in between",
            )
        last_day, last = day, close


def _across(meter: Meter, given: list[int], last: int | None) -> tuple[int | None, int]:
    """The close on the day of a meter entry, and the hours since the close before it."""
    old = 0 if meter.old is None or last is None else meter.old - last
    if meter.new is None:
        return None, old
    kept = [figure for figure in given if not _is_old(meter, last or 0, figure)]
    close = max(meter.new, *kept) if kept else meter.new
    return close, old + close - meter.new


def _twice_a_day(engine: Engine, log: EngineLog) -> Iterator[Fault]:
    for what, days in (
        ("two mounts", [day for day, boat in log.places if boat is not None]),
        ("two entries into store", [day for day, boat in log.places if boat is None]),
        ("two meter entries", [meter.day for meter in log.meters]),
    ):
        for day in _twice(days):
            yield Fault(_place(engine), f"has {what} on {_day(day)}")
    boat = engine.boat
    for day, onto in log.places:
        if onto is not None and onto == boat:
            yield Fault(_place(engine), f'is on boat "{onto}" already on {_day(day)}')
        if onto is None and boat is None:
            yield Fault(_place(engine), f"is in store already on {_day(day)}")
        boat = onto


def _after_retired(engine: Engine, log: EngineLog, history: History) -> Iterator[Fault]:
    if log.retired is None:
        return
    days = [day for day, _ in _days_of_entries(engine, log, history)]
    days += log.figure_days[-1:]
    days += [mark.day for jobs in log.jobs.values() for mark in jobs[-1:]]
    if days and max(days) > log.retired:
        yield Fault(
            _place(engine),
            f"was retired on {_day(log.retired)} but has an entry on {_day(max(days))}",
        )


def _twice(days: Iterable[int]) -> list[int]:
    return [day for day, count in Counter(days).items() if count > 1]


def _boat_faults(fleet: Fleet, history: History) -> Iterator[Fault]:
    for boat, moves in history.moves.items():
        days = [day for day, _ in moves]
        for day in _twice(days):
            yield Fault(f'boat "{boat}"', f"has two moves on {_day(day)}")
        if days and min(days) < fleet.boats[boat].since.toordinal():
            yield Fault(f'boat "{boat}"', f"has a move on {_day(min(days))}, before it was known")


def _swap_faults(fleet: Fleet, history: History) -> Iterator[Fault]:
    touched: set[tuple[int, str, str]] = set()
    for swap in history.swaps:
        if swap.engine == swap.other:
            yield Fault(f'engine "{swap.engine}"', "cannot swap with itself")
            continue
        for name in (swap.engine, swap.other):
            place = (swap.day, name, swap.component)
            if place in touched:
                yield Fault(
                    f'engine "{name}"', f"has two swaps of its {swap.component} on {_day(swap.day)}"
                )
            touched.add(place)
        yield from _unknown_then(fleet, swap)


def _unknown_then(fleet: Fleet, swap: Exchange) -> Iterator[Fault]:
    for name in (swap.engine, swap.other):
        if fleet.engines[name].since.toordinal() > swap.day:
            yield Fault(
                f'engine "{name}"', f"was not yet known on {_day(swap.day)}, the day of the swap"
            )


def hanging_on(history: History, swap: Exchange) -> Exchange | None:
    """A later swap that stands on this one: it touches one of the same places."""
    places = {swap.engine, swap.other}
    later = (
        other
        for other in history.swaps
        if (other.day, other.number) > (swap.day, swap.number)
        and other.component == swap.component
        and places & {other.engine, other.other}
    )
    return next(later, None)
