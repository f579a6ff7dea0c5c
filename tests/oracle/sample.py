"""So many fleets, all different, the same ones each time.

One long run of hypothesis tries variations on what it drew before: of five hundred fleets more
than half have a log that another has. Many short runs, each from its own seed, are freer.
"""

from __future__ import annotations

import functools
from datetime import date

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.oracle.given import Tables
from tests.oracle.strategies import fleets

Drawn = tuple[Tables, dict[str, str], date]
A_RUN = 12


@functools.cache
def sample(times: int) -> list[Drawn]:
    """The first `times` different fleets, by seeds 0, 1, 2, …"""
    found: dict[str, Drawn] = {}

    @settings(
        max_examples=A_RUN,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(fleets())
    def draw(drawn: Drawn) -> None:
        found.setdefault(repr(drawn[0]["log"]), drawn)

    start = 0
    while len(found) < times:
        seed(start)(draw)()
        start += 1
    return list(found.values())[:times]
