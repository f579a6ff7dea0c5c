"""The plan as a picture: minutes of each day above, boats below, their visits and bookings.

It is drawn in black, white and greys, so that paper loses nothing: a black box is a visit with late
jobs that lead to overheating or a seized swivel, a grey one has others late, a white one none;
hatching is a booked day, a light column a closed one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.days import MONTHS, spoken
from fleetcare.fleet.names import natural
from fleetcare.plan.records import Plan, ServiceDay, Visit
from fleetcare.show.held_svg import escaped
from fleetcare.show.plan import counted, weekday

LEFT, RIGHT, TOP = 150, 24, 74
BAR, GAP, ROW = 64, 32, 18
MOST_ROWS = 120  # boats drawn, those with visits first
WIDE = 16  # pixels of a day in which figures fit
MOST_WIDTH, LEAST_WIDTH = 1_100, 840  # the legend's
_STYLE = (
    "text{font:13px sans-serif;fill:#000}.t{font-size:18px;font-weight:bold}.s{font-size:11px}"
    ".f{font-size:8.5px}.e{text-anchor:end}.m{text-anchor:middle}.w{fill:#fff}"
    ".o{fill:none;stroke:#000;stroke-width:.75}.u{fill:#000}.c{fill:#ddd}.g{stroke:#bbb}"
    ".k{stroke:#000;stroke-width:.75}.v{fill:#fff;stroke:#000;stroke-width:1.5}"
    ".l{fill:#000;stroke:#000;stroke-width:1.5}.h{fill:#aaa;stroke:#000;stroke-width:1.5}"
)
_HATCH = (
    '<defs><pattern id="b" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V5" stroke="#000" stroke-width="1.4"/></pattern>'
    "</defs>"
)


def plan_svg(
    plan: Plan, minutes: Mapping[str, Sequence[int]], taken: Mapping[str, Collection[int]]
) -> bytes:
    """The picture as an SVG file; the same plan gives the same bytes.

    `minutes` are by place those of each day, `taken` by boat the days (ordinals) it is booked.
    """
    canvas = _Canvas(plan, minutes, taken)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{canvas.width}" '
        f'height="{canvas.height}" viewBox="0 0 {canvas.width} {canvas.height}" role="img" '
        'aria-labelledby="t d">'
    )
    body = [
        f'<title id="t">{escaped(canvas.title())}</title>',
        f'<desc id="d">{escaped(described(plan))}</desc>',
        f"<style>{_STYLE}</style>", _HATCH, '<rect width="100%" height="100%" fill="#fff"/>',
        *canvas.head(), *canvas.columns(), *canvas.bars(), *canvas.rows(), *canvas.legend(),
    ]  # fmt: skip
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', opening, *body, "</svg>", ""]
    return "\n".join(lines).encode("utf-8")


def described(plan: Plan) -> str:
    """The picture in words, for whoever does not see it: every day with its boats."""
    told = []
    for day in plan.days:
        boats = ", ".join(dict.fromkeys(_name(visit) for visit in day.visits))
        late = sum(job.late > 0 for visit in day.visits for job in visit.jobs)
        place = f" at {day.place}" if day.place else ""
        tail = f", {counted(late, 'job')} late" if late else ""
        told.append(
            f"{weekday(day.on, plan.first)}{place}: {day.minutes} of {day.capacity} minutes, "
            f"{boats}{tail}."
        )
    left = f" No day was found for {counted(len(plan.unplaced), 'job')}." if plan.unplaced else ""
    return (" ".join(told) or "No service days.") + left


def _name(visit: Visit) -> str:
    return visit.boat or visit.engine


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    visits: tuple[tuple[ServiceDay, tuple[Visit, ...]], ...]
    taken: tuple[int, ...]


class _Canvas:
    """Where things stand: a column a day, a band of bars a place, a row a boat."""

    def __init__(
        self, plan: Plan, minutes: Mapping[str, Sequence[int]],
        taken: Mapping[str, Collection[int]],
    ) -> None:  # fmt: skip
        self.plan, self.minutes = plan, minutes
        days = plan.last - plan.first + 1
        self.pitch: float = WIDE if days * WIDE <= MOST_WIDTH else max(2, MOST_WIDTH // days)
        self.width = max(LEAST_WIDTH, LEFT + int(days * self.pitch) + RIGHT)
        every = _rows(plan, taken)
        self.shown, self.hidden = every[:MOST_ROWS], len(every) - MOST_ROWS
        self.foot = TOP + (BAR + GAP) * len(minutes)
        self.height = self.foot + ROW * len(self.shown) + 74

    def title(self) -> str:
        first, last = date.fromordinal(self.plan.first), date.fromordinal(self.plan.last)
        return f"Service days, {spoken(first, last)} to {spoken(last)}"

    def head(self) -> list[str]:
        plan = self.plan
        jobs = sum(len(visit.jobs) for day in plan.days for visit in day.visits)
        harmful = sum(item.precursor for item in plan.late)
        words = (
            f"{counted(jobs, 'job')} on {counted(len(plan.days), 'day')}; late: {harmful} leading "
            f"to overheating or a seized swivel, {len(plan.late) - harmful} other; without a day: "
            f"{len(plan.unplaced)}"
        )
        return [_text(24, 30, self.title(), "t"), _text(24, 50, words, "s")]

    def x(self, day: int) -> float:
        """The left edge of a day."""
        return LEFT + (day - self.plan.first) * self.pitch

    def columns(self) -> list[str]:
        """Grey where no place works, a line and the day's number at every Monday."""
        lines = []
        bottom = self.foot + ROW * len(self.shown)
        for day in range(self.plan.first, self.plan.last + 1):
            if not any(by_day[day - self.plan.first] for by_day in self.minutes.values()):
                lines.append(_box(self.x(day), TOP, self.pitch, bottom - TOP, "c"))
        month = 0
        for day in range(self.plan.first, self.plan.last + 1):
            on = date.fromordinal(day)
            if on.weekday() == 0:
                x = self.x(day)
                words = str(on.day) if on.month == month else f"{on.day} {MONTHS[on.month - 1]}"
                month = on.month
                lines.append(f'<path class="g" d="M{_n(x)} {TOP}V{bottom}"/>')
                if self.pitch * 7 >= 44 or words != str(on.day):
                    lines.append(_text(x + 2, bottom + 14, words, "s"))
        return lines

    def bars(self) -> list[str]:
        """By place and day the minutes of the workshop outlined, those planned filled."""
        lines = []
        most = max((max(by_day) for by_day in self.minutes.values()), default=0) or 1
        for at, (place, by_day) in enumerate(self.minutes.items()):
            base = TOP + at * (BAR + GAP) + BAR + 14
            used = {day.on: day.minutes for day in self.plan.days if day.place == place}
            name = place or "Minutes"
            lines.append(_text(LEFT - 8, base - BAR // 2, _short(name), "e", name))
            lines.append(_text(LEFT - 8, base - BAR // 2 + 14, f"of {max(by_day)} a day", "s e"))
            for day, capacity in enumerate(by_day, self.plan.first):
                if capacity:
                    lines += self._bar(day, base, used.get(day, 0), capacity, most)
        return lines

    def _bar(self, day: int, base: int, minutes: int, capacity: int, most: int) -> list[str]:
        x, wide = self.x(day) + 1, self.pitch - 2
        tall, full = BAR * capacity / most, BAR * minutes / most
        lines = []
        if minutes:
            lines.append(_box(x, base - full, wide, full, "u"))
            if self.pitch >= WIDE:
                lines.append(_text(x + wide / 2, base - tall - 3, str(minutes), "f m"))
        return [*lines, _box(x, base - tall, wide, tall, "o")]

    def rows(self) -> list[str]:
        """A row for each boat: booked days hatched, visits as boxes with their number of jobs."""
        lines = []
        for at, row in enumerate(self.shown):
            y = self.foot + at * ROW
            lines.append(_text(LEFT - 8, y + 13, _short(row.name), "s e", row.name))
            lines.append(
                f'<path class="g" d="M{LEFT} {y + ROW}H{_n(self.x(self.plan.last + 1))}"/>'
            )
            for day in row.taken:
                if self.plan.first <= day <= self.plan.last:
                    cell = _box(self.x(day), y + 1, self.pitch, ROW - 2, "", "url(#b)")
                    lines.append(cell)
            for service, visits in row.visits:
                lines += self._visit(service, visits, y)
        return lines

    def _visit(self, service: ServiceDay, visits: Sequence[Visit], y: int) -> list[str]:
        jobs = [job for visit in visits for job in visit.jobs]
        late = [job for job in jobs if job.late]
        kind = "l" if any(job.precursor for job in late) else "h" if late else "v"
        x, wide = self.x(service.on) + 1, max(2, self.pitch - 2)
        tip = f"{weekday(service.on, self.plan.first)}: {', '.join(job.task for job in jobs)}"
        lines = [_box(x, y + 3, wide, ROW - 6, kind, tip=tip)]
        if self.pitch >= WIDE:
            ink = "f m w" if kind == "l" else "f m"
            lines.append(_text(x + wide / 2, y + 12, str(len(jobs)), ink))
        return lines

    def legend(self) -> list[str]:
        """What the marks mean."""
        y = self.foot + ROW * len(self.shown) + 40
        lines = []
        x = 24
        for kind, fill, words in (
            ("l", "", "visit (figure: jobs), late ones that lead to harm"),
            ("h", "", "visit, others late"), ("v", "", "visit, all in time"),
            ("o", "url(#b)", "boat booked"), ("c", "", "closed"),
        ):  # fmt: skip
            lines += [_box(x, y - 10, 14, 12, kind, fill), _text(x + 20, y, words, "s")]
            x += 44 + round(5.6 * len(words))
        if self.hidden > 0:
            lines.append(_text(24, y + 20, f"{self.hidden} more boats are not drawn.", "s"))
        return lines


def _rows(plan: Plan, taken: Mapping[str, Collection[int]]) -> list[_Row]:
    """Every boat with a visit or a booking, and engines in store with a visit, by name."""
    visits: dict[str, list[tuple[ServiceDay, tuple[Visit, ...]]]] = {}
    for day in plan.days:
        by_name: dict[str, list[Visit]] = {}
        for visit in day.visits:
            by_name.setdefault(_name(visit), []).append(visit)
        for name, mine in by_name.items():
            visits.setdefault(name, []).append((day, tuple(mine)))
    booked = {
        boat: tuple(sorted(day for day in days if plan.first <= day <= plan.last))
        for boat, days in taken.items()
    }
    names = sorted({*visits, *(boat for boat, days in booked.items() if days)}, key=natural)
    names.sort(key=lambda name: name not in visits)
    return [_Row(name, tuple(visits.get(name, ())), booked.get(name, ())) for name in names]


def _short(text: str, most: int = 20) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _n(number: float) -> str:
    """A coordinate in as few figures as it needs."""
    return f"{number:.1f}".removesuffix(".0")


def _box(
    x: float, y: float, wide: float, tall: float, kind: str, fill: str = "", tip: str = ""
) -> str:
    paint = f' fill="{fill}"' if fill else ""
    style = f' class="{kind}"' if kind and not fill else ""
    shape = f'x="{_n(x)}" y="{_n(y)}" width="{_n(wide)}" height="{_n(tall)}"{style}{paint}'
    return f"<rect {shape}><title>{escaped(tip)}</title></rect>" if tip else f"<rect {shape}/>"


def _text(x: float, y: float, words: str, kind: str = "", whole: str = "") -> str:
    tip = f"<title>{escaped(whole)}</title>" if whole and whole != words else ""
    style = f' class="{kind}"' if kind else ""
    return f'<text x="{_n(x)}" y="{_n(y)}"{style}>{tip}{escaped(words)}</text>'
