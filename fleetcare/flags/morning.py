"""The morning list: what must not go out today, one line a boat, worst first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.followups import Standing
from fleetcare.due.records import DUE, OVERDUE, Due
from fleetcare.flags.flag import Flag, in_order, state_words
from fleetcare.fleet.days import spoken
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import EngineLog, History

HELD, GO, GO_BUT = "held", "go", "go, but"
SHOWN = 3


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a boat may go out: its worst engine, the reason, the age of the figures in days."""

    boat: str
    engine: str
    verdict: str
    reason: str
    reading_age_days: int | None
    rank: tuple[object, ...]


def morning(
    rows: Sequence[Due], flags: Mapping[str, Flag], fleet: Fleet, history: History, as_of: date
) -> list[Verdict]:
    """A verdict on every boat with an engine that is mounted and not laid up."""
    by_engine: dict[str, list[Due]] = {}
    for row in rows:
        if row.boat is not None and not row.laid_up:
            by_engine.setdefault(row.engine, []).append(row)
    worst: dict[str, Verdict] = {}
    for engine, mine in by_engine.items():
        age = _age(fleet.engines[engine], history.of(engine), as_of)
        verdict = _verdict(engine, mine, flags.get(engine), age, as_of)
        before = worst.get(verdict.boat)
        if before is None or verdict.rank < before.rank:
            worst[verdict.boat] = verdict
    return sorted(worst.values(), key=lambda item: item.rank)


def laid_up_boats(rows: Sequence[Due], verdicts: Sequence[Verdict]) -> list[str]:
    """The boats that no verdict is given on, since every engine they carry is laid up."""
    told = {item.boat for item in verdicts}
    away = {row.boat for row in rows if row.boat is not None and row.laid_up}
    return sorted(away - told, key=natural)


def _verdict(
    engine: str, rows: list[Due], flag: Flag | None, age: int | None, as_of: date
) -> Verdict:
    boat = rows[0].boat or ""
    pressing = [row for row in in_order(rows, ()) if presses(row, as_of)]
    holds = [item for item in flag.standing if item.holds] if flag else []
    others = [item for item in flag.standing if not item.holds] if flag else []
    precursors = [row for row in pressing if row.is_precursor]
    word = HELD if holds else GO_BUT if pressing or others else GO
    reasons = _few([item.words(as_of) for item in holds], SHOWN)
    wanted = dict.fromkeys(task for item in holds for task in item.wanted)
    if wanted:
        reasons.append(f"wanted: {', '.join(wanted)}")
    reasons += [f"to be seen: {proof}" for proof in dict.fromkeys(_proofs(holds))]
    rest = [_row_words(row, as_of) for row in precursors]
    rest += [item.words(as_of) for item in others]
    rest += [_row_words(row, as_of) for row in pressing if not row.is_precursor]
    reasons += _few(rest, 1 if holds else SHOWN)
    life = max((row.life or 0 for row in precursors), default=0)
    rank = (
        (HELD, GO_BUT, GO).index(word), -len(holds), not others and not precursors,
        -life, -len(precursors), not pressing, natural(boat),
    )  # fmt: skip
    reason = "; ".join(reasons)
    return Verdict(boat, engine, word, reason, age, rank)


def _proofs(holds: list[Standing]) -> list[str]:
    return [item.proof for item in holds if item.proof]


def presses(row: Due, as_of: date) -> bool:
    """Whether a row keeps a boat from plainly going."""
    if row.is_precursor or row.status == OVERDUE:
        return row.is_precursor or row.put_off_until is None
    return (
        row.status == DUE
        and row.put_off_until is None
        and (row.due_on is None or row.due_on <= as_of.toordinal())
    )


def _row_words(row: Due, as_of: date) -> str:
    text = f"{row.task} {state_words(row, as_of)}"
    if row.rule.is_precursor:
        text += f" (leads to {row.rule.leads_to[0]})"
    if row.put_off_until is not None:
        text += f", put off to {spoken(date.fromordinal(row.put_off_until), as_of)}"
    return text


def _few(items: list[str], most: int) -> list[str]:
    """The first few, and how many more there are."""
    return items if len(items) <= most + 1 else [*items[:most], f"{len(items) - most} more"]


def _age(engine: Engine, log: EngineLog, as_of: date) -> int | None:
    """Days since the last figure or run of the engine; the figure it came with is one."""
    days = [*log.figure_days[-1:], *log.run_days[-1:], *(day for day, _, _ in log.fuel_runs[-1:])]
    days += [engine.since.toordinal()] if engine.reading is not None else []
    return as_of.toordinal() - max(days) if days else None
