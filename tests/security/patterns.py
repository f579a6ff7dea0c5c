"""Every pattern of the package: where it stands, what it is, how it is put to texts."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.security.ambiguity import ANYWHERE, START, WHOLE

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "fleetcare"
METHODS = {"fullmatch": WHOLE, "match": START, "search": ANYWHERE, "sub": ANYWHERE,
           "subn": ANYWHERE, "split": ANYWHERE, "findall": ANYWHERE,
           "finditer": ANYWHERE}  # fmt: skip
HARDEST = (WHOLE, START, ANYWHERE)


@dataclass(frozen=True, slots=True)
class Use:
    """A pattern of a module, as it stands in the source, and how it is put to texts."""

    module: str  # a path below the project
    source: str
    how: tuple[str, ...]
    value: re.Pattern[Any] | None  # None when it is made of what comes only as it runs

    @property
    def key(self) -> str:
        """By what it is known in lists of exceptions: it falls out of them when it changes."""
        return f"{self.module}: {self.source}"


def uses_in(package: Path = PACKAGE, root: Path = ROOT) -> list[Use]:
    """Every pattern of a package that can be imported from that root."""
    trees = {path: ast.parse(path.read_text("utf-8")) for path in sorted(package.rglob("*.py"))}
    called = _called(trees.values())
    return [use for path, tree in trees.items() for use in _uses(path, tree, root, called)]


def _called(trees: Any) -> dict[str, set[str]]:
    """By the last name of what is asked, which of the methods of a pattern are called on it."""
    found: dict[str, set[str]] = {}
    for tree in trees:
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and node.attr in METHODS:
                name = getattr(node.value, "id", getattr(node.value, "attr", ""))
                found.setdefault(name, set()).add(METHODS[node.attr])
    return found


def _uses(
    path: Path, tree: ast.Module, root: Path, called: Mapping[str, set[str]]
) -> Iterator[Use]:
    module = str(path.relative_to(root))
    names = {
        id(node.value): getattr(target, "id", getattr(target, "attr", ""))
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "re":
            raise AssertionError(f"{module}: write re.{node.names[0].name}, which is found here")
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
            continue
        if getattr(node.func.value, "id", "") != "re":
            continue
        word = node.func.attr
        if word not in METHODS and word not in ("compile", "template"):
            continue
        how = {METHODS[word]} if word in METHODS else called.get(names.get(id(node), ""), set())
        yield Use(
            module,
            ast.unparse(node.args[0]),
            tuple(sorted(how, key=HARDEST.index)) or (ANYWHERE,),
            _value(path, node, names.get(id(node), ""), root),
        )


def _value(path: Path, node: ast.Call, name: str, root: Path) -> re.Pattern[Any] | None:
    parts = path.relative_to(root).with_suffix("").parts
    first = node.args[0]
    if name or isinstance(first, ast.Name):
        module = importlib.import_module(".".join(parts))
        value = getattr(module, name or getattr(first, "id", ""), None)
        if isinstance(value, re.Pattern):
            return value
        if isinstance(value, str) and isinstance(first, ast.Name):
            return re.compile(value)
    if isinstance(first, ast.Constant) and not _has_flags(node):
        return re.compile(first.value)
    return None


def _has_flags(node: ast.Call) -> bool:
    """Whether flags are given, which only the module itself can tell."""
    assert isinstance(node.func, ast.Attribute)
    plain = {"sub": 3, "subn": 3, "compile": 1}.get(node.func.attr, 2)
    return len(node.args) > plain or bool(node.keywords)
