"""Small faults in a module, one at a time: a limit off by one, a sum turned round, a step lost.

`mutants(name)` finds every place of a module's text where one can be put. A mutant is told apart
by the function it is in and by what was and what is written there, so that its name outlives moved
lines. What only a reader or the type checker sees (docstrings, annotations, assertions, slots) is
left alone.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import CodeType
from typing import Any

ROOT = Path(__file__).parents[2]
OTHER_WAY: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult,
    ast.Div: ast.Mult, ast.Mod: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
    ast.RShift: ast.LShift, ast.LShift: ast.RShift, ast.Continue: ast.Break,
    ast.Break: ast.Continue,
}  # fmt: skip
OTHER_CALL = {
    "min": "max", "max": "min", "any": "all", "all": "any", "bisect_left": "bisect_right",
    "bisect_right": "bisect_left", "sorted": "list", "reversed": "list",
}  # fmt: skip
LONG = 90
TESTS = (ast.If, ast.While, ast.IfExp)
SHOWN = (ast.Compare, ast.BoolOp, ast.BinOp, ast.Call, ast.IfExp, ast.stmt)
NEGATED = (ast.Name, ast.Attribute, ast.Call, ast.Subscript, ast.BoolOp)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One fault: in which function, what was written and what is; `code` is the whole module's.

    `inside` a function it can be put into a module that others hold already, function by function.
    """

    module: str
    name: str
    code: CodeType
    inside: bool


@dataclass(slots=True)
class _Place:
    """Where a fault goes: the field of a node, what it becomes, and the node to show."""

    node: Any
    field: str
    at: int | None
    new: Any
    shown: Any
    function: str
    inside: bool

    def swap(self) -> None:
        """Put the new where the old was, and the old aside; once more puts it back."""
        held = getattr(self.node, self.field)
        if self.at is None:
            setattr(self.node, self.field, self.new)
            self.new = held
        else:
            held[self.at], self.new = self.new, held[self.at]


@contextmanager
def _swapped(place: _Place) -> Iterator[None]:
    place.swap()
    yield
    place.swap()


def mutants(module: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its text."""
    path = ROOT / (module.replace(".", "/") + ".py")
    tree = ast.parse(path.read_text(encoding="utf-8"))
    short = "/".join(module.split(".")[1:])
    seen: Counter[str] = Counter()
    found = []
    for place in _Finder().places_in(tree):
        was = _words(place.shown)
        with _swapped(place):
            now = _words(place.shown)
            code = compile(ast.fix_missing_locations(tree), str(path), "exec")
        was, now = _cut(was, now)
        name = f"{short} {place.function}: `{was}` -> `{now}`"
        seen[name] += 1
        again = f" #{seen[name]}" if seen[name] > 1 else ""
        found.append(Mutant(module, name + again, code, place.inside))
    return found


def _words(node: ast.AST) -> str:
    """A node in one line."""
    if isinstance(node, _Test):
        node = node.of.test
    return " ".join(ast.unparse(node).split()).replace("`", "'")


def _cut(was: str, now: str) -> tuple[str, str]:
    """Two texts as they are, or where they are long what is around their first difference."""
    if len(was) <= LONG:
        return was, now
    same = next((at for at, (a, b) in enumerate(zip(was, now, strict=False)) if a != b), 0)
    first = max(0, same - LONG // 2)
    last = same + LONG // 2
    return tuple(  # type: ignore[return-value]
        f"{'…' if first else ''}{text[first:last]}{'…' if last < len(text) else ''}"
        for text in (was, now)
    )


class _Finder:
    """Walks a tree and gathers the places."""

    def __init__(self) -> None:
        self.found: list[_Place] = []
        self.names: list[str] = []
        self.depth = 0

    def places_in(self, tree: ast.Module) -> list[_Place]:
        self._children(tree, tree)
        return self.found

    def _add(self, node: ast.AST, field: str, at: int | None, new: Any, shown: ast.AST) -> None:
        function = ".".join(self.names) or "module"
        self.found.append(_Place(node, field, at, new, shown, function, self.depth > 0))

    def _children(self, node: ast.AST, line: ast.AST) -> None:
        """Every child, with the statement or expression it is to be shown in."""
        for field, value in ast.iter_fields(node):
            if field in ("annotation", "returns", "decorator_list", "bases", "type_params"):
                continue
            for at, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
                if isinstance(child, ast.AST):
                    self._visit(child, node, field, at, line)

    def _visit(
        self, node: ast.AST, parent: ast.AST, field: str, at: int | None, line: ast.AST
    ) -> None:
        if _for_readers(node):
            return
        shown = line
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            is_function = isinstance(node, ast.FunctionDef)
            self.names.append(node.name)
            self.depth += is_function
            self._children(node, node)
            self.depth -= is_function
            self.names.pop()
            return
        if isinstance(node, SHOWN) and not isinstance(node, ast.If | ast.For | ast.While):
            shown = node
        self._operators(node)
        self._values(node, parent, field, at, shown)
        self._steps(node, parent, field, at)
        self._tests(node, shown)
        self._children(node, shown)

    def _operators(self, node: ast.AST) -> None:
        if isinstance(node, ast.Compare):
            for number, operator in enumerate(node.ops):
                self._add(node, "ops", number, OTHER_WAY[type(operator)](), node)
        elif isinstance(node, ast.BoolOp | ast.BinOp | ast.AugAssign):
            self._add(node, "op", None, OTHER_WAY[type(node.op)](), node)

    def _values(
        self, node: ast.AST, parent: ast.AST, field: str, at: int | None, shown: ast.AST
    ) -> None:
        if isinstance(node, ast.UnaryOp):
            self._add(parent, field, at, node.operand, _holder(parent, shown))
        elif isinstance(node, ast.Constant) and node.value is not None:
            self._add(node, "value", None, _other_value(node.value), shown)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            other = OTHER_CALL.get(node.func.id)
            if other and not (node.func.id == "sorted" and node.keywords):
                self._add(node.func, "id", None, other, node)

    def _steps(self, node: ast.AST, parent: ast.AST, field: str, at: int | None) -> None:
        if isinstance(node, ast.Continue | ast.Break):
            self._add(parent, field, at, OTHER_WAY[type(node)](), parent)
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
            self._add(node, "value", None, ast.Constant(None), node)

    def _tests(self, node: ast.AST, shown: ast.AST) -> None:
        if isinstance(node, ast.comprehension):
            for number, test in enumerate(node.ifs):
                if isinstance(test, NEGATED):
                    self._add(node, "ifs", number, ast.UnaryOp(ast.Not(), test), shown)
        if isinstance(node, TESTS) and isinstance(node.test, NEGATED):
            self._add(node, "test", None, ast.UnaryOp(ast.Not(), node.test), _Test(node))


class _Test(ast.expr):
    """Shows the test of a statement as it is at the moment."""

    def __init__(self, of: Any) -> None:
        super().__init__()
        self.of = of


def _holder(parent: ast.AST, shown: ast.AST) -> ast.AST:
    return _Test(parent) if isinstance(parent, TESTS) else shown


def _for_readers(node: ast.AST) -> bool:
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    if isinstance(node, ast.Assert | ast.Import | ast.ImportFrom):
        return True
    if isinstance(node, ast.keyword) and node.arg == "strict":  # as good as an assertion
        return True
    return isinstance(node, ast.Assign) and any(
        isinstance(target, ast.Name) and target.id in ("__slots__", "Mix", "Hours")
        for target in node.targets
    )


def _other_value(value: object) -> object:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    return f"{value}~" if isinstance(value, str) else value
