"""Whether a pattern can be made to take more than linear time, told from its parsed form alone.

A pattern is turned into the automaton of its characters, as a backtracking engine walks it: a state
for each place where a character is taken, an edge for each way from one to the next, counted twice
where there are two ways. Then (A. Weber, H. Seidl, On the degree of ambiguity of finite automata,
Theoretical Computer Science 88, 1991):

- EXPONENTIAL, when some word leads from a state to itself by two ways;
- POLYNOMIAL, when some word leads from a state to itself, from it to another, and from that to
  itself. A search, which tries at every place of the text, has a first state that takes anything.

What the engine leaves out (anchors, words ahead or behind, what a back reference really holds) is
taken as if it were always so, which can only find too much. A second state on whose way back to
itself the match may end is no danger: nothing fails after it, so nothing is tried again. Nothing
here looks at a clock.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from re import _constants as ops  # type: ignore[attr-defined]
from re import _parser as parser  # type: ignore[attr-defined]
from typing import Any

LINEAR, POLYNOMIAL, EXPONENTIAL = "linear", "polynomial", "exponential"
WHOLE, START, ANYWHERE = "fullmatch", "match", "search"
COPIES = 16  # a repeat of up to so many more is written out; one of more counts as endless
# One of every kind that a pattern may tell from another, beside what it names itself.
KINDS = "qQ_5٣éß中!\"'#%&()*+,-./:;<=>@[\\]^{|}~"
CHARS = (*map(ord, KINDS), 0, 9, 10, 13, 32, 0x7F, 0x85, 0xA0, 0x2028, 0x202E, 0x1F6A4)


@dataclass(slots=True)
class Net:
    """Places, ways between them that take nothing, and those that take a character."""

    places: int = 0
    ways: dict[int, list[int]] = field(default_factory=dict)
    atoms: list[tuple[int, int, frozenset[int]]] = field(default_factory=list)
    groups: dict[int, Any] = field(default_factory=dict)
    alphabet: frozenset[int] = frozenset()
    unsure: set[tuple[int, int]] = field(default_factory=set)
    inside: list[tuple[Any, bool]] = field(default_factory=list)  # ahead, behind; if in a repeat
    repeats: int = 0  # that are being built

    def place(self) -> int:
        self.places += 1
        return self.places - 1

    def way(self, start: int, end: int) -> None:
        self.ways.setdefault(start, []).append(end)


def growth(pattern: re.Pattern[Any], how: str) -> str:
    """How the time for a text grows with its length: one of LINEAR, POLYNOMIAL, EXPONENTIAL."""
    tree = parser.parse(pattern.pattern, pattern.flags & ~re.DEBUG)
    return worst(_growths(tree, pattern.flags, how))


def worst(found: Iterable[str]) -> str:
    """The worst of several."""
    return max(found, key=(LINEAR, POLYNOMIAL, EXPONENTIAL).index, default=LINEAR)


def _growths(tree: Any, flags: int, how: str) -> Iterator[str]:
    net = Net(alphabet=frozenset(CHARS) | frozenset(_named(tree)))
    first, last = net.place(), net.place()
    _build(net, tree, first, last, flags)
    if how == ANYWHERE and not _is_tied(tree, flags):
        again = net.place()
        net.atoms.append((again, again, net.alphabet))
        net.way(again, first)
        first = again
    yield _judge(net, first, last, how)
    for inner, repeated in net.inside:
        yield from _growths(inner, flags, START)
        if _is_endless(inner) and (repeated or (how == ANYWHERE and not _is_tied(tree, flags))):
            yield POLYNOMIAL  # looked for anew at each place


def _is_tied(tree: Any, flags: int) -> bool:
    return bool(
        len(tree)
        and tree[0] in ((ops.AT, ops.AT_BEGINNING), (ops.AT, ops.AT_BEGINNING_STRING))
        and not flags & re.MULTILINE
    )


def _pieces(tree: Any) -> Iterator[tuple[Any, Any]]:
    """Every operation in a tree and below it."""
    for op, value in tree:
        yield op, value
        for below in value if isinstance(value, tuple) else ():
            if isinstance(below, parser.SubPattern):
                yield from _pieces(below)
            elif isinstance(below, list):
                for branch in below:
                    yield from _pieces(branch)


REPEATS = (ops.MAX_REPEAT, ops.MIN_REPEAT)


def _is_endless(tree: Any) -> bool:
    return any(op in REPEATS and value[1] - value[0] > COPIES for op, value in _pieces(tree))


def _named(tree: Any) -> Iterator[int]:
    """The characters that a pattern names, and the neighbours of its ranges."""
    for op, value in _pieces(tree):
        for kind, item in value if op is ops.IN else [(op, value)]:
            if kind in (ops.LITERAL, ops.NOT_LITERAL):
                yield from (item, *(ord(c) for c in (chr(item).swapcase())[:1]))
            elif kind is ops.RANGE:
                yield from (max(item[0] - 1, 0), *item, min(item[1] + 1, 0x10FFFF))


def _taken(net: Net, op: Any, value: Any, flags: int) -> frozenset[int]:
    items = value if op is ops.IN else [(op, value)]
    negated = items[0][0] is ops.NEGATE
    tests = [_test(kind, item, flags) for kind, item in items if kind is not ops.NEGATE]
    return frozenset(
        char for char in net.alphabet if any(test(char) for test in tests) is not negated
    )


def _test(kind: Any, item: Any, flags: int) -> Callable[[int], bool]:
    def forms(char: int) -> set[int]:
        text = chr(char)
        both = {char, *(ord(c) for c in (text.lower(), text.upper()) if len(c) == 1)}
        return both if flags & re.IGNORECASE else {char}

    if kind is ops.LITERAL:
        return lambda char: item in forms(char)
    if kind is ops.NOT_LITERAL:
        return lambda char: item not in forms(char)
    if kind is ops.RANGE:
        return lambda char: any(item[0] <= form <= item[1] for form in forms(char))
    if kind is ops.ANY:
        return lambda char: char != 10 or bool(flags & re.DOTALL)
    assert kind is ops.CATEGORY, f"unknown to this analysis: {kind}"
    plain = {ops.CATEGORY_DIGIT: r"\d", ops.CATEGORY_SPACE: r"\s", ops.CATEGORY_WORD: r"\w",
             ops.CATEGORY_NOT_DIGIT: r"\D", ops.CATEGORY_NOT_SPACE: r"\S",
             ops.CATEGORY_NOT_WORD: r"\W"}[item]  # fmt: skip
    one = re.compile(plain, flags & re.ASCII)
    return lambda char: one.match(chr(char)) is not None


TAKING = (ops.LITERAL, ops.NOT_LITERAL, ops.IN, ops.ANY)


def _build(net: Net, tree: Any, start: int, end: int, flags: int) -> None:
    at = start
    for op, value in tree:
        then = net.place()
        _piece(net, op, value, at, then, flags)
        at = then
    net.way(at, end)


def _piece(net: Net, op: Any, value: Any, start: int, end: int, flags: int) -> None:
    if op in TAKING:
        net.atoms.append((start, end, _taken(net, op, value, flags)))
    elif op is ops.SUBPATTERN:
        group, more, fewer, inner = value
        net.groups[group] = inner
        _build(net, inner, start, end, (flags | more) & ~fewer)
    elif op is ops.BRANCH:
        for branch in value[1]:
            _build(net, branch, start, end, flags)
    elif op in REPEATS:
        _repeat(net, value, start, end, flags)
    elif op is ops.GROUPREF:
        _build(net, net.groups[value], start, end, flags)
    elif op in (ops.ASSERT, ops.ASSERT_NOT):
        net.inside.append((value[1], net.repeats > 0))
        net.way(start, end)
        net.unsure.add((start, end))
    else:
        assert op is ops.AT, f"unknown to this analysis: {op}"
        net.way(start, end)
        net.unsure.add((start, end))


def _repeat(net: Net, value: Any, start: int, end: int, flags: int) -> None:
    least, most, inner = value
    at = start
    net.repeats += 1
    for _ in range(least):
        then = net.place()
        _build(net, inner, at, then, flags)
        at = then
    if most - least > COPIES:
        loop, back = net.place(), net.place()
        net.way(at, loop)
        _build(net, inner, loop, back, flags)
        net.way(back, loop)
        net.way(loop, end)
    else:
        for _ in range(most - least):
            net.way(at, end)
            then = net.place()
            _build(net, inner, at, then, flags)
            at = then
        net.way(at, end)
    net.repeats -= 1


def _reached(net: Net, start: int, surely: bool = False) -> dict[int, int]:
    """Each place that can be reached by taking nothing, and by how many ways, two at most.

    No way is gone twice, and `surely` those that hang on what stands around are not gone at all.
    """
    counts: dict[int, int] = {}

    def walk(place: int, gone: frozenset[tuple[int, int]]) -> None:
        counts[place] = counts.get(place, 0) + 1
        for then in net.ways.get(place, ()):
            way = (place, then)
            if way not in gone and counts.get(then, 0) < 2 and not (surely and way in net.unsure):
                walk(then, gone | {way})

    walk(start, frozenset())
    return counts


def _judge(net: Net, first: int, last: int, how: str) -> str:
    takes = [chars for _, _, chars in net.atoms]
    by_place: dict[int, list[int]] = {}
    for number, (start, _, _) in enumerate(net.atoms):
        by_place.setdefault(start, []).append(number)
    edges: list[dict[int, int]] = []
    ending = set()
    for number, (_, end, _) in enumerate(net.atoms):
        counts = _reached(net, end)
        edges.append({
            then: count for place, count in counts.items() for then in by_place.get(place, ())
        })  # fmt: skip
        takes_all = edges[number].get(number) and takes[number] == net.alphabet
        if last in _reached(net, end, surely=True) and (how != WHOLE or takes_all):
            ending.add(number)
    again = {number for number in range(len(takes)) if number in _from(edges, edges[number])}
    if _is_exponential(edges, takes, again):
        return EXPONENTIAL
    return POLYNOMIAL if _is_polynomial(edges, takes, again, ending) else LINEAR


def _from(edges: list[dict[int, int]], starts: Iterable[int]) -> set[int]:
    """All states that can be reached from these."""
    found, left = set(starts), list(starts)
    while left:
        for then in edges[left.pop()]:
            if then not in found:
                found.add(then)
                left.append(then)
    return found


def _is_exponential(
    edges: list[dict[int, int]], takes: list[frozenset[int]], again: set[int]
) -> bool:
    """Whether two walkers can part at a state and meet there again, by the same word."""
    for state in again:
        home = {other for other in _from(edges, edges[state]) if state in _from(edges, [other])}
        left = [(state, state, False)]
        found = set(left)
        while left:
            one, two, parted = left.pop()
            for a, ways in edges[one].items():
                for b in edges[two]:
                    if a not in home or b not in home or not takes[a] & takes[b]:
                        continue
                    now = (a, b, parted or a != b or ways > 1)
                    if now == (state, state, True):
                        return True
                    if now not in found:
                        found.add(now)
                        left.append(now)
    return False


def _is_polynomial(
    edges: list[dict[int, int]], takes: list[frozenset[int]], again: set[int], ending: set[int]
) -> bool:
    """Whether a word leads from p to p, from p to q, and from q to q."""
    for p in again:
        after = _from(edges, edges[p])
        for q in (again & after) - ending - {p}:
            home_p = {s for s in after if p in _from(edges, [s])}
            home_q = {s for s in _from(edges, edges[q]) if q in _from(edges, [s])} - ending
            if _three(edges, takes, (p, p, q), (p, q, q), (home_p, after, home_q)):
                return True
    return False


Three = tuple[int, int, int]


def _three(
    edges: list[dict[int, int]], takes: list[frozenset[int]], start: Three, goal: Three,
    homes: tuple[set[int], set[int], set[int]],
) -> bool:  # fmt: skip
    found, left = {start}, [start]
    while left:
        one, two, three = left.pop()
        for a in edges[one].keys() & homes[0]:
            for c in edges[three].keys() & homes[2]:
                both = takes[a] & takes[c]
                for b in edges[two].keys() & homes[1] if both else ():
                    now = (a, b, c)
                    if now not in found and both & takes[b]:
                        if now == goal:
                            return True
                        found.add(now)
                        left.append(now)
    return False
