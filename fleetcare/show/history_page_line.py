"""The time line of a history: boats and waters, hours, jobs, what was found, swaps and readings.

Black on white: waters differ by pattern, events by shape, so that a copy loses nothing. What it
shows stands in the tables too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from fleetcare.fleet.days import MONTHS
from fleetcare.fleet.waters import WORDS
from fleetcare.log.entries import Finding, Incident, Job, MeterChange, Swap
from fleetcare.rules.words import Condition
from fleetcare.show.held_svg import escaped
from fleetcare.show.history_page_facts import Past
from fleetcare.show.labels_fit import width_of
from fleetcare.show.words import Words

WIDTH, LEFT, RIGHT = 1000.0, 132.0, 16.0
BOATS, HOURS, JOBS = 24.0, 104.0, 284.0  # where the lanes begin
HIGH, LANE, SIZE = 160.0, 20.0, 14.0
LANES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("powerhead", ("powerhead",)),
    ("mid-section", ("mid-section",)),
    ("gearcase", ("gearcase",)),
    ("others", ("carburettor", "ignition", "fuel pump", "lower cowling")),
)
MESSAGES = ("powerhead", "mid-section", "gearcase", "others")
FONT = "Arial,'Liberation Sans',Helvetica,sans-serif"
_STEPS = (1, 2, 5)
Judged = dict[tuple[str, str], str]


def line_svg(
    past: Past, tasks: dict[str, tuple[str, bool]], judged: dict[str, dict[str, Condition]],
    words: Words,
) -> str:  # fmt: skip
    """The drawing as an SVG element.

    `tasks` tell each task's component and whether skipping it leads to overheating or a seized
    swivel; `judged` the conditions of parts with their weights.
    """
    return "\n".join(_Line(past, tasks, judged, words).parts())


class _Line:
    def __init__(
        self, past: Past, tasks: dict[str, tuple[str, bool]],
        judged: dict[str, dict[str, Condition]], words: Words,
    ) -> None:  # fmt: skip
        self.past, self.tasks, self.judged, self.words = past, tasks, judged, words
        self.first, self.last = past.since, max(past.last, past.since + 30)
        self.events = JOBS + LANE * len(LANES) + 12
        self.foot = self.events + 3 * LANE

    def x(self, day: float) -> float:
        """Where a day stands."""
        share = (day - self.first) / (self.last - self.first + 1)
        return LEFT + max(0.0, min(1.0, share)) * (WIDTH - LEFT - RIGHT)

    def parts(self) -> Iterator[str]:
        """The pieces of the drawing."""
        height = self.foot + 56
        title = self.words("Time line of {engine}", engine=self.past.engine.name)
        about = self.words(
            "Boats and waters, engine hours with readings, jobs by component, findings, incidents, "
            "swaps and changes of the meter; the tables say the same."
        )
        yield (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}" height="{height:g}" '
            f'viewBox="0 0 {WIDTH:g} {height:g}" role="img" aria-label="{escaped(title)}">'
        )
        yield f"<title>{escaped(title)}</title><desc>{escaped(about)}</desc>"
        yield _PATTERNS
        yield from self._axis()
        yield from self._boats()
        yield from self._gaps()
        yield from self._hours()
        yield from self._jobs()
        yield from self._events()
        yield from self._legend()
        yield "</svg>"

    # -- the axis ---------------------------------------------------------------------------------

    def _axis(self) -> Iterator[str]:
        """Lines at the beginnings of months, quarters or years, as many as there is room for."""
        marks = [date.fromordinal(day) for day in self._marks()]
        for mark in marks:
            x = self.x(mark.toordinal())
            label = str(mark.year) if mark.month == 1 else self.words(MONTHS[mark.month - 1])
            weight = ' font-weight="700"' if mark.month == 1 else ""
            yield f'<path d="M{x:.1f} {BOATS - 4:g}V{self.foot:g}" stroke="#ccc" fill="none"/>'
            yield _text(x + 2, 15, label, extra=weight)

    def _marks(self) -> list[int]:
        span = self.last - self.first
        every = 1 if span < 500 else 3 if span < 1500 else 12
        year, month = date.fromordinal(self.first).year, 1
        marks = []
        while (day := date(year, month, 1).toordinal()) <= self.last:
            if day >= self.first:
                marks.append(day)
            month += every
            year, month = year + (month > 12), (month - 1) % 12 + 1
        return marks

    # -- where it was -----------------------------------------------------------------------------

    def _boats(self) -> Iterator[str]:
        yield _text(4, BOATS + 17, self.words("Boat, water"))
        for stay in self.past.stays:
            x, wide = self._stretch(stay.first, stay.last)
            where = self.words("in store") if stay.boat is None else stay.boat
            water = self.words(WORDS[stay.water])
            fill = "#fff" if stay.boat is None else f"url(#{WORDS[stay.water]})"
            dashes = ' stroke-dasharray="3 3"' if stay.boat is None else ""
            yield (
                f'<rect x="{x:.1f}" y="{BOATS:g}" width="{wide:.1f}" height="24" fill="{fill}" '
                f'stroke="#000"{dashes}><title>{escaped(f"{where}, {water}")}</title></rect>'
            )
            yield from self._inside(x, wide, BOATS + 17, where)
        for first, last in self.past.laid_up:
            x, wide = self._stretch(first, last)
            yield _bar(x, BOATS + 30, wide, 9, "#000", self.words("laid up"))
        for first, last in self.past.held:
            x, wide = self._stretch(first, last)
            yield _bar(x, BOATS + 46, wide, 12, "url(#held)", self.words("held"))
        yield _text(4, BOATS + 39, self.words("laid up"))
        yield _text(4, BOATS + 56, self.words("held"))

    def _stretch(self, first: int, last: int) -> tuple[float, float]:
        x = self.x(first)
        return x, max(1.5, self.x(last + 1) - x)

    def _inside(self, x: float, wide: float, y: float, text: str) -> Iterator[str]:
        """A name inside its stretch on a white ground, where it fits."""
        room = width_of(text, bold=True) * SIZE
        if room + 8 < wide:
            yield _bar(x + 3, y - 14, room + 2, 18, "#fff", "")
            yield _text(x + 4, y, text, extra=f' font-weight="700" textLength="{room:.1f}"')

    def _gaps(self) -> Iterator[str]:
        for first, last, days in self.past.gaps:
            x, wide = self._stretch(first, last)
            title = self.words.several(
                "No reading and no run for {count} day afloat.",
                "No reading and no run for {count} days afloat.", days,
            )  # fmt: skip
            yield _bar(x, HOURS, wide, HIGH, "url(#gap)", title)

    # -- how much it ran --------------------------------------------------------------------------

    def _hours(self) -> Iterator[str]:
        use, last = self.past.use, self.past.last
        days = sorted({self.past.since, last, *(day for day in use.closes.days if day <= last)})
        points = [(day, float(use.hours_to(day, last)) / 100) for day in days]
        low, high = points[0][1], max(points[-1][1], points[0][1] + 1)
        step = _step(high - low)
        floor = step * int(low // step)
        top = step * -(int(-high // step))

        def y(hours: float) -> float:
            return HOURS + HIGH - (hours - floor) / (top - floor) * HIGH

        yield _text(4, HOURS + 13, self.words("Engine hours"))
        mark = floor
        while mark <= top:
            yield f'<path d="M{LEFT:g} {y(mark):.1f}H{WIDTH - RIGHT:g}" stroke="#ddd" fill="none"/>'
            label = self.words.number(mark)
            yield _text(LEFT - 6, y(mark) + 5, label, extra=' text-anchor="end"')
            mark += step
        path = "L".join(f"{self.x(day):.1f} {y(hours):.1f}" for day, hours in points)
        yield f'<path d="M{path}" fill="none" stroke="#000" stroke-width="2"/>'
        for day, hours in points:
            if day in use.closes.days:
                yield f'<circle cx="{self.x(day):.1f}" cy="{y(hours):.1f}" r="2.4" fill="#000"/>'

    # -- what was done, found, changed ------------------------------------------------------------

    def _jobs(self) -> Iterator[str]:
        for at, (name, kinds) in enumerate(LANES):
            y = JOBS + at * LANE
            yield _text(4, y + 14, self.words(name))
            yield f'<path d="M{LEFT:g} {y + 17:g}H{WIDTH - RIGHT:g}" stroke="#ccc" fill="none"/>'
            for day, tasks in self._by_day(kinds).items():
                x = self.x(day)
                wide = 3 if any(self.tasks.get(task, ("", False))[1] for task in tasks) else 1
                on = self.words.day(date.fromordinal(day))
                title = escaped(f"{on}: {', '.join(tasks)}")
                yield (
                    f'<path d="M{x:.1f} {y + 3:g}v14" stroke="#000" stroke-width="{wide}">'
                    f"<title>{title}</title></path>"
                )

    def _by_day(self, kinds: Sequence[str]) -> dict[int, list[str]]:
        found: dict[int, list[str]] = {}
        for item in self.past.entries:
            entry = item.entry
            if not isinstance(entry, Job) or item.withdrawn or item.on < self._begin:
                continue
            if self.tasks.get(entry.task, ("powerhead", False))[0] in kinds:
                found.setdefault(item.on.toordinal(), []).append(entry.task)
        return dict(sorted(found.items()))

    @property
    def _begin(self) -> date:
        return date.fromordinal(self.first)

    def _events(self) -> Iterator[str]:
        rows = (self.words("found"), self.words("happened"), self.words("swap, meter"))
        for at, name in enumerate(rows):
            yield _text(4, self.events + at * LANE + 14, name)
        for item in self.past.entries:
            entry = item.entry
            if entry is None or item.withdrawn or item.on < self._begin:
                continue
            x, on = self.x(item.on.toordinal()), self.words.day(item.on)
            if isinstance(entry, Finding | Job) and entry.condition:
                weight = self._weight(entry.part, entry.condition)
                if weight in ("act", "stop"):
                    title = f"{on}: {entry.part} {entry.condition}"
                    yield _triangle(x, self.events + 15, weight == "stop", title)
            elif isinstance(entry, Incident):
                yield _cross(x, self.events + LANE + 9, f"{on}: {entry.kind}")
            elif isinstance(entry, Swap):
                title = f"{on}: {self.words(entry.component)}"
                yield _bar(x - 3, self.events + 2 * LANE + 4, 6, 12, "#000", title)
            elif isinstance(entry, MeterChange):
                title = f"{on}: {self.words('meter')}"
                yield _ring(x, self.events + 2 * LANE + 10, title)

    def _weight(self, part: str, condition: str) -> str:
        found = self.judged.get(part, {}).get(condition)
        return found.weight if found else ""

    def _legend(self) -> Iterator[str]:
        """What the signs mean, in two lines."""
        words, first, second = self.words, self.foot + 22, self.foot + 46
        signs = (
            (_swatch(0, first, "url(#fresh)"), words("fresh")),
            (_swatch(0, first, "url(#brackish)"), words("brackish")),
            (_swatch(0, first, "url(#salt)"), words("salt")),
            (_swatch(0, first, "url(#gap)"), words("no reading, no run")),
            (f'<circle cx="10" cy="{first - 4:g}" r="2.4"/>', words("reading")),
        )
        yield from _in_a_row(signs, first)
        jobs_and_more = (
            (f'<path d="M10 {second - 10:g}v12" stroke="#000" stroke-width="3"/>',
             words("job against overheating or a seized swivel")),
            (f'<path d="M10 {second - 10:g}v12" stroke="#000"/>', words("other job")),
            (_triangle(10, second, False, ""), words("to act on")),
            (_triangle(10, second, True, ""), words("stop")),
            (_cross(10, second - 4, ""), words("incident")),
            (_bar(7, second - 9, 6, 11, "#000", ""), words("swap")),
            (_ring(10, second - 4, ""), words("meter")),
        )  # fmt: skip
        yield from _in_a_row(jobs_and_more, second)


_PATTERNS = (
    "<defs>"
    '<pattern id="fresh" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="8" height="8" fill="#fff"/></pattern>'
    '<pattern id="brackish" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#fff"/><circle cx="3" cy="3" r="1" fill="#000"/></pattern>'
    '<pattern id="salt" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#fff"/><path d="M-1 7L7 -1" stroke="#000"/></pattern>'
    '<pattern id="held" width="4" height="4" patternUnits="userSpaceOnUse">'
    '<rect width="4" height="4" fill="#fff"/><path d="M0 0L4 4M4 0L0 4" stroke="#000"/></pattern>'
    '<pattern id="gap" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<rect width="7" height="7" fill="#eee"/><path d="M0 3.5H7" stroke="#999"/></pattern>'
    "</defs>"
)


def _text(x: float, y: float, text: str, extra: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{SIZE:g}" font-family="{FONT}"{extra}>'
        f"{escaped(text)}</text>"
    )


def _bar(x: float, y: float, wide: float, high: float, fill: str, title: str) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:g}" fill="{fill}" '
        f'stroke="none">{_titled(title)}</rect>'
    )


def _titled(title: str) -> str:
    return f"<title>{escaped(title)}</title>" if title else ""


def _swatch(x: float, y: float, fill: str) -> str:
    return f'<rect x="{x:g}" y="{y - 10:g}" width="20" height="12" fill="{fill}" stroke="#000"/>'


def _triangle(x: float, y: float, filled: bool, title: str) -> str:
    fill = "#000" if filled else "#fff"
    return (
        f'<path d="M{x - 5:.1f} {y:.1f}h10l-5 -10z" fill="{fill}" stroke="#000">'
        f"{_titled(title)}</path>"
    )


def _cross(x: float, y: float, title: str) -> str:
    return (
        f'<path d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8" stroke="#000" stroke-width="2.4" '
        f'fill="none">{_titled(title)}</path>'
    )


def _ring(x: float, y: float, title: str) -> str:
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="#fff" stroke="#000" stroke-width="2">'
        f"{_titled(title)}</circle>"
    )


def _in_a_row(signs: Sequence[tuple[str, str]], y: float) -> Iterator[str]:
    """Signs with their words beside them, one after the other."""
    x = 4.0
    for sign, word in signs:
        yield f'<g transform="translate({x:.1f} 0)">{sign}</g>'
        yield _text(x + 24, y, word)
        x += 24 + width_of(word, bold=False) * SIZE + 14


def _step(span: float) -> int:
    """Between lines of the hours: a round number, so that four to ten lines stand."""
    step = 1
    while True:
        for factor in _STEPS:
            if span / (step * factor) <= 6:
                return step * factor
        step *= 10
