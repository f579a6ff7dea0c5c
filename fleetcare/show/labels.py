"""QR labels of engines on sheets of labels: each sheet one drawing, exact in millimetres.

A label shows the engine's name as large as it fits, its boat, the looks at every start, and a code
that carries the name. Every line says its own width, so that no font can push it over the edge,
and nothing of a label is drawn outside of it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fleetcare.fleet.engines import Engine
from fleetcare.rules.rule import RuleSet
from fleetcare.show.held_svg import escaped
from fleetcare.show.labels_fit import LINE, RISE, Fitted, fitted, is_tame
from fleetcare.show.labels_sizes import LabelSheet
from fleetcare.show.qr import QUIET, modules
from fleetcare.show.table import NO_BREAK
from fleetcare.show.words import Words

INSET = 2.5  # millimetres that stay white at a label's edges
EDGE = 5.0  # millimetres at the paper's edges that many a printer leaves white
SPACING = 1.5
CODE_SHARE = 0.42  # of the label's width at most
FONT = "Arial,'Liberation Sans',Helvetica,sans-serif"
_RIGHT_TO_LEFT = ("R", "AL")


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label; `boat` is None in store."""

    engine: str
    boat: str | None
    looks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Box:
    """A room in millimetres, from the label's upper left corner."""

    left: float
    top: float
    width: float
    height: float


def looks_of(ruleset: RuleSet, engine: Engine) -> tuple[str, ...]:
    """The looks at every start of an engine, as short as the rules name them."""
    return tuple(
        rule.name
        for rule in ruleset.rules.values()
        if rule.every_start and rule.name not in engine.without and rule.fits.engine(engine)
    )


def labels_page(
    labels: Sequence[Label], sheet: LabelSheet, words: Words, skip: int = 0, lines: bool = False
) -> str:
    """The sheets as one HTML page that prints as they are."""
    from fleetcare.show.pages import page

    width, height = (_mm(side / 1000) for side in sheet.page)
    return page(
        "labels.html", words, sheets=sheets_svg(labels, sheet, words, skip, lines), width=width,
        height=height, count=len(labels), size=sheet.said, paper=sheet.paper,
    )  # fmt: skip


def sheets_svg(
    labels: Sequence[Label], sheet: LabelSheet, words: Words, skip: int = 0, lines: bool = False
) -> list[str]:
    """One SVG drawing for each sheet of paper.

    The first `skip` labels of the first sheet are gone already; `lines` draws where to cut.
    """
    wanted: list[Label | None] = [*([None] * skip), *labels]
    drawn: dict[Label, str] = {}
    pages = []
    for start in range(0, len(wanted), sheet.labels):
        body = []
        for place, label in zip(sheet.places(), wanted[start : start + sheet.labels], strict=False):
            if label is None:
                continue
            if label not in drawn:
                drawn[label] = "".join(_Drawing(label, sheet, words).parts())
            body.append(_placed(place, sheet, drawn[label], lines))
        pages.append(_page(sheet, body))
    return pages


def _page(sheet: LabelSheet, body: Sequence[str]) -> str:
    width, height = (_mm(side / 1000) for side in sheet.page)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">\n' + "\n".join(body) + "\n</svg>\n"
    )


def _placed(place: tuple[int, int], sheet: LabelSheet, drawing: str, lines: bool) -> str:
    """A label in its place; a drawing within a drawing ends at its own edges."""
    x, y = (_mm(side / 1000) for side in place)
    width, height = _mm(sheet.width / 1000), _mm(sheet.height / 1000)
    kind, stroke = ("cut", "#000") if lines else ("edge", "none")
    where = f'x="{x}" y="{y}" width="{width}" height="{height}"'
    return (
        f'<svg {where} viewBox="0 0 {width} {height}" overflow="hidden">{drawing}</svg>'
        f'<rect class="{kind}" {where} fill="none" stroke="{stroke}" stroke-width="0.15"/>'
    )


def _mm(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


class _Drawing:
    """One label: the code on the left, the words beside it."""

    def __init__(self, label: Label, sheet: LabelSheet, words: Words) -> None:
        self.label, self.words = label, words
        self.width, self.height = sheet.width / 1000, sheet.height / 1000
        self.across = max(INSET, EDGE - sheet.left / 1000)
        self.down = max(INSET, EDGE - sheet.top / 1000)

    def parts(self) -> Iterator[str]:
        """The pieces of its drawing."""
        rows = modules(self.label.engine)
        inner = [row[QUIET:-QUIET] for row in rows[QUIET:-QUIET]]
        size = self._module(len(inner))
        left = max(self.across, QUIET * size)
        side = size * len(inner)
        top = (self.height - side) / 2
        yield _code(inner, left, top, size)
        begin = left + side + max(QUIET * size, SPACING)
        yield from self._texts(
            _Box(begin, self.down, self.width - self.across - begin, self.height - 2 * self.down)
        )

    def _module(self, count: int) -> float:
        """The side of a module, so large that the code with its quiet zone still fits."""
        down = min((self.height - 2 * self.down) / count, self.height / (count + 2 * QUIET))
        share = CODE_SHARE * self.width
        across = min((share - self.across) / (count + QUIET), share / (count + 2 * QUIET))
        return min(down, across)

    def _texts(self, box: _Box) -> Iterator[str]:
        """The name from the top, the boat under it, the looks at the bottom."""
        label, small = self.label, max(2.3, min(6.0, box.height * 0.11))
        whole = (look.replace(" ", NO_BREAK) for look in label.looks)
        looks = self.words("Every start: {looks}", looks=", ".join(whole))
        foot = fitted(looks, box.width, box.height * 0.3, small, bold=False)
        used = foot.height + SPACING / 2 if label.looks else 0.0
        boat = self.words("in store") if label.boat is None else label.boat
        second = fitted(boat, box.width, box.height * 0.22, small * 1.6, bold=False)
        room = box.height - used - second.height
        name = fitted(label.engine, box.width, room, box.height * 0.5, bold=True)
        yield from _lines(name, box, box.top, "name")
        yield from _lines(second, box, box.top + name.height, "boat")
        if label.looks:
            yield from _lines(foot, box, box.top + box.height - foot.height, "looks")


def _lines(text: Fitted, box: _Box, top: float, kind: str) -> Iterator[str]:
    turned = is_right_to_left(" ".join(line for line, _ in text.lines))
    x, anchor = _mm(box.left), ""
    if turned:
        x = _mm(box.left + box.width)
        anchor = ' text-anchor="end" style="unicode-bidi:plaintext"'
    weight = ' font-weight="700"' if kind == "name" else ""
    for at, (line, width) in enumerate(text.lines):
        y = _mm(top + text.size * (LINE * at + RISE))
        held = ""
        if width and not is_tame(line):
            held = f' textLength="{_mm(width)}" lengthAdjust="spacingAndGlyphs"'
        yield (
            f'<text class="{kind}" x="{x}" y="{y}" font-size="{_mm(text.size)}" '
            f'font-family="{FONT}"{weight}{anchor}{held}>{escaped(line)}</text>'
        )


def is_right_to_left(text: str) -> bool:
    """Whether a text begins with letters that are written from right to left."""
    for char in text:
        direction = unicodedata.bidirectional(char)
        if direction in ("L", *_RIGHT_TO_LEFT):
            return direction in _RIGHT_TO_LEFT
    return False


def _code(rows: Sequence[Sequence[int]], left: float, top: float, size: float) -> str:
    """The dark modules as one path, a stretch of them at a time."""
    path = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                path.append(f"M{x} {y}h{end - x}v1H{x}z")
            x = end + 1
    return (
        f'<path class="code" transform="translate({left:.4f} {top:.4f}) scale({size:.5f})" '
        f'shape-rendering="crispEdges" fill="#000" d="{"".join(path)}"/>'
    )
