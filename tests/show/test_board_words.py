"""Every word of the board comes from its messages, so that another language can stand there."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

from lxml import html

import fleetcare.show
from fleetcare.plan.records import Plan
from fleetcare.show.board import board
from fleetcare.show.board_facts import Facts
from fleetcare.show.words import Words
from tests.show.board_fleets import ondrel_facts

SHOW = Path(fleetcare.show.__file__).parent
MODULES = sorted(SHOW.glob("board*.py"))
IN_TEMPLATE = re.compile(r"\bwords(?:\.several)?\(\s*(.)")
MONTHS = {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}


def calls(tree: ast.AST) -> list[ast.Call]:
    """The places where a message is asked for."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        asked = node.func
        if isinstance(asked, ast.Attribute) and asked.attr == "several":
            asked = asked.value
        name = asked.id if isinstance(asked, ast.Name) else getattr(asked, "attr", "")
        if name == "words":
            found.append(node)
    return found


def literals() -> set[str]:
    """Every message that the board's modules name."""
    found = set()
    for path in MODULES:
        for call in calls(ast.parse(path.read_text(encoding="utf-8"))):
            several = isinstance(call.func, ast.Attribute) and call.func.attr == "several"
            for argument in call.args[: 2 if several else 1]:
                assert isinstance(argument, ast.Constant), f"{path}: {ast.unparse(call)}"
                found.add(str(argument.value))
    return found


def test_every_message_is_a_literal_that_can_be_gathered() -> None:
    assert len(MODULES) > 8
    assert len(literals()) > 80
    template = (SHOW / "templates" / "board.html").read_text(encoding="utf-8")
    firsts = IN_TEMPLATE.findall(template)
    assert len(firsts) > 30
    assert set(firsts) == {'"'}


def test_nothing_is_said_but_in_messages_and_in_what_the_fleet_and_its_rules_hold() -> None:
    facts = replace(ondrel_facts(), plan=Plan(1, 2, (), (), (), 0, None, "by hand"))
    tree = html.document_fromstring(board(facts, _Marked()).encode())
    for gone in tree.xpath("//script | //style"):
        gone.text = ""
    texts = ["\n".join(map(str, tree.itertext()))]
    texts += tree.xpath("//@aria-label | //@data-one | //@data-more | //@data-shown | //@title")
    plain = "\n".join(_outside(str(text)) for text in texts)
    said = set(re.findall(r"[^\W\d_]{2,}", plain))
    assert said - _held_by(facts) - MONTHS == set()


def test_days_are_the_languages_own() -> None:
    text = board(ondrel_facts(), _Marked())
    assert '<html lang="xx">' in text
    assert "⟦Board of ⟦Sat 18.7.2026⟧⟧" in text
    assert "18 Jul" not in text


class _All(dict[str, str]):
    """A language in which every message stands in brackets."""

    def get(self, message: str, default: object = None) -> str:  # type: ignore[override]
        return f"⟦{message}⟧"


class _Marked(Words):
    """The same, which writes days in its own way."""

    __slots__ = ()

    def __init__(self) -> None:
        super().__init__("xx", _All())

    def day(self, day: date, since: date | None = None) -> str:
        return f"{day.day}.{day.month}.{day.year}"


def _outside(text: str) -> str:
    """What stands outside of all brackets."""
    out, depth = [], 0
    for char in text:
        depth += (char == "⟦") - (char == "⟧")
        out.append(char if depth == 0 and char != "⟧" else " ")
    return "".join(out)


def _held_by(facts: Facts) -> set[str]:
    """The words that come out of the fleet file and the rules."""
    told = [facts.fleet.settings.calendar_name, *facts.fleet.boats]
    told += [boat.place for boat in facts.fleet.boats.values()]
    for engine in facts.fleet.engines.values():
        told += [engine.name, *engine.also]
    for row in facts.rows:
        rule = row.rule
        told += [rule.name, rule.title, rule.chain, *rule.leads_to]
        told += [row.opened, row.because or "", row.unseen]
    for flag in facts.flags.values():
        for item in flag.standing:
            told += [item.what, *item.wanted, item.proof, item.lifts]
    for log in facts.history.engines.values():
        told += [f"{seen.part} {seen.condition} {seen.by}" for seen in log.seen]
        told += [kind for _, kind in log.incidents]
    return set(re.findall(r"[^\W\d_]{2,}", " ".join(told)))
