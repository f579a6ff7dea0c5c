"""A reader of the board that knows only the page: what it says and draws, back as figures.

Written apart from what makes it: words are read by their grammar, bars by their geometry.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from lxml import html

NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAY = r"(\d{1,2} (?:" + "|".join(NAMES) + r")(?: \d{4})?)"
STATUS = {"o": "overdue", "n": "no record", "d": "due"}
SINCE = re.compile(
    rf"([\d.]+) h and (\d+) days since (done|known|new)(?:, {DAY}(?: at ([\d.]+) h)?)?"
)
DUE = re.compile(rf"due {DAY}(?: \({DAY}(?: to {DAY}| or later)\))?$")
FROM = re.compile(rf"due from {DAY} on$")
PUT_OFF = re.compile(rf"put off to {DAY}(?:, (\d+) times)?: (.*)$", re.S)
LEFT = re.compile(r"([\d.]+) h (left|over) in (\w+) water$")
BRIEF = re.compile(r"([\d.]+) h, (\d+) d$")


def day(said: str | None, near: int) -> str | None:
    """The ISO form of a day; without a year it is of the year near."""
    if said is None:
        return None
    number, month, *year = said.split()
    return date(int(year[0]) if year else near, NAMES.index(month) + 1, int(number)).isoformat()


@dataclass
class Row:
    """One row as the page tells and draws it."""

    engine: str
    task: str
    status: str
    told: dict[str, Any] = field(default_factory=dict)
    bar: Fraction | None = None
    whisker: tuple[float, float] | None = None
    is_cut: bool = False
    has_drawing: bool = False


class Board:
    """The page, read."""

    def __init__(self, page: str) -> None:
        self.page = page
        self.tree = html.document_fromstring(
            page.encode(), parser=html.HTMLParser(encoding="utf-8")
        )
        stamp = self.tree.xpath("//*[@data-iso]/@data-iso")[0]
        self.as_of = date.fromisoformat(stamp)

    def rows(self) -> list[Row]:
        found = []
        for article in self.tree.xpath("//article"):
            engine = article.xpath("string(header/h3)")
            found += [self._listed(engine, item) for item in article.xpath("ol/li")]
            clears = article.xpath("details[contains(@class, 'clears')]/ol/li")
            found += [self._clear(engine, item) for item in clears]
        return found

    def held(self) -> set[str]:
        return {
            article.xpath("string(header/h3)")
            for article in self.tree.xpath("//article[@data-h]")
            if article.xpath("header//span[@class='held']")
        }

    def _listed(self, engine: str, item: Any) -> Row:
        row = Row(engine, item.xpath("string(b/bdi)"), STATUS[item.get("class")])
        row.told["chip"] = item.xpath("string(p/span)")
        row.told["title"] = item.xpath("string(b/i)")
        row.told["percent"] = item.xpath("string(p/em)")
        row.told["said"] = item.xpath("string(p)").replace(row.told["percent"], "", 1)
        _drawn(row, item)
        self._details(row, item.xpath("string(small)"))
        return row

    def _clear(self, engine: str, item: Any) -> Row:
        row = Row(engine, item.text, "clear")
        _drawn(row, item)
        for piece in (item.xpath("svg")[0].tail or "").split("; "):
            brief = BRIEF.match(piece)
            if brief:
                row.told["hours_since"], row.told["days_since"] = float(brief[1]), int(brief[2])
            elif piece.endswith("%"):
                row.told["percent"] = piece
            else:
                self._days(row, piece)
        return row

    def _details(self, row: Row, small: str) -> None:
        off = PUT_OFF.search(small)
        if off:
            row.told["put_off_until"] = day(off[1], self.as_of.year)
            row.told["put_off_times"], row.told["because"] = int(off[2] or 1), off[3]
            small = small[: off.start()].removesuffix("; ")
        row.told["pieces"] = small.split("; ")
        since = SINCE.search(small)
        assert since is not None, small
        row.told["hours_since"], row.told["days_since"] = float(since[1]), int(since[2])
        row.told["since"] = since[3]
        row.told["last_done_on"] = day(since[4], self.as_of.year)
        row.told["last_done_hours"] = None if since[5] is None else float(since[5])
        for piece in row.told["pieces"]:
            self._piece(row, piece)

    def _piece(self, row: Row, piece: str) -> None:
        left = LEFT.match(piece)
        if left:
            hours = float(left[1])
            row.told["hours_left"] = hours if left[2] == "left" else -hours
            row.told["water"] = left[3]
        elif piece in ("in fresh water", "in brackish water", "in salt water"):
            row.told["water"] = piece.split()[1]
        elif piece in ("by hours", "by time"):
            row.told["governed_by"] = {"by hours": "hours", "by time": "calendar"}[piece]
        elif piece.startswith("likely ") and piece.endswith(" h more"):
            row.told["likely_hours"] = float(piece.split()[1])
        elif piece.startswith("leads to "):
            row.told["leads_to"] = piece.removeprefix("leads to ")
        elif piece.startswith("put off "):
            once = piece == "put off once before"
            row.told["put_off_times"] = 1 if once else int(piece.split()[2])
        else:
            self._days(row, piece)

    def _days(self, row: Row, piece: str) -> None:
        only = FROM.match(piece)
        due = DUE.match(piece)
        off = PUT_OFF.match(piece)
        if only:
            row.told["due_early"] = day(only[1], self.as_of.year)
        elif due:
            on = day(due[1], self.as_of.year)
            assert on is not None
            near = int(on[:4])
            row.told["due_on"] = on
            row.told["due_early"] = on if due[2] is None else day(due[2], near)
            row.told["due_late"] = on if due[2] is None else day(due[3], near)
        elif off:
            row.told["put_off_until"] = day(off[1], self.as_of.year)
            row.told["put_off_times"], row.told["because"] = int(off[2] or 1), off[3]
        elif row.status == "clear":
            if piece.startswith("put off "):
                once = piece == "put off once before"
                row.told["put_off_times"] = 1 if once else int(piece.split()[2])
            else:
                raise AssertionError(f"not understood: {piece!r}")


def _drawn(row: Row, item: Any) -> None:
    """The bar and its whisker, as shares of the limit: the whole width is two limits."""
    row.has_drawing = bool(item.xpath("svg/*"))
    for rect in item.xpath("svg/rect"):
        row.bar = Fraction(rect.get("width").removesuffix("%")) / 50
    for line in item.xpath("svg/line"):
        begin, end = (float(line.get(name).removesuffix("%")) / 50 for name in ("x1", "x2"))
        row.whisker = (begin, end)
    row.is_cut = bool(item.xpath("svg/use[@href='#cut' and @x='100%']"))
