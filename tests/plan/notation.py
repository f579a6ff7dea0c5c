"""Small fleets told in sentences, one a line, and what a plan is made of out of them.

Lapwing is a hire boat in salt water at Quay
Plover on Lapwing reads 100            (known, and new, from the first day on)
Teal on Lapwing reads 300, not new
Spare in store reads 0
Plover reads 120.4 on 2031-05-01
Plover grease done on 2031-05-01       (at 120 h, if a reading is given: done at 120)
Plover found swivel stiff on 2031-05-02
Plover met overheated on 2031-05-02
Plover grease put off to 2031-06-01 on 2031-05-20
Plover laid up on 2031-05-03
Knot and Plover swap gearcase on 2031-05-04
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fleetcare.due.followups import Standing
from fleetcare.due.records import Due
from fleetcare.due.rows import due_and_standing
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History, history
from fleetcare.plan.making import Made, Wishes, problem_of
from fleetcare.plan.workshop import Calendar
from fleetcare.rules.sets import RuleBook, read_set
from fleetcare.rules.shipped import read_book
from fleetcare.usage.outlooks import Forecast
from tests.built import fleet_of
from tests.trials.example_tables import row, settings_rows

SINCE = "2031-04-01"
TOY = """
[set]
name = "toy"
title = "A toy"
extends = ""
basis = "made up for tests"

[access.cowl]
minutes = 5
source = "a toy"

[access."leg off"]
minutes = 35
consumes = [{ item = "washer", count = 2 }]
source = "a toy"

[access."powerhead off"]
minutes = 60
includes = ["leg off"]
consumes = [{ item = "gasket", count = 1 }]
source = "a toy"

[[task]]
name = "grease"
title = "Grease the pivot"
component = "mid-section"
part = "grease witness"
limits = { days = 60 }
leads_to = ["seized swivel"]
chain = "it seizes"
minutes = 10
source = "a toy"

[[task]]
name = "impeller"
title = "Renew the impeller"
component = "gearcase"
part = "impeller vanes"
limits = { hours = 100, months = 12 }
after = ["overheated"]
leads_to = ["overheating"]
chain = "it sheds"
access = ["leg off"]
minutes = 25
parts = [{ item = "impeller kit", count = 1, price = 45 }]
source = "a toy"

[[task]]
name = "oil"
title = "Change the oil"
component = "powerhead"
limits = { hours = 50 }
access = ["cowl"]
minutes = 15
parts = [{ item = "oil", count = 2, price = 6 }]
source = "a toy"

[[task]]
name = "tube"
title = "Clear the tube"
component = "gearcase"
part = "water tube"
limits = { months = 4 }
access = ["powerhead off"]
minutes = 20
source = "a toy"

[[task]]
name = "wash"
title = "Wash for the winter"
component = "powerhead"
season = "lay-up"
minutes = 30
source = "a toy"

[[task]]
name = "swing"
title = "Swing the pivot"
component = "mid-section"
part = "swivel"
after = ["grounded"]
minutes = 2
source = "a toy"
"""
SHIPPED = read_book(None, {"small-petrol"})
TOYS = replace(SHIPPED, sets={"toy": read_set("toy", {"toy": (TOY, "toy.toml")})})


@dataclass(frozen=True)
class Shop:
    """A fleet as of a day, and what plans are made of."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    stands: dict[str, list[Standing]]
    forecast: Forecast
    as_of: date

    def made(
        self, days: int = 30, taken: dict[str, set[int]] | None = None,
        closed: dict[str, set[int]] | None = None, **wishes: Any,
    ) -> Made:  # fmt: skip
        """The problem over some days, `taken` and `closed` by days from 0."""
        first = self.as_of.toordinal()
        calendar = Calendar(
            first, days,
            {boat: {first + day for day in some} for boat, some in (taken or {}).items()},
            {place: {first + day for day in some} for place, some in (closed or {}).items()},
        )  # fmt: skip
        return problem_of(
            self.fleet, self.history, self.book, self.rows, self.stands, self.forecast,
            Wishes(calendar, **wishes),
        )  # fmt: skip

    def row(self, engine: str, task: str) -> Due:
        return next(one for one in self.rows if (one.engine, one.task) == (engine, task))


Cells = dict[str, str]
_ON = r" on (?P<on>\d{4}-\d\d-\d\d)"
_BOAT = re.compile(
    r"(?P<boat>\w+) is an? (?P<use>hire|club|owner) boat in (?P<water>\w+) water"
    r"( at (?P<place>.+))?"
)
_ENGINE = re.compile(
    r"(?P<engine>\w+) (on (?P<boat>\w+)|in store) reads (?P<reading>[\d.]+)(?P<old>, not new)?"
)
_LOG: tuple[tuple[str, str, Cells], ...] = (
    ("reading", r"(?P<engine>\w+) reads (?P<reading>[\d.]+)", {}),
    ("job", r"(?P<engine>\w+) (?P<task>[\w -]+) done( at (?P<reading>[\d.]+))?", {}),
    (
        "finding",
        r"(?P<engine>\w+) found (?P<part>swivel|tell-tale|gear oil) (?P<condition>[\w ]+)", {},
    ),
    ("incident", r"(?P<engine>\w+) met (?P<condition>[\w ]+)", {}),
    (
        "put-off", r"(?P<engine>\w+) (?P<task>[\w -]+) put off to (?P<until>\S+)",
        {"note": "no time"},
    ),
    ("lay-up", r"(?P<engine>\w+) laid up", {}),
    ("swap", r"(?P<engine>\w+) and (?P<other>\w+) swap (?P<component>[\w-]+)", {}),
)  # fmt: skip


def told(
    text: str, as_of: str, book: RuleBook = TOYS, rules: str = "toy", settings: str = ""
) -> Shop:
    """The fleet of a text as of a day; `settings` as name=value, one a line."""
    tables: dict[str, list[dict[str, str]]] = {"boats": [], "engines": [], "log": []}
    for line in filter(None, (line.strip() for line in text.splitlines())):
        name, cells = _read(line)
        tables[name].append(cells)
    pairs = dict(line.strip().split("=", 1) for line in settings.splitlines() if line.strip())
    tables["settings"] = settings_rows(rules=rules, **pairs)
    fleet, entries = fleet_of(tables)
    day = date.fromisoformat(as_of)
    past, forecast = history(entries, day), Forecast(book.uses)
    rows, stands = due_and_standing(fleet, past, book, day, None, forecast)
    return Shop(fleet, past, book, rows, stands, forecast, day)


def _read(line: str) -> tuple[str, Cells]:
    """One sentence as a row of its table."""
    boat = _BOAT.fullmatch(line)
    if boat:
        return "boats", row("boats", since=SINCE, **_cells(boat))
    engine = _ENGINE.fullmatch(line)
    if engine:
        cells = _cells(engine)
        new = "no" if cells.pop("old", "") else "yes"
        return "engines", row("engines", hp="6", stroke="4", since=SINCE, new=new, **cells)
    for event, pattern, more in _LOG:
        found = re.fullmatch(pattern + _ON, line)
        if found:
            return "log", row("log", event=event, **_cells(found), **more)
    raise ValueError(f"not understood: {line}")


def _cells(match: re.Match[str]) -> Cells:
    return {name: text for name, text in match.groupdict().items() if text}
