"""The survival curve of a part with its band and findings: in blocks, and as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

from fleetcare.fleet.days import spoken
from fleetcare.fleet.waters import WORDS
from fleetcare.repair.findings import PartLife
from fleetcare.repair.wear import Point, Wear
from fleetcare.show.table import NO_BREAK

ROWS = 10
MARGIN = 6  # columns for the figures at the left
MOST_COLUMNS = 72
SURE, LIKELY, PERHAPS = "█", "▓", "░"


def at(curve: Sequence[Point], age: float) -> Point:
    """The curve at an age, in straight lines between its points."""
    step = curve[1].age - curve[0].age
    place = min(max(age / step, 0.0), len(curve) - 1.0)
    j = min(int(place), len(curve) - 2)
    share = place - j
    one, two = curve[j], curve[j + 1]
    return Point(
        age,
        one.low + (two.low - one.low) * share,
        one.middle + (two.middle - one.middle) * share,
        one.high + (two.high - one.high) * share,
    )


def plot(item: Wear, curve: Sequence[Point], width: int) -> list[str]:
    """The curve in blocks, `width` columns wide at most: how many are still good at an age."""
    columns = max(10, min(MOST_COLUMNS, width) - MARGIN)
    to = curve[-1].age
    points = [at(curve, to * (column + 0.5) / columns) for column in range(columns)]
    limit = min(columns - 1, int(columns / to))
    lines = [f"Still good, with the band that holds 90{NO_BREAK}% of the weight:"]
    for row in range(ROWS):
        level = 1.0 - (row + 0.5) / ROWS
        cells = [_block(level, point) for point in points]
        cells[limit] = "│"
        label = {0: "100 %", ROWS // 2: " 50 %", ROWS - 1: "  0 %"}.get(row, "")
        lines.append(f"{label:<{MARGIN}}{''.join(cells)}".rstrip())
    fine = [life.fine for life in item.lives.lives if life.worn is None]
    worn = [life.worn for life in item.lives.lives if life.worn is not None]
    lines.append(_marks("fine", fine, to, columns))
    lines.append(_marks("worn", worn, to, columns))
    lines.append(_axis(item, to, columns, limit))
    lines.append(
        f"{SURE} surely, {LIKELY} likely, {PERHAPS} perhaps still good; │ the limit; below, how "
        "many were found at that age."
    )
    return [line.replace(" ", NO_BREAK) if len(line) <= width else line for line in lines]


def _block(level: float, point: Point) -> str:
    if level <= point.low:
        return SURE
    if level <= point.middle:
        return LIKELY
    return PERHAPS if level <= point.high else " "


def _marks(name: str, ages: Sequence[float], to: float, columns: int) -> str:
    """How many findings lie in each column: a figure, + for more than nine."""
    counts = [0] * columns
    for age in ages:
        counts[min(columns - 1, int(age / to * columns))] += 1
    marks = "".join(" " if not n else str(n) if n < 10 else "+" for n in counts)
    return f"{name:<{MARGIN}}{marks}".rstrip()


def _axis(item: Wear, to: float, columns: int, limit: int) -> str:
    unit, size = item.lives.unit, item.lives.limit
    cells = [" "] * (columns + len(unit) + 8)
    last = f"{to * size:g}"
    for place, text in ((0, "0"), (limit, f"{size:g} {unit}"), (columns - len(last), last)):
        if all(cell == " " for cell in cells[max(0, place - 1) : place + len(text) + 1]):
            cells[place : place + len(text)] = text
    return f"{'':<{MARGIN}}{''.join(cells)}".rstrip()


# ---- SVG

WIDTH, PANEL = 640, 376
LEFT, RIGHT, TOP, BOTTOM = 56, 20, 62, 226  # of the curve within its panel
LANE, DOTS = 256, 318  # where what was worn out stands, and the line that the rest stands on
_STYLE = (
    "text{font:13px sans-serif;fill:#1b1b1b}.s{font-size:11px;fill:#444}.t{font-weight:bold}"
    ".b{fill:#cfe0ee}.c{fill:none;stroke:#14507a;stroke-width:2}.a{stroke:#777;stroke-width:1}"
    ".g{stroke:#ddd;stroke-width:1}.l{stroke:#1b1b1b;stroke-width:1.5;stroke-dasharray:5 3}"
    ".f{fill:#fff;stroke:#1d6b3a;stroke-width:1.2}.w{stroke:#a3200f;stroke-width:2}"
    ".i{stroke:#a3200f;stroke-width:1}"
)


def svg(items: Sequence[tuple[Wear, Sequence[Point]]], title: str) -> str:
    """The curves of one job as an SVG file, one below the other; same input, same bytes."""
    height = PANEL * len(items) + 8
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        f'width="{WIDTH}" height="{height}" role="img" lang="en">',
        f"<title>{_text(title)}</title>",
        f"<style>{_STYLE}</style>",
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
    ]
    for number, (item, curve) in enumerate(items):
        lines.append(f'<g transform="translate(0 {PANEL * number})">')
        lines += _panel(item, curve)
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _text(text: str) -> str:
    """Text for SVG: escaped, and without characters that XML cannot hold."""
    kept = "".join(char for char in text if char.isprintable())
    return escape(kept, quote=True)


def _panel(item: Wear, curve: Sequence[Point]) -> list[str]:
    lives, to = item.lives, curve[-1].age
    size, unit = lives.limit, lives.unit
    worn = f"{lives.worn} worn out"
    lines = [
        f'<text class="t" x="{LEFT}" y="24">{_text(lives.group.task)}, '
        f"{WORDS[lives.group.water]} water, {_text(lives.group.use)}</text>",
        f'<text class="s" x="{LEFT}" y="42">{len(lives.lives)} findings, {worn}. Still good at an '
        "age, with the band that holds 90 % of the weight.</text>",
    ]
    for percent in (0, 25, 50, 75, 100):
        y = _y(percent / 100)
        lines.append(f'<line class="g" x1="{LEFT}" y1="{y}" x2="{WIDTH - RIGHT}" y2="{y}"/>')
        lines.append(
            f'<text class="s" x="{LEFT - 6}" y="{_shift(y, 4)}" text-anchor="end">'
            f"{percent} %</text>"
        )
    upper = [f"{_x(point.age, to)},{_y(point.high)}" for point in curve]
    lower = [f"{_x(point.age, to)},{_y(point.low)}" for point in reversed(curve)]
    middle = [f"{_x(point.age, to)},{_y(point.middle)}" for point in curve]
    lines.append(f'<polygon class="b" points="{" ".join(upper + lower)}"/>')
    lines.append(f'<polyline class="c" points="{" ".join(middle)}"/>')
    limit = _x(1.0, to)
    lines.append(f'<line class="l" x1="{limit}" y1="{TOP - 8}" x2="{limit}" y2="{DOTS}"/>')
    lines.append(
        f'<text class="s" x="{_shift(limit, 5)}" y="{TOP - 2}">limit {size:g} {unit}</text>'
    )
    lines += _dots(item, to)
    lines.append(f'<line class="a" x1="{LEFT}" y1="{DOTS}" x2="{WIDTH - RIGHT}" y2="{DOTS}"/>')
    for step in range(5):
        share = to * step / 4
        name = f"{share * size:g}" + (f" {unit}" if step == 4 else "")
        anchor = "end" if step == 4 else "middle"
        lines.append(
            f'<text class="s" x="{_x(share, to)}" y="{DOTS + 16}" text-anchor="{anchor}">'
            f"{name}</text>"
        )
    lines += _legend()
    return lines


def _legend() -> list[str]:
    y = DOTS + 38
    return [
        f'<circle class="f" cx="{LEFT + 4}" cy="{y - 4}" r="3"/>',
        f'<text class="s" x="{LEFT + 14}" y="{y}">fine at that age</text>',
        *_cross(LEFT + 130, y - 4),
        f'<text class="s" x="{LEFT + 140}" y="{y}">worn out by that age, since the end of its '
        "line</text>",
    ]


def _dots(item: Wear, to: float) -> list[str]:
    """The findings by age: rings for fine on the line, crosses with their span above them."""
    worn = [life for life in item.lives.lives if life.worn is not None]
    fine = [life for life in item.lives.lives if life.worn is None]
    lines = []
    for life, x, y in _stacked(worn, to, LANE, LANE - BOTTOM - 10):
        begin = _x(min(life.fine, to), to)
        lines.append(f'<g>{_tip(life)}<line class="i" x1="{begin}" y1="{y}" x2="{x}" y2="{y}"/>')
        lines += [*_cross(float(x), float(y)), "</g>"]
    for life, x, y in _stacked(fine, to, DOTS - 6, DOTS - LANE - 18):
        lines.append(f'<circle class="f" cx="{x}" cy="{y}" r="3">{_tip(life)}</circle>')
    return lines


def _stacked(
    lives: Sequence[PartLife], to: float, base: int, room: int
) -> list[tuple[PartLife, str, str]]:
    """The places of findings of one kind, those of one age one above the other."""
    span = WIDTH - RIGHT - LEFT
    levels: dict[int, int] = {}
    placed = []
    for life in sorted(lives, key=lambda one: (one.worn or one.fine, one.day, one.engine)):
        end = min(life.worn or life.fine, to)
        place = int(end / to * span / 7)
        placed.append((life, end, levels.get(place, 0)))
        levels[place] = levels.get(place, 0) + 1
    step = min(7.0, room / max(1, *levels.values())) if levels else 0.0
    return [(life, _x(end, to), f"{base - level * step:.1f}") for life, end, level in placed]


def _tip(life: PartLife) -> str:
    when = spoken(date.fromordinal(life.day))
    return f"<title>{_text(f'{life.engine}, {when}: {life.condition}')}</title>"


def _cross(x: float, y: float) -> list[str]:
    a, b, c, d = (f"{value:.1f}" for value in (x - 3, y - 3, x + 3, y + 3))
    return [
        f'<path class="w" d="M{a} {b}L{c} {d}M{a} {d}L{c} {b}"/>',
    ]


def _x(age: float, to: float) -> str:
    return f"{LEFT + (WIDTH - RIGHT - LEFT) * age / to:.1f}"


def _y(share: float) -> str:
    return f"{BOTTOM - (BOTTOM - TOP) * share:.1f}"


def _shift(text: str, by: float) -> str:
    return f"{float(text) + by:.1f}"
