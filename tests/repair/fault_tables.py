"""Fault tables for the tests: random ones, drawn by hypothesis, and the shipped one."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st

from fleetcare.rules.faults import read_tracing
from fleetcare.rules.rule import Access
from fleetcare.rules.shipped import read_book, word_table
from fleetcare.rules.symptoms import OTHER, Cause, Look, Outcome, Symptom, Tracing

BOOK = read_book(None, {"small-petrol"})
STEPS = BOOK.sets["small-petrol"].access


def shipped() -> Tracing:
    """The shipped faults.toml."""
    found = read_tracing(
        word_table("faults"), "intervals/faults.toml", BOOK.conditions, BOOK.incidents
    )
    assert isinstance(found, Tracing), [str(fault) for fault in found]
    return found


SHIPPED = shipped()
OVERHEATING = SHIPPED.symptoms["overheating"]
STIFF = SHIPPED.symptoms["stiff-steering"]


def shares(symptom: Symptom) -> dict[str, Fraction]:
    return {cause.name: cause.share for cause in symptom.causes}


@st.composite
def hundred(draw: st.DrawFn, parts: int) -> tuple[Fraction, ...]:
    """Parts of 100, none below 1."""
    cuts = sorted(
        draw(st.lists(st.integers(1, 99), min_size=parts - 1, max_size=parts - 1, unique=True))
    )
    edges = [0, *cuts, 100]
    return tuple(Fraction(b - a, 100) for a, b in pairwise(edges))


@st.composite
def look(draw: st.DrawFn, name: str, causes: list[str], access: list[str], sure: bool) -> Look:
    """A look with two or three outcomes; a sure one proves a cause nearly always, never wrongly."""
    proves = draw(st.sampled_from(causes))
    extra = {"minutes": draw(st.integers(0, 60)), "access": ()}
    if access:
        extra["access"] = tuple(draw(st.lists(st.sampled_from(access), max_size=2, unique=True)))
    if sure:
        outcomes = (Outcome("good", "", found=None), Outcome("bad", "", proves=proves))
        usual = (Fraction(1), Fraction(0))
        return Look(name, "hands", "", outcomes=outcomes, usual=usual,
                    given={proves: (Fraction(0), Fraction(1))}, **extra)  # fmt: skip
    words = ["good", "bad", "worse"][: draw(st.integers(2, 3))]
    does = draw(st.booleans())
    outcomes = tuple(
        Outcome(word, "", proves=proves if does and word == "bad" else "") for word in words
    )
    given = {cause: draw(hundred(len(words))) for cause in causes if draw(st.booleans())}
    return Look(name, "hands", "", outcomes=outcomes, usual=draw(hundred(len(words))),
                given=given, **extra)  # fmt: skip


@st.composite
def tables(
    draw: st.DrawFn, most_causes: int = 4, most_looks: int = 3, sure: bool = False,
    access: tuple[str, ...] = (),
) -> Symptom:  # fmt: skip
    """A symptom with causes, "other" among them, and looks."""
    names = [f"cause {at}" for at in range(draw(st.integers(1, most_causes)))]
    causes = [Cause(name, name, Fraction(draw(st.integers(1, 60)))) for name in names]
    other = Cause(OTHER, OTHER, Fraction(draw(st.integers(1, 5))))
    count = draw(st.integers(1, most_looks))
    looks = [draw(look(f"look {at}", names, list(access), sure)) for at in range(count)]
    return Symptom("random", "random", ("stop",), (*causes, other), tuple(looks))


def steps(**minutes: int) -> dict[str, Access]:
    """Access steps by name."""
    return {name: Access(name, value) for name, value in minutes.items()}
