"""What the findings say of how long parts last: as a list, in full, and as values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from fleetcare.fleet.waters import WORDS
from fleetcare.repair.costs import Cost, Rates
from fleetcare.repair.findings import HOURS, PartLife
from fleetcare.repair.wear import ENOUGH, HOLDS, SHORTER, TOO_FEW, Point, Wear
from fleetcare.show.lists import NARROW
from fleetcare.show.table import NO_BREAK, laid_out, table, wrapped
from fleetcare.show.values import iso, with_sign
from fleetcare.show.wear_plot import plot

HEAD = (
    "task", "part", "rule_set", "water", "use", "limit", "unit", "findings", "worn", "watch",
    "not_looked_at", "unknown_age", "chance_by_limit", "chance_low", "chance_high", "ratio",
    "verdict", "shorter_limit", "planned_cost", "failure_cost", "least_cost_at",
    "least_cost_from", "least_cost_to",
)  # fmt: skip
MOST_FINE = 6

NOTES = (
    "Advice only: an engine's own handbook, local codes and licensed practice come first, and "
    "findings never lengthen a limit.",
    "A part is taken to be as new after its job. Fine: it lasted longer. Act or stop: it wore out "
    "since last seen fine. Watch counts for neither, our judgement; not looked at tells nothing.",
    f"Fewer than {ENOUGH} findings without one worn out say nothing. What stands before the "
    "findings, that one part in ten is worn out at the limit, give or take, is our judgement.",
)
BY_LIMIT = "By limit: the share worn out by then, with the band that holds 90 % of the weight."


def age(share: float, item: Wear) -> str:
    """An age, given as a share of the limit, in the limit's own unit."""
    return in_unit(share * item.lives.limit, item.lives.unit)


def in_unit(value: float, unit: str) -> str:
    """A figure with its unit: whole from 20 on, else with one decimal that counts."""
    text = f"{value:.0f}" if value >= 20 or unit == "days" else f"{value:.1f}".removesuffix(".0")
    if unit != HOURS and text == "1":
        unit = unit.removesuffix("s")
    return f"{text}{NO_BREAK}{unit}"


def _chance(value: float) -> str:
    """A chance in whole per cent, never 0 and never 100."""
    if value < 0.005:
        return "<1"
    return ">99" if value > 0.995 else f"{value * 100:.0f}"


def _bounds(low: float, high: float) -> str:
    return f"{low * 100:.0f}–{high * 100:.0f}"


def _count(number: int, one: str, more: str = "") -> str:
    return f"{number} {one if number == 1 else more or one + 's'}"


def _place(item: Wear) -> str:
    return f"{WORDS[item.lives.group.water]}, {item.lives.group.use}"


def _advice(item: Wear) -> str:
    if item.shorter is not None:
        return f"{in_unit(item.shorter, item.lives.unit)}, not {age(1.0, item)}"
    return f"{age(1.0, item)} holds" if item.verdict == HOLDS else "too few"


def _least_at(item: Wear) -> str:
    """Where the least cost lies, in as few words as a table has room for."""
    if item.verdict == TOO_FEW:
        return ""
    if item.least is None:
        return "no age"
    return f"past {age(1.0, item)}" if item.least.age >= 1.0 else age(item.least.age, item)


def wear_text(items: Sequence[Wear], rates: Rates, width: int, whole: bool) -> str:
    """The list: what is to be shorter first, what has too few findings only when asked."""
    ordered = sorted(items, key=lambda item: (SHORTER, HOLDS, TOO_FEW).index(item.verdict))
    shown = [item for item in ordered if whole or item.verdict != TOO_FEW]
    few = len(ordered) - len(shown)
    lines: list[str] = []
    if shown:
        lines += [_list(shown, width), ""]
    elif items:
        lines.append("Nothing has findings enough to speak of.")
    else:
        lines.append("Nothing was found yet of any part whose age is known.")
        lines.append("Findings come with jobs: fleetcare done ENGINE TASK --found CONDITION")
    if few:
        what = _count(few, "more has too few findings", "more have too few findings")
        lines.append(f"{what} (--all shows them).")
    lines += NOTES
    if shown:
        lines += [BY_LIMIT, _rates(rates)]
    return _printed(lines, width)


def _list(items: Sequence[Wear], width: int) -> str:
    rows = [
        [
            item.lives.group.task, _place(item), f"{len(item.lives.lives)}", f"{item.lives.worn}",
            f"{_chance(item.chance)}{NO_BREAK}% ({_bounds(*item.band)})",
            _advice(item), _least_at(item),
        ]
        for item in items
    ]  # fmt: skip
    head = ("Job", "Water, use", "Found", "Worn", "By limit", "Advice", "Least cost")
    laid = table(head, rows, width, (5, 4, 1, 0, 6), right=(2, 3))
    if width >= NARROW and all(len(laid_out(line)) <= width for line in laid.splitlines()):
        return laid
    told = []
    for item in items:
        found = _count(len(item.lives.lives), "finding")
        told.append(wrapped(f"{item.lives.group.task}, {_place(item)}", width))
        told.append(
            wrapped(
                f"  {found}, {item.lives.worn} worn; {_chance(item.chance)}{NO_BREAK}% by the "
                f"limit ({_bounds(*item.band)}); {_advice(item)}",
                width,
            )
        )
    return "\n".join(told)


def _rates(rates: Rates) -> str:
    if rates.planned is not None and rates.failure is not None:
        return "Least cost: where renewing in time and failing cost least together (Barlow and " \
            "Hunter 1960), by the costs you gave."  # fmt: skip
    whose = ", our judgement until you name yours" if rates.are_judgement else ""
    return (
        "Least cost: where renewing in time and failing cost least together (Barlow and Hunter "
        f"1960), an hour at {with_sign(f'{rates.hour:g}', rates.sign)} and a boat's day lost at "
        f"{with_sign(f'{rates.boat_day:g}', rates.sign)}{whose}."
    )


def wear_detail(
    items: Sequence[tuple[Wear, Sequence[Point]]], rates: Rates, width: int, whole: bool
) -> str:
    """Every group of one job in full: what was found, what follows, the curve, the findings."""
    lines: list[str] = []
    for item, curve in items:
        lines += [*_of_group(item), "", *plot(item, curve, width), ""]
        lines += [*_lives(item, whole), ""]
    lines += [*NOTES, _rates(rates)]
    return _printed(lines, width)


def _printed(lines: Iterable[str], width: int) -> str:
    text = "\n".join(line if "\n" in line else _fit(line, width) for line in lines)
    return text.replace(NO_BREAK, " ").replace("\x1b", "")


def _fit(line: str, width: int) -> str:
    """A line, broken where it is too long; a plot's own lines are as long as they should be."""
    if len(line) <= width:
        return line
    return wrapped(line, width)


def _of_group(item: Wear) -> list[str]:
    lives = item.lives
    fine = len(lives.lives) - lives.worn
    left_out = [
        f"{number} {why}"
        for number, why in (
            (lives.unknown_age, "of unknown age"),
            (lives.watched, "only to be watched"),
            (lives.not_looked, "not looked at"),
        )
        if number
    ]
    lines = [
        f"{lives.group.task} in {WORDS[lives.group.water]} water, {lives.group.use}: "
        f"{age(1.0, item)} by the rule (set {lives.group.ruleset})",
        f"  {_count(len(lives.lives), 'finding')} of {lives.rule.part}, each of a life of its own: "
        f"{fine} fine, {lives.worn} worn out."
        + (f" Left out: {', '.join(left_out)}." if left_out else ""),
        f"  Worn out by {age(1.0, item)}: {_chance(item.chance)}{NO_BREAK}% of them, or "
        f"{_bounds(*item.band)}{NO_BREAK}%, with 90{NO_BREAK}% certainty.",
        f"  {_said(item)}",
        f"  Weibull scale {_range(item.scale, item)}, shape {_range(item.shape)}.",
    ]
    return [*lines, *_costs(item)]


def _range(points: tuple[float, float, float], item: Wear | None = None) -> str:
    low, middle, high = (age(one, item) if item else f"{one:.1f}" for one in points)
    return f"{middle} ({low} to {high})"


def _said(item: Wear) -> str:
    if item.verdict == TOO_FEW:
        number = len(item.lives.lives)
        return (
            f"{_count(number, 'finding says', 'findings say')} too little to judge the limit; "
            f"it takes {ENOUGH}, or one worn out."
        )
    figure = f"{item.ratio:.2f} times the age that the rule alone would give"
    if item.verdict == HOLDS:
        return f"One in ten is worn out at {figure}: the limit holds. Findings never lengthen it."
    text = f"One in ten is worn out at {figure}: {_advice(item)}."
    if item.share is not None and item.share > item.ratio:
        text += " Less than half of a limit is never advised."
    if item.lives.worn == 1:
        text += " It is one failure: look for its cause before you change the limit."
    return text


def _costs(item: Wear) -> list[str]:
    lines = [
        f"  A planned job costs {_cost(item.planned)}.",
        f"  A failure costs {_cost(item.failure)}.",
    ]
    if item.least is None:
        return [*lines, f"  No age costs least: {item.why_no_least}."]
    if item.verdict == TOO_FEW:
        return [*lines, "  Where they cost least together is not for so few findings to say."]
    least = item.least
    where = f"{age(least.begin, item)} to {age(least.end, item)} cost at most 5{NO_BREAK}% more"
    saved = 100 - 100 * least.rate / least.to_failure
    tail = ", past the limit, which holds" if least.age >= 1.0 else ""
    lines.append(
        f"  They cost least together when it is renewed at {age(least.age, item)}{tail} ({where}; "
        f"{saved:.0f}{NO_BREAK}% less than running to failure)."
    )
    return lines


def _cost(cost: Cost) -> str:
    if cost.given:
        return f"{with_sign(f'{cost.money:g}', cost.sign)}, as given"
    parts = [f"{cost.minutes} minutes"]
    if cost.parts:
        parts.append(f"parts {with_sign(f'{cost.parts:g}', cost.sign)}")
    if cost.days:
        parts.append(_count(cost.days, "boat day"))
    text = f"{with_sign(f'{cost.money:.0f}', cost.sign)}: {', '.join(parts)}"
    if len(cost.jobs) > 1:
        text += f", for {', '.join(cost.jobs)}"
    if cost.unpriced:
        text += f"; without the price of {', '.join(cost.unpriced)}"
    return text


def _lives(item: Wear, whole: bool) -> list[str]:
    worn = [life for life in item.lives.lives if life.worn is not None]
    fine = [life for life in item.lives.lives if life.worn is None]
    worn.sort(key=lambda life: (life.day, life.engine, life.number))
    fine.sort(key=lambda life: (-life.fine, life.day, life.engine, life.number))
    lines = [_life(life, item) for life in worn]
    shown = fine if whole or len(fine) <= MOST_FINE else fine[: MOST_FINE - 1]
    lines += [_life(life, item) for life in shown]
    if len(shown) < len(fine):
        lines.append(f"  {len(fine) - len(shown)} more were fine, younger (--all shows them)")
    return lines


def _life(life: PartLife, item: Wear) -> str:
    entry = f" (entry {life.number})" if life.number else ""
    told = f"  {iso(life.day)}  {life.engine}: {life.condition} at "
    if life.worn is None:
        return f"{told}{age(life.fine, item)}, fine{entry}"
    since = f"fine at {age(life.fine, item)}" if life.fine else "not looked at before"
    return f"{told}{age(life.worn, item)}, worn out; {since}{entry}"


def wear_values(item: Wear) -> dict[str, Any]:
    """One group; ages in `unit`, chances from 0 to 1, money as in the rules."""
    lives, limit, least = item.lives, item.lives.limit, item.least
    speaks = item.verdict != TOO_FEW
    return {
        "task": lives.group.task,
        "part": lives.rule.part,
        "rule_set": lives.group.ruleset,
        "water": WORDS[lives.group.water],
        "use": lives.group.use,
        "limit": limit,
        "unit": lives.unit,
        "findings": len(lives.lives),
        "worn": lives.worn,
        "watch": lives.watched,
        "not_looked_at": lives.not_looked,
        "unknown_age": lives.unknown_age,
        "chance_by_limit": round(item.chance, 6),
        "chance_low": round(item.band[0], 6),
        "chance_high": round(item.band[1], 6),
        "ratio": round(item.ratio, 6) if speaks else None,
        "verdict": item.verdict,
        "shorter_limit": None if item.shorter is None else round(item.shorter, 2),
        "scale": [round(value * limit, 3) for value in item.scale],
        "shape": [round(value, 3) for value in item.shape],
        "planned_cost": round(item.planned.money, 2),
        "failure_cost": round(item.failure.money, 2),
        "least_cost_at": round(least.age * limit, 2) if least and speaks else None,
        "least_cost_from": round(least.begin * limit, 2) if least and speaks else None,
        "least_cost_to": round(least.end * limit, 2) if least and speaks else None,
        "no_least_cost": item.why_no_least or None,
        "lives": [
            {
                "engine": life.engine,
                "on": iso(life.day),
                "entry": life.number or None,
                "condition": life.condition,
                "fine_at": round(life.fine * limit, 2) if life.fine else None,
                "worn_by": None if life.worn is None else round(life.worn * limit, 2),
            }
            for life in lives.lives
        ],
    }


def curve_values(item: Wear, curve: Iterable[Point]) -> list[dict[str, float]]:
    """The survival curve with its band, ages in the unit of the limit."""
    return [
        {
            "age": round(point.age * item.lives.limit, 2),
            "low": round(point.low, 6),
            "good": round(point.middle, 6),
            "high": round(point.high, 6),
        }
        for point in curve
    ]


def wear_more(rates: Rates) -> dict[str, Any]:
    """What stands beside the rows: the rates behind the costs."""
    return {
        "hourly_rate": rates.hour,
        "boat_day": rates.boat_day,
        "rates_are_judgement": rates.are_judgement,
        "money": rates.sign or None,
    }
