"""The cheapest builds: against trying everything, and against scipy's assignment.

The search that tries everything knows none of the shortcuts of the product's: it lets engines
that are built take from each other, and adds costs up from the words of the task alone.
"""

from __future__ import annotations

import random
from itertools import combinations, permutations, product

import pytest

from fleetcare.repair.salvage import BOUGHT, Bench, Build, best_builds, cost_of, most_engines
from tests.repair.salvage_cases import assigned, bench


def spelled_out(given: Bench, hosts: tuple[int, ...], picks: tuple[tuple[int, ...], ...]) -> int:
    """The cost of picks, kind by kind a source for every host, summed step by step."""
    total = 0
    opened: set[tuple[int, int]] = set()
    for kind, sources in enumerate(picks):
        bits = [step for step in range(len(given.closing)) if given.steps[kind] & (1 << step)]
        for host, source in zip(hosts, sources, strict=True):
            if source == BOUGHT:
                total += given.bought[kind] or 0
            else:
                total += given.risk[source][kind] or 0
            if source == host:
                continue
            opened |= {(host, step) for step in bits}
            if source != BOUGHT:
                opened |= {(source, step) for step in bits}
                total += given.work[source][kind]
    for engine, step in opened:
        total += given.opening[engine][step]
        if engine in hosts:
            total += given.closing[step]
    return total


def everything(given: Bench, wanted: int) -> int | None:
    """The least cost of all, by trying every source for every kind of every set of engines."""
    best = None
    engines = range(len(given.engines))
    for hosts in combinations(engines, wanted):
        options = []
        for kind in range(len(given.kinds)):
            usable = [one for one in engines if given.risk[one][kind] is not None]
            if given.bought[kind] is not None:
                usable += [BOUGHT] * wanted
            options.append(sorted(set(permutations(usable, wanted))))
        for picks in product(*options):
            cost = spelled_out(given, hosts, picks)
            if best is None or cost < best:
                best = cost
    return best


SIZES = [
    (engines, kinds, wanted)
    for engines in (1, 2, 3, 4)
    for kinds in (1, 2, 3, 5, 7)
    for wanted in range(1, engines + 1)
    # all there are, while trying everything takes seconds and not hours
    if (wanted == 1 and (engines < 4 or kinds < 7)) or (wanted > 1 and kinds <= 3 and engines <= 3)
    or (wanted > 1 and kinds <= 2)
]  # fmt: skip


@pytest.mark.parametrize(("engines", "kinds", "wanted"), SIZES)
def test_nothing_tried_is_cheaper(engines: int, kinds: int, wanted: int) -> None:
    dice = random.Random(engines * 100 + kinds * 10 + wanted)
    for _ in range(3 if kinds >= 5 and engines >= 3 else 12):
        given = bench(dice, engines, kinds)
        answer, least = best_builds(given, wanted), everything(given, wanted)
        assert (answer is None) == (least is None) == (wanted > most_engines(given))
        if answer is not None:
            assert answer.proved
            assert answer.cost == least == cost_of(given, answer.builds)


def by_openings(given: Bench, wanted: int) -> int | None:
    """The least cost another way, for sizes beyond trying everything.

    Which steps are opened on which engine is tried; with that settled the kinds have nothing to do
    with each other, and each is tried alone. Engines that are built may take from each other.
    """
    best = None
    engines = range(len(given.engines))
    patterns = {0}
    for bits in given.steps:
        patterns |= {pattern | bits for pattern in patterns}
    for hosts in combinations(engines, wanted):
        for opened in product(sorted(patterns), repeat=len(given.engines)):
            total = sum(
                given.opening[engine][step] + (given.closing[step] if engine in hosts else 0)
                for engine in engines
                for step in range(len(given.closing))
                if opened[engine] >> step & 1
            )
            if best is not None and total >= best:
                continue
            for kind in range(len(given.kinds)):
                least = _kind_alone(given, kind, hosts, opened)
                if least is None:
                    break
                total += least
            else:
                best = total if best is None else min(best, total)
    return best


def _kind_alone(
    given: Bench, kind: int, hosts: tuple[int, ...], opened: tuple[int, ...]
) -> int | None:
    steps = given.steps[kind]
    reached = [engine for engine, one in enumerate(opened) if one & steps == steps]
    least = None
    pool = [one for one in range(len(opened)) if given.risk[one][kind] is not None]
    if given.bought[kind] is not None:
        pool += [BOUGHT] * len(hosts)
    for sources in set(permutations(pool, len(hosts))):
        cost = 0
        for host, source in zip(hosts, sources, strict=True):
            if source != host and (host not in reached or source not in (*reached, BOUGHT)):
                break
            if source == BOUGHT:
                cost += given.bought[kind] or 0
                continue
            cost += given.risk[source][kind] or 0
            cost += given.work[source][kind] if source != host else 0
        else:
            least = cost if least is None else min(least, cost)
    return least


@pytest.mark.parametrize("wanted", [1, 2, 3, 4])
def test_four_engines_of_seven_components_are_built_at_the_least_cost(wanted: int) -> None:
    dice = random.Random(70 + wanted)
    for _ in range(4):
        given = bench(dice, 4, 7, bad=0.15)
        answer = best_builds(given, wanted)
        least = by_openings(given, wanted)
        assert (None if answer is None else answer.cost) == least


def test_both_ways_of_trying_agree() -> None:
    dice = random.Random(8)
    for _ in range(20):
        given = bench(dice, 3, 3)
        for wanted in (1, 2, 3):
            assert by_openings(given, wanted) == everything(given, wanted)


@pytest.mark.parametrize(("engines", "wanted"), [(3, 1), (5, 2), (6, 3), (30, 1)])
def test_where_no_access_is_shared_it_is_the_assignment(engines: int, wanted: int) -> None:
    dice = random.Random(engines)
    for _ in range(8):
        given = bench(dice, engines, 7, shared=False)
        answer = best_builds(given, wanted)
        assert (None if answer is None else answer.cost) == assigned(given, wanted)


def test_an_engine_more_never_makes_it_dearer_or_fewer() -> None:
    dice = random.Random(5)
    for _ in range(25):
        given = bench(dice, 5, 5)
        fewer = Bench(
            given.engines[:4], given.kinds, given.risk[:4], given.steps, given.opening[:4],
            given.closing, given.work[:4], given.bought,
        )  # fmt: skip
        assert most_engines(given) >= most_engines(fewer)
        for wanted in (1, 2):
            few, more = best_builds(fewer, wanted), best_builds(given, wanted)
            if few is not None:
                assert more is not None and more.cost <= few.cost


def test_no_component_serves_twice() -> None:
    dice = random.Random(6)
    for _ in range(25):
        given = bench(dice, 6, 7, bad=0.1)
        answer = best_builds(given, 3)
        if answer is None:
            continue
        for kind in range(7):
            sources = [build.sources[kind] for build in answer.builds]
            used = [source for source in sources if source != BOUGHT]
            assert len(used) == len(set(used))
            assert all(given.risk[source][kind] is not None for source in used)


def test_two_donors_worked_by_hand() -> None:
    """Powerheads 20 and 90 of 100, gearcases 90 and 30, below 50 no use; the first engine keeps
    its gearcase and takes the other's powerhead or the second its gearcase, whichever is nearer:
    a gearcase is 30 minutes and 30 to take the old one off, a powerhead 90 and 90.
    """
    given = Bench(
        ("first", "second"), ("powerhead", "gearcase"), ((None, 0), (0, None)), (0b01, 0b10),
        ((90, 30), (90, 30)), (0, 0), ((0, 0), (0, 0)), (None, None),
    )  # fmt: skip
    answer = best_builds(given, 1)
    assert answer is not None
    assert answer.builds == (Build(1, (1, 0)),)
    assert answer.cost == 60
    assert best_builds(given, 2) is None


def test_after_so_many_steps_it_gives_the_best_found_and_says_it_is_not_proved() -> None:
    dice = random.Random(9)
    given = bench(dice, 8, 7, bad=0.3, sold=1.0)
    answer = best_builds(given, 4, nodes=200)
    assert answer is not None
    assert not answer.proved
    assert answer.cost == cost_of(given, answer.builds)
    whole = best_builds(given, 4)
    assert whole is not None and whole.cost <= answer.cost


def test_the_same_bench_gives_the_same_builds() -> None:
    given = bench(random.Random(3), 7, 7)
    assert best_builds(given, 2) == best_builds(given, 2)
