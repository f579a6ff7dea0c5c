"""Which entries of sheets stand somewhere already: in the log, or in another sheet beside them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping

from fleetcare.exchange.accounts import source_of
from fleetcare.log.entries import Entry, Run

IN_THE_LOG = "the log"


class Tally:
    """What the log holds and what rows above will add to it.

    A file says each of its runs once, so its n-th equal run is the n-th that there is, wherever
    that came from: two copies of one sheet say the same whether they come at once or one by one.
    """

    def __init__(self, there: Mapping[tuple[object, ...], int]) -> None:
        self.there = there
        self.seen: Counter[tuple[str, tuple[object, ...]]] = Counter()
        self.taken: dict[tuple[object, ...], list[str]] = defaultdict(list)

    def where(self, key: tuple[object, ...], entry: Entry, place: str) -> str:
        """Where an entry stands already: in the log, or a row of another file; or nothing."""
        source = source_of(place)
        self.seen[source, key] += 1
        if not isinstance(entry, Run):
            if self.there.get(key):
                return IN_THE_LOG
            return next((item for item in self.taken[key] if source_of(item) != source), "")
        beyond = self.seen[source, key] - self.there.get(key, 0)
        if beyond <= 0:
            return IN_THE_LOG
        return self.taken[key][beyond - 1] if beyond <= len(self.taken[key]) else ""

    def take(self, keys: Iterable[tuple[object, ...]], place: str) -> None:
        """A row's entries are to be added."""
        for key in keys:
            self.taken[key].append(place)
