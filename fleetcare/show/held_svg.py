"""A picture of how the dates have held: a bar from early to late for each, a dot where it came.

Every date stands on a line of its own, in the order of how far ahead it was said, the nearest on
top; across are days before and after its middle day. So the bars widen downwards, and dots beside
them are the dates that did not hold. It is drawn in black and grey, and reads without colour.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from fleetcare.due.held import HELD, Judgement, Looked, shares
from fleetcare.fleet.days import spoken
from fleetcare.show.held import verdict_line

MOST_LINES = 360  # of more dates, so many are drawn, chosen evenly
MOST_NAMED = 50  # up to so many dates each line is named
WIDTH, TOP, BOTTOM = 860, 92, 104
BESIDE = 24
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_STEPS = (1, 2, 5, 10, 20, 30, 60, 90, 180, 365, 730, 1460)
_AHEAD = ((0, "said for days at hand"), (14, "2 weeks ahead"), (30, "1 month"), (60, "2 months"),
          (90, "3 months"), (180, "half a year"), (365, "a year"), (730, "2 years"))  # fmt: skip
_STYLE = (
    "text{font:13px sans-serif;fill:#000}.t{font-size:18px;font-weight:bold}.s{font-size:11px}"
    ".e{text-anchor:end}.m{text-anchor:middle}.g{stroke:#ddd}.z{stroke:#000;stroke-dasharray:2 3}"
    ".b{stroke:#aaa;fill:none}.d{stroke:#000;stroke-linecap:round;fill:none}"
    ".o{stroke:#fff;stroke-linecap:round;fill:none}"
)


def held_svg(seen: Judgement) -> bytes:
    """The picture as an SVG file; the same dates give the same bytes."""
    counted = [item for item in seen.dates if item.counts and item.on is not None]
    counted.sort(key=lambda item: (_ahead(item), item.looked_on, item.engine, item.rule.name))
    drawn = _chosen(counted)
    verdict = verdict_line(shares(seen.dates))
    canvas = _Canvas(drawn)
    body = [*_head(verdict, len(drawn), len(counted))]
    if drawn:
        body += [*canvas.axis(), *canvas.margin(), *canvas.marks(), *_legend(canvas.foot)]
    height = canvas.foot + BOTTOM if drawn else TOP + 20
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" role="img" aria-labelledby="t d">'
    )
    return "\n".join(
        ['<?xml version="1.0" encoding="UTF-8"?>', opening, *body, "</svg>", ""]
    ).encode("utf-8")


def _ahead(item: Looked) -> int:
    return (item.on or 0) - item.looked_on


def _chosen(rows: Sequence[Looked]) -> list[Looked]:
    """Evenly chosen ones where there are more than can be drawn; each keeps its line."""
    count = len(rows)
    if count <= MOST_LINES:
        return list(rows)
    return [rows[(2 * at + 1) * count // (2 * MOST_LINES)] for at in range(MOST_LINES)]


def _head(verdict: str, drawn: int, counted: int) -> list[str]:
    title = "Dates said, and when the hours ran out"
    lines = [
        f'<title id="t">{title}</title>', f'<desc id="d">{escaped(verdict)}</desc>',
        f"<style>{_STYLE}</style>", f'<rect width="{WIDTH}" height="100%" fill="#fff"/>',
        _text(BESIDE, 32, title, "t"), _text(BESIDE, 54, verdict),
    ]  # fmt: skip
    if drawn < counted:
        lines.append(_text(BESIDE, 72, f"{drawn} of {counted:,} drawn, chosen evenly.", "s"))
    return lines


class _Canvas:
    """Where things stand: a line for each date, days across."""

    def __init__(self, drawn: Sequence[Looked]) -> None:
        self.drawn = drawn
        self.named = len(drawn) <= MOST_NAMED
        self.pitch = 18 if self.named else max(3, min(10, 1080 // max(1, len(drawn))))
        self.left = 300 if self.named else 150
        self.right = WIDTH - BESIDE
        self.foot = TOP + 8 + self.pitch * len(drawn)
        self.reach = _reach(drawn)

    def x(self, days: int) -> int:
        """Across, for days from the middle one; what is beyond the reach stands at its edge."""
        inside = max(-self.reach, min(self.reach, days))
        middle, half = (self.left + self.right) // 2, (self.right - self.left) // 2 - 8
        return middle + round(half * inside / self.reach)

    def y(self, at: int) -> int:
        """Down, for a line."""
        return TOP + 8 + self.pitch * at + self.pitch // 2

    def axis(self) -> list[str]:
        """Upright lines at round numbers of days, and what they mean."""
        step = next(
            (size for size in _STEPS if self.reach / size <= (3 if self.named else 4)), _STEPS[-1]
        )
        lines = []
        for days in range(-(self.reach // step) * step, self.reach + 1, step):
            x = self.x(days)
            kind = "g" if days else "z"
            lines.append(f'<path class="{kind}" d="M{x} {TOP}V{self.foot}"/>')
            words = f"{abs(days)} days {'earlier' if days < 0 else 'later'}" if days else "middle"
            if abs(days) == 1:
                words = words.replace("days", "day")
            lines.append(_text(x, self.foot + 18, words, "s m"))
        middle = (self.left + self.right) // 2
        words = "days from the middle day said to the day the hours ran out"
        lines.append(_text(middle, self.foot + 40, words, "m"))
        return lines

    def margin(self) -> list[str]:
        """Beside the lines: what each is, or how far ahead those from here on were said."""
        if self.named:
            return [
                _text(self.left - 8, self.y(at) + 4, _label(item), "s e", _whole_label(item))
                for at, item in enumerate(self.drawn)
            ]
        lines: list[str] = []
        before, below = "", 0
        for at, item in enumerate(self.drawn):
            words = next(words for days, words in reversed(_AHEAD) if days <= max(0, _ahead(item)))
            if words != before and self.y(at) >= below:
                lines.append(_text(self.left - 8, self.y(at) + 4, words, "s e"))
                before, below = words, self.y(at) + 14
        return lines

    def marks(self) -> list[str]:
        """The bars from early to late, their middle, and the dots, each kind in one path."""
        bars: list[str] = []
        dots: list[str] = []
        rings: list[str] = []
        for at, item in enumerate(self.drawn):
            y, on = self.y(at), item.on or 0
            first, last = self.x(item.early - on), self.x((item.late or on) - on)
            bars.append(f"M{first} {y}h{max(1, last - first)}")
            (dots if item.verdict == HELD else rings).append(f"M{self.x(item.off or 0)} {y}h0")
        thick = max(2, min(9, self.pitch - 1))
        dot, ring = max(3, min(7, self.pitch)), max(4, min(9, self.pitch + 2))
        lines = [f'<path class="b" stroke-width="{thick}" d="{"".join(bars)}"/>']
        middle = self.x(0)
        lines.append(f'<path class="z" d="M{middle} {TOP}V{self.foot}"/>')
        if dots:
            lines.append(f'<path class="d" stroke-width="{dot}" d="{"".join(dots)}"/>')
        if rings:
            path = "".join(rings)
            lines.append(f'<path class="d" stroke-width="{ring}" d="{path}"/>')
            lines.append(f'<path class="o" stroke-width="{ring - 2}" d="{path}"/>')
        return lines


def _reach(drawn: Sequence[Looked]) -> int:
    """Days to each side: as far as all but the widest twentieth of bars and dots go."""
    spans = sorted(
        max(abs(item.early - (item.on or 0)), abs((item.late or 0) - (item.on or 0)),
            abs(item.off or 0))
        for item in drawn
    )  # fmt: skip
    return max(7, spans[(len(spans) - 1) * 19 // 20]) if spans else 7


def _legend(foot: int) -> list[str]:
    y = foot + 68
    return [
        f'<path class="b" stroke-width="9" d="M{BESIDE} {y}h40"/>',
        _text(BESIDE + 48, y + 4, "from the early to the late day", "s"),
        f'<path class="d" stroke-width="7" d="M{BESIDE + 240} {y}h0"/>',
        _text(BESIDE + 252, y + 4, "it came in between: held", "s"),
        f'<path class="d" stroke-width="9" d="M{BESIDE + 420} {y}h0"/>',
        f'<path class="o" stroke-width="7" d="M{BESIDE + 420} {y}h0"/>',
        _text(BESIDE + 432, y + 4, "it came earlier or later", "s"),
        _text(BESIDE, y + 24, "Each line is one date; the nearest, when it was said, on top. "
              "What lies beyond the picture stands at its edge.", "s"),
    ]  # fmt: skip


def _label(item: Looked) -> str:
    name, task = _short(item.engine, 16), _short(item.rule.name, 14)
    return f"{name}, {task}, on {spoken(date.fromordinal(item.looked_on))}"


def _whole_label(item: Looked) -> str:
    early, on, late = (
        spoken(date.fromordinal(day)) if day is not None else "later"
        for day in (item.early, item.on, item.late)
    )
    came = "not yet" if item.came_on is None else spoken(date.fromordinal(item.came_on))
    words = "between" if item.verdict == HELD else item.verdict
    return f"{item.engine}, {item.rule.name}: said {early}, {on}, {late}; came {came} ({words})"


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _text(x: int, y: int, words: str, kind: str = "", whole: str = "") -> str:
    tip = f"<title>{escaped(whole)}</title>" if whole else ""
    style = f' class="{kind}"' if kind else ""
    return f'<text x="{x}" y="{y}"{style}>{tip}{escaped(words)}</text>'


def escaped(text: str) -> str:
    """Text that may stand in an SVG file, whatever it holds."""
    clean = _NOT_IN_XML.sub("\ufffd", text)
    for char, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        clean = clean.replace(char, entity)
    return clean
