"""One sound engine from several: the plan as text for the bench, and as values."""

from __future__ import annotations

from typing import Any

from fleetcare.repair.builds import Chosen, Salvage, Unknown
from fleetcare.repair.costs import Rates
from fleetcare.repair.donors import GOOD
from fleetcare.rules.moving import Test
from fleetcare.show.lists import NARROW
from fleetcare.show.table import NO_BREAK, laid_out, table, wrapped
from fleetcare.show.values import with_sign

HEAD = (
    "engine", "component", "from", "moved", "condition", "because"
)  # fmt: skip
NOTES = (
    "Conditions: as the record has them, or as you said. The chance that a component disappoints "
    "(good 5 %, fair 15 %, not known 30 %) and the minutes are our judgement.",
    "A workshop's pressure and leak tests, local rules on fuel work and licensed practice come "
    "before this; an engine's own handbook before every figure.",
)


def salvage_text(plan: Salvage, width: int, rates: Rates) -> str:
    """The plan: what goes where and why, what to order, what to try first, what is left."""
    lines: list[str] = []
    for engine, chosen in plan.builds:
        moved = sum(item.moved for item in chosen)
        what = "as it stands" if not moved else f"with {moved} from elsewhere"
        lines += [f"{engine}, {what}", _build(engine, chosen, width), ""]
    cost = with_sign(f"{float(plan.cost):.0f}", rates.sign)
    lines.append(
        f"{plan.minutes} minutes in all, shared access counted once; expected cost {cost}, what "
        "may disappoint counted in."
    )
    if not plan.proved:
        lines.append("Too many ways to try them all: this is the best found, not proved the best.")
    lines += [f"  {engine}: {', '.join(steps)}" for engine, steps in plan.opened]
    lines += ["", *_before(plan), *_order(plan), *_left(plan)]
    if plan.cautions:
        lines += ["", "Cautions", *(f"  {text}" for text in plan.cautions)]
    lines += ["", *NOTES, _rates(rates)]
    text = "\n".join(line if "\n" in line else wrapped(line, width) for line in lines)
    return text.replace(NO_BREAK, " ").replace("\x1b", "")


def _rates(rates: Rates) -> str:
    whose = ", our judgement until you name yours" if rates.are_judgement else ""
    hour, day = (with_sign(f"{sum:g}", rates.sign) for sum in (rates.hour, rates.boat_day))
    return f"The cost: an hour at {hour} and a boat's day lost at {day}{whose}."


def _build(engine: str, chosen: tuple[Chosen, ...], width: int) -> str:
    rows = [
        [item.kind, _from(item), item.state.word, item.state.because] for item in chosen
    ]  # fmt: skip
    laid = table(("Component", "From", "Condition", "Because"), rows, width, (3, 1, 0))
    if width >= NARROW and all(len(laid_out(line)) <= width for line in laid.splitlines()):
        return laid
    return "\n".join(
        wrapped(f"  {kind}: {source}; {word}: {why}", width) for kind, source, word, why in rows
    )


def _from(item: Chosen) -> str:
    if not item.moved:
        return "stays"
    return item.source or "bought"


def _before(plan: Salvage) -> list[str]:
    """What is not known, and the tests before the spanner is taken up."""
    if not plan.unknowns:
        return ["Nothing it rests on is unknown. Look at each part all the same as it comes off."]
    lines = ["Before the spanner: what is not known, and what tells"]
    lines += [f"  {line}" for item in plan.unknowns for line in _unknown(item)]
    return lines


def _unknown(item: Unknown) -> list[str]:
    if not item.tests:
        return [f"{item.engine}, {item.what}"]
    return [f"{item.engine}, {item.what}: {_test(test)}" for test in item.tests]


def _test(test: Test) -> str:
    return f"{test.name} ({test.minutes} min): {test.tells}"


def _order(plan: Salvage) -> list[str]:
    if not plan.order_first:
        return ["", "Nothing to order first."]
    lines = ["", "Order first"]
    lines += [f"  {count} {item}" for item, count in plan.order_first]
    lines += [f"  with {task} done while {engine}'s is open" for engine, task in plan.renew]
    return lines


def _left(plan: Salvage) -> list[str]:
    """What is left as spares, engine by engine, the good ones told apart."""
    by_engine: dict[str, list[str]] = {}
    for engine, kind, state in plan.spares:
        text = kind if state.word == GOOD else f"{kind} ({state.word})"
        by_engine.setdefault(engine, []).append(text)
    if not by_engine:
        return []
    lines = ["", "Left as spares, by the engine they are on now"]
    return lines + [f"  {engine}: {', '.join(texts)}" for engine, texts in by_engine.items()]


def salvage_values(plan: Salvage) -> dict[str, Any]:
    """The plan as plain values."""
    return {
        "builds": [
            {
                "engine": engine,
                "components": [
                    {
                        "component": item.kind,
                        "from": item.source,
                        "moved": item.moved,
                        "condition": item.state.word,
                        "because": item.state.because,
                    }
                    for item in chosen
                ],
            }
            for engine, chosen in plan.builds
        ],
        "minutes": plan.minutes,
        "cost": float(plan.cost),
        "proved": plan.proved,
        "opened": [{"engine": engine, "access": list(steps)} for engine, steps in plan.opened],
        "order_first": [{"item": item, "count": count} for item, count in plan.order_first],
        "renew": [{"engine": engine, "task": task} for engine, task in plan.renew],
        "spares": [
            {"engine": engine, "component": kind, "condition": state.word}
            for engine, kind, state in plan.spares
        ],
        "unknowns": [
            {
                "engine": item.engine,
                "what": item.what,
                "tests": [
                    {"test": test.name, "minutes": test.minutes, "tells": test.tells}
                    for test in item.tests
                ],
            }
            for item in plan.unknowns
        ],
        "cautions": list(plan.cautions),
    }


def salvage_rows(plan: Salvage) -> list[dict[str, Any]]:
    """The builds as rows, a component each."""
    return [
        {
            "engine": engine, "component": item.kind, "from": item.source, "moved": item.moved,
            "condition": item.state.word, "because": item.state.because,
        }
        for engine, chosen in plan.builds
        for item in chosen
    ]  # fmt: skip
