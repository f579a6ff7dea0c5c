"""No text of anybody's makes a pattern of ours take more than linear time.

Told from the patterns themselves (tests/security/ambiguity.py), so that the answer is the same on
every machine. A pattern that is new is judged without being listed anywhere; one that cannot be
told from the source, or that is worse than linear, is here with its reason or fails.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.security.ambiguity import (
    ANYWHERE,
    EXPONENTIAL,
    LINEAR,
    POLYNOMIAL,
    START,
    WHOLE,
    growth,
    worst,
)
from tests.security.patterns import Use, uses_in

# What is made as the program runs, by its source: the same with names as nasty as they come.
NASTY = ("a", "aa", "(a+)+", "a|a", ".*", "^$", "[", "W" * 80, "a a", "\\")
MADE = {
    "fleetcare/cli/sheet_entries.py: f'(^|; ){re.escape(mark)}$'": [
        rf"(^|; ){re.escape(name)}$" for name in NASTY
    ],
    "fleetcare/share/boat_names.py: "
    "f\"(?<!\\\\w)(?=({'|'.join(map(re.escape, names))})(?!\\\\w))\"": [
        rf"(?<!\w)(?=({'|'.join(map(re.escape, NASTY))})(?!\w))"
    ],
}


@dataclass(frozen=True)
class Bounded:
    """A pattern that is worse than linear and only ever sees short texts, and who sees to that."""

    name: str  # in its module
    most: int  # letters
    feed: Callable[[Any, str], object]  # with the module and a text as long as may be


BOUNDED = {
    "fleetcare/exchange/headings.py": Bounded(
        "_BRACKETS", 1_000, lambda module, text: module.meaning_of(text, {})
    ),
    "fleetcare/exchange/figure_cells.py": Bounded(
        "_UNSURE", 60, lambda module, text: module.hours(text, "x", ".")
    ),
}


def judged(use: Use) -> str:
    """How a pattern grows, in the worst of the ways in which it is put to texts."""
    values = [use.value] if use.value else [re.compile(made) for made in MADE[use.key]]
    return worst(growth(value, how) for value in values for how in use.how)


USES = uses_in()


def test_there_are_patterns_and_each_can_be_told() -> None:
    assert len(USES) > 70
    assert {use.key for use in USES if use.value is None} == set(MADE)


@pytest.mark.parametrize("use", USES, ids=[use.key[:90] for use in USES])
def test_a_pattern_grows_with_the_text_or_sees_short_ones_alone(use: Use) -> None:
    found = judged(use)
    assert found != EXPONENTIAL
    if found == POLYNOMIAL:
        bounded = BOUNDED.get(use.module)
        assert bounded, f"{use.key}: give the text a bound, or the pattern another form"
        module = importlib.import_module(use.module.removesuffix(".py").replace("/", "."))
        assert getattr(module, bounded.name) is use.value


class Seen:
    """In the place of a pattern: matches nothing, and keeps how long the texts were."""

    def __init__(self) -> None:
        self.lengths: list[int] = []

    def fullmatch(self, text: str) -> None:
        self.lengths.append(len(text))

    match = search = fullmatch

    def sub(self, _: str, text: str) -> str:
        self.lengths.append(len(text))
        return text


@pytest.mark.parametrize("module", BOUNDED)
def test_what_is_worse_never_sees_more_than_it_may(
    module: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bounded, seen = BOUNDED[module], Seen()
    loaded = importlib.import_module(module.removesuffix(".py").replace("/", "."))
    monkeypatch.setattr(loaded, bounded.name, seen)
    for piece in ("(", "1 or ", "about 1", "?", "x"):
        for size in (4, 40, 400, 4_000, 40_000):
            bounded.feed(loaded, piece * size)
    assert seen.lengths, "it is put to texts at all"
    assert max(seen.lengths) <= bounded.most


def test_what_is_listed_is_still_there_and_still_worse() -> None:
    worse = {use.module for use in USES if judged(use) == POLYNOMIAL}
    assert worse == set(BOUNDED)


@pytest.mark.parametrize(("pattern", "how", "wanted"), [
    (r"(a+)+$", START, EXPONENTIAL), (r"(a*)*b", START, EXPONENTIAL),
    (r"(a|a)*b", WHOLE, EXPONENTIAL), (r"(a|b|ab)*c", START, EXPONENTIAL),
    (r"(?:a*b?)*c", START, EXPONENTIAL), (r"(\w+\s?)*$", START, EXPONENTIAL),
    (r"(?i)(ab|AB)*!", START, EXPONENTIAL), (r"(?:(.)\1?)*!", START, EXPONENTIAL),
    (r"([a-z0-9]+[._-]?)+@", START, EXPONENTIAL), (r"(?=(a+)+$)x", START, EXPONENTIAL),
    (r"a*a*b", START, POLYNOMIAL), (r"\d+\d+x", START, POLYNOMIAL), (r".*.*=", WHOLE, POLYNOMIAL),
    (r"\d*\w*!", START, POLYNOMIAL), (r"[a-z]+\d", ANYWHERE, POLYNOMIAL),
    (r"^\s+|\s+$", ANYWHERE, POLYNOMIAL), (r"<[^>]*>", ANYWHERE, POLYNOMIAL),
    (r"(?=a+b)a", ANYWHERE, POLYNOMIAL), (r"\s*,\s*", ANYWHERE, POLYNOMIAL),
    (r"a{0,50}a{0,50}b", START, POLYNOMIAL), (r"x(?:a+b|a+c|.*)y", WHOLE, LINEAR),
    (r"[a-z]+\d", START, LINEAR), (r"\s+", ANYWHERE, LINEAR), (r"a+b+", START, LINEAR),
    (r"(ab)+", ANYWHERE, LINEAR), (r"<[^<>]*>", ANYWHERE, LINEAR), (r"(?:a?)*b", START, LINEAR),
    (r'"(?:[^"\\]|\\.)*"', WHOLE, LINEAR), (r"(?s)(.*?)(:)(\d+)(: .*)?", WHOLE, LINEAR),
    (r"(.*?)(:)(\d+)(: .*)?", WHOLE, POLYNOMIAL), (r"a{1,10}a{1,10}b", START, LINEAR),
])  # fmt: skip
def test_the_judge_knows_patterns_that_are_known(pattern: str, how: str, wanted: str) -> None:
    assert growth(re.compile(pattern), how) == wanted


def test_what_nobody_thought_of_is_not_passed_over() -> None:
    with pytest.raises(AssertionError, match="unknown to this analysis"):
        growth(re.compile(r"(?>a+)b"), START)


def test_a_new_pattern_is_found_wherever_it_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "slipway"
    package.mkdir()
    (package / "__init__.py").touch()
    (package / "planted.py").write_text(
        'import re\nBAD = re.compile(r"(a+)+$")\nGOOD = re.compile("b+", re.I)\n'
        'def f(x, name):\n    GOOD.fullmatch(x)\n    re.search(r"c*c*d", x)\n'
        '    return re.sub(f"{name}*", "", x), re.split("e+f", x, flags=re.I)\n'
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    found = {use.source: use for use in uses_in(package, tmp_path)}
    assert len(found) == 5
    assert judged(found["'(a+)+$'"]) == EXPONENTIAL
    assert judged(found["'b+'"]) == LINEAR
    assert found["'b+'"].how == (WHOLE,)
    assert judged(found["'c*c*d'"]) == POLYNOMIAL
    for told in ("f'{name}*'", "'e+f'"):
        with pytest.raises(KeyError):
            judged(found[told])
    (package / "hidden.py").write_text("from re import compile\nX = compile('(a+)+$')\n")
    with pytest.raises(AssertionError, match=r"write re\.compile"):
        uses_in(package, tmp_path)


@pytest.mark.parametrize("text", [
    "plugs;oil", "plugs  ;   oil", "plugs and oil", " plugs , oil , ", "plugs/oil", "plugs och oil",
    "plugs &&  oil", "plugs" + " " * 100_000 + "+ oil",
])  # fmt: skip
def test_a_cell_of_several_names_is_parted_whatever_stands_between(text: str) -> None:
    from fleetcare.exchange.resolving import _parted

    assert _parted(text) == ["plugs", "oil"]


def test_a_place_is_read_whatever_its_heading_holds() -> None:
    from fleetcare.exchange.accounts import row_of, source_of

    for tail in ("", ": a\nb", ": " + ":1: " * 30_000 + "\n"):
        assert (source_of(f"a:b.xlsx!12{tail}"), row_of(f"a:b.xlsx!12{tail}")) == ("a:b.xlsx", 12)
