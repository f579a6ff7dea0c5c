"""A hire fleet of any size for benchmarks: every engine read and run once a week, all year."""

from __future__ import annotations

from datetime import date, timedelta

from tests.trials.example_tables import Dice, Row, Tables, figure, row

_FIRST = date(2021, 1, 3)  # a Sunday: the round of readings is on Sundays
_FAMILIES = (("single 4", "4"), ("single 6", "6"), ("twin 10", "9.9"))
_TASKS = ("swivel grease", "gear oil", "swivel grease", "impeller", "thermostat")
_WEEKS_BETWEEN_JOBS = 9


def make(n_engines: int, years: int, seed: int) -> Tables:
    """The four tables of a fleet of `n_engines`, each on a boat of its own, over `years`.

    52 weeks a year, each with one `run` and one `reading` an engine, and a job every nine weeks;
    one boat in twenty moves to brackish water halfway, one meter in twenty-five is replaced.
    Same arguments, same tables. Nothing is dated after `last_day(years)`.
    """
    if n_engines < 1 or years < 1:
        raise ValueError("a fleet has at least one engine and one year")
    dice = Dice(seed)
    engines = [_engine(number, dice) for number in range(n_engines)]
    boats = [
        row("boats", boat=one["boat"], use="hire", water="fresh", since=_FIRST.isoformat())
        for one in engines
    ]
    settings = [
        row("settings", name=name, value=value)
        for name, value in (("rules", "hire"), ("hemisphere", "tropics"))
    ]
    log: list[Row] = []
    meters = [int(one["reading"].replace(".", "")) for one in engines]
    for week in range(1, 52 * years + 1):
        _week(week, years, engines, meters, log, dice)
    return {"settings": settings, "boats": boats, "engines": engines, "log": log}


def last_day(years: int) -> date:
    """The day of the last reading that `make` writes for so many years."""
    return _FIRST + timedelta(7 * 52 * years)


def _engine(number: int, dice: Dice) -> Row:
    family, hp = _FAMILIES[number % 3]
    return row(
        "engines",
        engine=f"S-{number + 1:04}",
        boat=f"Hull {number + 1}",
        family=family,
        hp=hp,
        stroke="4",
        meter="yes",
        digits="5",
        steering="tiller",
        rules="hire",
        since=_FIRST.isoformat(),
        reading=figure(dice.between(0, 6000)),
        new="no",
    )


def _week(
    week: int, years: int, engines: list[Row], meters: list[int], log: list[Row], dice: Dice
) -> None:
    """Append one week: moves and meters on Monday, runs on Saturday, jobs and readings Sunday."""
    sunday = _FIRST + timedelta(7 * week)
    monday, saturday, on = (sunday - timedelta(back) for back in (6, 1, 0))
    halfway = week == 26 * years
    for number, engine in enumerate(engines):
        name = engine["engine"]
        if halfway and number % 20 == 7:
            log.append(
                row("log", on=monday.isoformat(), event="move", boat=engine["boat"],
                    water="brackish", by="office")
            )  # fmt: skip
        if halfway and number % 25 == 3:
            log.append(
                row("log", on=monday.isoformat(), event="meter", engine=name, reading="0.0",
                    old_reading=figure(meters[number]), by="workshop")
            )  # fmt: skip
            meters[number] = 0
    for number, engine in enumerate(engines):
        ran = dice.outing(5, 120)
        # What the clipboard missed shows on the meter.
        meters[number] += ran + (dice.between(1, 30) if dice.chance(0.2) else 0)
        log.append(
            row("log", on=saturday.isoformat(), event="run", engine=engine["engine"],
                hours=figure(ran), by="jetty")
        )  # fmt: skip
    for number, engine in enumerate(engines):
        log.append(
            row("log", on=on.isoformat(), event="reading", engine=engine["engine"],
                reading=figure(meters[number]), by="jetty")
        )  # fmt: skip
    for number, engine in enumerate(engines):
        turn, due = divmod(week + number, _WEEKS_BETWEEN_JOBS)
        if due == 0:
            log.append(
                row("log", on=on.isoformat(), event="job", engine=engine["engine"],
                    task=_TASKS[turn % len(_TASKS)], reading=figure(meters[number]),
                    by="workshop")
            )  # fmt: skip
