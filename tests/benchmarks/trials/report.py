"""The figures of the forecast, printed: `python -m tests.benchmarks forecast [tuning | fresh]`."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tests.benchmarks.trials import sets
from tests.benchmarks.trials.judge import (
    NAIVE,
    Profiles,
    Scores,
    judge,
    loss_ratio,
    mean_and_error,
)

WRONG = {"hire": "owner", "club": "hire", "owner": "hire"}


def main(which: str = "fresh") -> None:
    """Judge every set and print its lines."""
    seeds = sets.FRESH if which == "fresh" else sets.TUNING
    part = 1 if which == "fresh" else 0
    print(f"{which} fleets, seeds {seeds.start} to {seeds.stop - 1}; aircraft, part {part} of 4")
    for use in sets.USES:
        fleets = sets.boats(use, seeds)
        scores = judge(sets.known(fleets), lambda s, _: sets.profile(s.use), sets.LEFT[use])
        show(use, scores)
        show_new(use, fleets)
    planes, level = sets.planes(part)
    show("aircraft", judge(planes, lambda _, at: level[at], sets.LEFT["aircraft"]))


def line() -> None:
    """One short line for the speed report: hire boats of three fleets."""
    scores = judge(
        sets.known(sets.boats("hire", range(1, 4)), 120),
        lambda s, _: sets.profile(s.use),
        sets.LEFT["hire"],
    )
    cover, _ = mean_and_error(scores.covers)
    less = [1 - loss_ratio(scores, "forecast", name)[0] for name in ("four weeks", "last year")]
    print(
        f"forecast of 3 hire fleets: 80 % interval of due dates covers {cover:.0%}; loss "
        f"{less[0]:.0%} below four weeks' rate, {less[1]:.0%} below last year's"
    )


def show(name: str, scores: Scores) -> None:
    dates = sum(map(len, scores.covers.values()))
    inside = math.fsum(value for values in scores.covers.values() for value in values)
    told = (inside - scores.open) / (dates - scores.open)
    print(f"{name}: {len(scores.covers)} units, {dates} dates")
    print(f"  80 % interval of due dates covers {percent(mean_and_error(scores.covers))}; "
          f"early {scores.early / dates:.1%}, late {scores.late / dates:.1%}; "
          f"not reached {scores.open} (without these {told:.1%}), "
          f"not to be told {scores.dropped}")  # fmt: skip
    print(f"  within a year {percent(mean_and_error(scores.within))}; "
          f"totals {percent(mean_and_error(scores.totals))}")  # fmt: skip
    loss, error = loss_ratio(scores, "forecast", "used")
    print(f"  loss {loss:.4f} ± {error:.4f} of the hours used")
    for method in NAIVE:
        ratio, error = loss_ratio(scores, "forecast", method)
        print(f"    against {method}: {ratio - 1:+.1%} ± {error:.1%}")


def show_new(use: str, fleets: Sequence[Sequence[sets.Series]]) -> None:
    """New engines in their first two hundred days, by what stands in for their past."""
    new = sets.new(fleets)
    ways: list[tuple[str, Profiles]] = [
        ("right profile", lambda s, _: sets.profile(s.use)),
        (f"wrong profile ({WRONG[use]})", lambda s, _: sets.profile(WRONG[s.use])),
        ("borrowed", sets.Borrowing(fleets)),
    ]
    for name, way in ways:
        scores = judge(new, way, sets.LEFT[use], naive=False)
        loss, error = loss_ratio(scores, "forecast", "used")
        print(
            f"  new, {name}: dates {percent(mean_and_error(scores.covers))}, totals "
            f"{percent(mean_and_error(scores.totals))}, loss {loss:.3f} ± {error:.3f}"
        )


def percent(figure: tuple[float, float]) -> str:
    mean, error = figure
    return f"{mean:.1%}" + ("" if math.isnan(error) else f" ± {error:.1%}")
