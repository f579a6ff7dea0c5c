"""The order of lists, and the flag on an engine: its precursors and what stands."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.flags.standing import Standing
from fleetcare.fleet.days import spoken
from fleetcare.fleet.names import natural

FAR = 9_999_999


def in_order(rows: Iterable[Due], held: Collection[str]) -> list[Due]:
    """Rows as every list shows them.

    Those of held engines first, then overdue precursors by life used, precursors without record,
    other overdue jobs, due ones by date, no record, clear.
    """
    return sorted(rows, key=lambda row: _place(row, row.engine in held))


def _place(row: Due, held: bool) -> tuple[object, ...]:
    name = (natural(row.engine), row.rule.name)
    rank = {OVERDUE: 2, DUE: 3, NO_RECORD: 4, CLEAR: 5}[row.status]
    if row.is_precursor:
        rank = 0 if row.status == OVERDUE else 1
    life = row.life or 0
    # the float decides nearly always, in a tenth of the time; the exact share where it does not
    by_life = (-float(life), -life) if row.status == OVERDUE else (0.0, 0)
    due = row.due_on or FAR if row.status in (DUE, CLEAR) else 0
    return (not held, rank, by_life, due, row.overdue_since or FAR, *name)


@dataclass(frozen=True, slots=True)
class Flag:
    """An engine that something is wrong with."""

    engine: str
    boat: str | None
    precursors: tuple[Due, ...]
    standing: tuple[Standing, ...]

    @property
    def held(self) -> bool:
        """Whether it must not go out."""
        return any(item.holds for item in self.standing)

    @property
    def hold_words(self) -> str:
        """What holds it, what that wants and what is to be seen; an empty text for nothing."""
        holds = [item for item in self.standing if item.holds]
        said = [f"{item.what} on {spoken(date.fromordinal(item.day))}" for item in holds]
        wanted = dict.fromkeys(task for item in holds for task in item.wanted)
        said += [f"wanted: {', '.join(wanted)}"] if wanted else []
        proofs = dict.fromkeys(item.proof for item in holds if item.proof)
        return "; ".join([*said, *(f"to be seen: {proof}" for proof in proofs)])


def flags(rows: Sequence[Due], stands: Mapping[str, Sequence[Standing]]) -> dict[str, Flag]:
    """The flag of every engine that has precursors, or findings and incidents that stand."""
    by_engine: dict[str, list[Due]] = {}
    boats: dict[str, str | None] = {}
    for row in rows:
        boats[row.engine] = row.boat
        if row.is_precursor:
            by_engine.setdefault(row.engine, []).append(row)
    names = sorted({*by_engine, *stands} & set(boats), key=natural)
    return {
        name: Flag(
            name,
            boats[name],
            tuple(in_order(by_engine.get(name, ()), ())),
            tuple(stands.get(name, ())),
        )
        for name in names
    }


def held_engines(stands: Mapping[str, Sequence[Standing]]) -> set[str]:
    """The engines that must not go out."""
    return {name for name, items in stands.items() if any(item.holds for item in items)}


def alarming(row: Due) -> bool:
    """Whether `--check` must raise it: a precursor on an engine that is mounted, not laid up."""
    return row.is_precursor and row.boat is not None and not row.laid_up


def state_words(row: Due, as_of: date) -> str:
    """A row's status with its day: overdue since 2 Jun 2025."""
    if row.status == OVERDUE and row.overdue_since:
        return f"overdue since {spoken(date.fromordinal(row.overdue_since), as_of)}"
    if row.raised_by_likely_hours:
        return "due, take a reading"
    if row.status == DUE and row.due_on:
        return f"due {spoken(date.fromordinal(row.due_on), as_of)}"
    return row.status
