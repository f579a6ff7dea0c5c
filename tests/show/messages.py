"""Every message that pages, sheets and labels use, gathered out of the code and the templates.

`python -m tests.show.messages de` prints, ready to be filled in, what a language has not yet.
"""

from __future__ import annotations

import ast
import importlib
import string
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from jinja2 import nodes

from fleetcare.show.pages import environment

PACKAGE = Path(__file__).parent.parent.parent / "fleetcare"
TEMPLATES = PACKAGE / "show" / "templates"
FREE = {"count"}  # what `several` gives by itself


@dataclass(frozen=True)
class Message:
    """A message, its other form if it has one, where it is used and with what values."""

    text: str
    more: str = ""
    where: str = ""
    given: frozenset[str] | None = None  # None where it is only listed

    @property
    def wanted(self) -> frozenset[str]:
        return placeholders(self.text) | placeholders(self.more)


def placeholders(text: str) -> frozenset[str]:
    return frozenset(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


@cache
def messages() -> tuple[Message, ...]:
    """All of them, in the order of files and lines."""
    found: list[Message] = []
    for path in sorted(PACKAGE.rglob("*.py")):
        found += _in_module(path)
    for path in sorted(TEMPLATES.glob("*.html")):
        found += _in_template(path)
    return tuple(found)


def _in_module(path: Path) -> Iterator[Message]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            kind = _kind(node.func)
            if kind:
                yield from _call(node, kind, f"{path.name}:{node.lineno}")
        if isinstance(node, ast.Name) and node.id == "MESSAGES" and isinstance(node.ctx, ast.Store):
            yield from _listed(path)


def _kind(func: ast.expr) -> str:
    """Whether a call says a message: words(...), words.several(...), Said(...)."""
    if isinstance(func, ast.Name):
        return {"words": "one", "Said": "said"}.get(func.id, "")
    if isinstance(func, ast.Attribute):
        if func.attr == "words":
            return "one"
        base = func.value
        named = base.id if isinstance(base, ast.Name) else getattr(base, "attr", "")
        return "several" if func.attr == "several" and named == "words" else ""
    return ""


def _call(node: ast.Call, kind: str, where: str) -> Iterator[Message]:
    texts = [item.value for item in node.args if isinstance(item, ast.Constant)]
    given = frozenset(item.arg for item in node.keywords if item.arg)
    if not texts or not isinstance(texts[0], str):
        return  # what is said through a name is listed in a MESSAGES
    more = texts[1] if kind != "one" and len(texts) > 1 else ""
    yield Message(texts[0], str(more), where, given | (FREE if kind == "several" else set()))


def _listed(path: Path) -> Iterator[Message]:
    name = ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    module = importlib.import_module(name)
    for text in getattr(module, "MESSAGES", ()):
        yield Message(text, where=path.name)


def _in_template(path: Path) -> Iterator[Message]:
    tree = environment().parse(path.read_text(encoding="utf-8"))
    for call in tree.find_all(nodes.Call):
        func, where = call.node, f"{path.name}:{call.lineno}"
        several = isinstance(func, nodes.Getattr) and func.attr == "several"
        base = func.node if isinstance(func, nodes.Getattr) else func
        if not isinstance(base, nodes.Name) or base.name != "words":
            continue
        texts = [item.value for item in call.args if isinstance(item, nodes.Const)]
        given = frozenset(item.key for item in call.kwargs)
        if several:
            yield Message(texts[0], texts[1], where, given | FREE)
        elif isinstance(func, nodes.Name) and texts:
            yield Message(texts[0], "", where, given)


def missing(language: str) -> list[Message]:
    """What a language's file has not, each once."""
    from importlib.resources import files

    from fleetcare.show.words_po import read_po

    text = files("fleetcare.show").joinpath(f"words_{language}.po").read_text(encoding="utf-8")
    table = read_po(text)
    found: dict[str, Message] = {}
    for message in messages():
        there = table.plurals if message.more else table.messages
        if message.text not in there:
            found.setdefault(message.text, message)
    return list(found.values())


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def main() -> None:
    for message in missing(sys.argv[1]):
        print(f"# {message.where}\nmsgid {_quoted(message.text)}")
        if message.more:
            print(f"msgid_plural {_quoted(message.more)}")
            print('msgstr[0] ""\nmsgstr[1] ""\n')
        else:
            print('msgstr ""\n')


if __name__ == "__main__":
    main()
