"""Which rows the log can hold: each that breaks it is found by halving, the others are kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from copy import copy, deepcopy

from fleetcare.errors import Fault
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults as log_faults
from fleetcare.log.history import History
from fleetcare.log.order import EVENTS
from fleetcare.store.append import concerned

Placed = tuple[str, Entry]
RANKS = {kind: rank for rank, kind in enumerate(EVENTS)}


def sift(
    fleet: Fleet, history: History, fresh: Sequence[Placed]
) -> tuple[list[Placed], list[tuple[str, Fault]]]:
    """The rows that can be taken one after another by day, and the fault of each that cannot."""
    good: list[Placed] = []
    bad: list[tuple[str, Fault]] = []
    waiting: dict[frozenset[str], list[Placed]] = defaultdict(list)
    for placed in sorted(fresh, key=lambda item: (item[1].on, RANKS[type(item[1])])):
        waiting[frozenset(concerned([placed[1]]))].append(placed)
    for names, group in waiting.items():
        engines = sorted(names)
        before = len(log_faults(fleet, history, engines))
        good += _sifted(fleet, history, group, engines, before, bad)
    return good, bad


def _sifted(
    fleet: Fleet,
    history: History,
    group: list[Placed],
    engines: list[str],
    before: int,
    bad: list[tuple[str, Fault]],
) -> list[Placed]:
    """Halve a group until the rows that break the log stand alone."""
    trial = _copy(history, engines)
    for _, entry in group:
        trial.add(entry)
    trial.sort()
    found = log_faults(fleet, trial, engines)
    if len(found) <= before:
        history.engines.update(trial.engines)
        history.moves, history.swaps = trial.moves, trial.swaps
        history.boats_retired = trial.boats_retired
        return group
    if len(group) == 1:
        place, _ = group[0]
        bad.append((place, found[-1] if not found[before:] else found[before]))
        return []
    middle = len(group) // 2
    return [
        *_sifted(fleet, history, group[:middle], engines, before, bad),
        *_sifted(fleet, history, group[middle:], engines, before, bad),
    ]


def _copy(history: History, engines: list[str]) -> History:
    """A history of these engines alone, which may be added to."""
    return History(
        engines={name: deepcopy(history.of(name)) for name in engines},
        moves={boat: list(moves) for boat, moves in history.moves.items()},
        swaps=copy(history.swaps),
        boats_retired=dict(history.boats_retired),
    )
