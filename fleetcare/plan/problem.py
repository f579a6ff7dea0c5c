"""The problem of the plan in whole numbers, as solvers see it, and what an answer is.

Days are numbered from 0, the day of planning, to `days` - 1. An answer gives each job a day or
None, in the order of `jobs`. Minutes are workshop minutes; costs are hundredths of one, none of
them below 0. What an answer costs and what it breaks is said by `plan/evaluate.py` alone; solvers
only propose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Answer = Sequence[int | None]


@dataclass(frozen=True, slots=True)
class Place:
    """Where boats come in: minutes of each day (0 is closed), and boats in on one day at most."""

    name: str
    minutes: tuple[int, ...]
    boats_out: int


@dataclass(frozen=True, slots=True)
class Supply:
    """One item of the shelf: how many will have come by each day, receipts before uses."""

    item: str
    by_day: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """One engine as the workshop sees it.

    `boat` is an index, None for an engine in store, which needs no boat. The engines of one boat
    are at one place. `steps` are the minutes of its access steps, by the bit that stands for each.
    """

    name: str
    boat: int | None
    place: int
    steps: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One job wanted of one engine.

    `access` has a bit for every step it needs, those included in others too. `allowed` are the
    days it may stand on, rising (open, not booked, minutes enough for it alone with its access,
    parts there). `costs` is by day, of all days; `unplaced` what leaving it costs, its fixed
    penalty included. `due` is the day after which it is late, at least 0, or None when that is
    not within the days. `first` marks what holds the engine: no job of it that is not `first` may
    stand on an earlier day than any that is, nor stand at all while one that is has no day; only a
    job with an allowed day is so marked. `uses` are pairs of item and count.
    """

    engine: int
    task: str
    minutes: int
    access: int
    precursor: bool
    due: int | None
    allowed: tuple[int, ...]
    costs: tuple[int, ...]
    unplaced: int
    first: bool = False
    uses: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a plan must hold to; `boat_day` is the cost of one boat in on one day.

    `busy` are the days on which a boat cannot come in, by boat. `opening` are the items that
    opening each access step of an engine uses up, by engine and bit: once a visit. `kept` is the
    day each job has in the plan that is kept, None where it has none (no entries: no kept plan). A
    job whose kept day lies before `frozen` stays on it while that day is allowed and what stays
    still fits together (`evaluate.staying`); `moving` is the cost of any other move, leaving a job
    out included.
    """

    days: int
    places: tuple[Place, ...]
    boats: tuple[str, ...]
    busy: tuple[frozenset[int], ...]
    benches: tuple[Bench, ...]
    jobs: tuple[Job, ...]
    boat_day: int
    supplies: tuple[Supply, ...] = ()
    opening: tuple[tuple[tuple[tuple[int, int], ...], ...], ...] = ()
    kept: tuple[int | None, ...] = ()
    frozen: int = 0
    moving: int = 0
