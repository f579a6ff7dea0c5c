"""The fleet notation: readable lines for tests, turned into the four tables of a fleet.

    set hemisphere to southern
    boat Otter, hire, lies in fresh from 2031-01-01
    Otter moves to salt on 2031-06-11
    engine Plover on Otter since 2031-05-01, reading 0, new, 6 hp, without flush; plugs
    engine Teal in store since 2031-05-01, no meter, burns 2.5
    Plover reads 120.4 on 2031-05-01
    Plover runs 3.5 in salt on 2031-05-02          (also: burns 30 l; is hired for 2.25)
    Plover impeller done at 250 on 2031-05-03
    Plover swaps gearcase with Teal on 2031-05-04

One line an entry; `#` starts a comment. A line that reads as none of them is a ValueError.
"""

from __future__ import annotations

import re

from tests.oracle.given import COLUMNS, Tables

DATE = r"(?P<on>\d{4}-\d\d-\d\d)"
NAME = r"[A-Z]\w*"
FIGURE = r"\d+(?:\.\d+)?"
ENGINE = rf"(?P<engine>{NAME})"
WATER = r"(?: in (?P<water>fresh|brackish|salt))?"
READING = rf"(?: at (?P<reading>{FIGURE}))?"

# pattern -> the cells that a line of this kind sets beside those it names
ENTRIES: dict[str, dict[str, str]] = {
    rf"{ENGINE} reads (?P<reading>{FIGURE})": {"event": "reading"},
    rf"{ENGINE} runs (?P<hours>{FIGURE}){WATER}{READING}": {"event": "run"},
    rf"{ENGINE} burns (?P<fuel>{FIGURE}) l{WATER}{READING}": {"event": "run"},
    rf"{ENGINE} is hired for (?P<hours>{FIGURE}){WATER}{READING}": {
        "event": "run",
        "condition": "hire time",
    },
    rf"{ENGINE} (?P<task>[a-z][a-z ]*) done{READING}": {"event": "job"},
    rf"{ENGINE} (?P<part>[a-z][a-z ]*) found (?P<condition>[a-z ]+?){READING}": {
        "event": "finding"
    },
    rf"{ENGINE} (?P<condition>overheated|ran dry|swamped){READING}": {"event": "incident"},
    rf"{ENGINE} meter (?P<old_reading>{FIGURE}) then (?P<reading>{FIGURE})": {"event": "meter"},
    rf"{ENGINE} meter stops at (?P<old_reading>{FIGURE})": {"event": "meter"},
    rf"{ENGINE} meter fitted at (?P<reading>{FIGURE})": {"event": "meter"},
    rf"{ENGINE} into store": {"event": "store"},
    rf"{ENGINE} onto (?P<boat>{NAME})": {"event": "mount"},
    rf"{ENGINE} laid up": {"event": "lay-up"},
    rf"{ENGINE} launched": {"event": "launch"},
    rf"{ENGINE} swaps (?P<component>[a-z][a-z -]*) with (?P<other>{NAME})": {"event": "swap"},
    rf"{ENGINE} (?P<task>[a-z][a-z ]*) put off until (?P<until>\S+) because (?P<note>.+)": {
        "event": "put-off"
    },
    rf"{ENGINE} retires": {"event": "retire"},
    rf"(?P<boat>{NAME}) moves to (?P<water>fresh|brackish|salt)": {"event": "move"},
}
SETTING = r"set (?P<name>[a-z ]+) to (?P<value>\S+)"
BOAT = (
    rf"boat (?P<boat>{NAME})(?:, (?P<use>hire|club|owner),)? "
    rf"lies in (?P<water>fresh|brackish|salt) from (?P<since>\S+)"
)
ENGINE_ROW = (
    rf"engine {ENGINE} (?:on (?P<boat>{NAME})|in store) "
    rf"since (?P<since>\d{{4}}-\d\d-\d\d)(?P<rest>(?:, [^,]+)*)"
)
REST: dict[str, dict[str, str]] = {
    rf"reading (?P<reading>{FIGURE})": {},
    r"new": {"new": "yes"},
    r"no meter": {"meter": "no"},
    rf"(?P<hp>{FIGURE}) hp": {},
    r"(?P<stroke>\d) stroke": {},
    r"(?P<steering>tiller|remote)": {},
    rf"burns (?P<litres_hour>{FIGURE})": {},
    r"rules (?P<rules>[a-z -]+)": {},
    r"without (?P<without>.+)": {},
}


def row(table: str, **cells: str | None) -> dict[str, str]:
    """A row with every column of its table, blank where nothing is said."""
    return {column: cells.get(column) or "" for column in COLUMNS[table]}


def read_with(patterns: dict[str, dict[str, str]], text: str, tail: str = "") -> dict[str, str]:
    for pattern, cells in patterns.items():
        match = re.fullmatch(pattern + tail, text)
        if match:
            return {**match.groupdict(default=""), **cells}
    raise ValueError(f"no such line: {text}")


def tables(text: str) -> Tables:
    """The tables that the lines of a case tell."""
    found: Tables = {table: [] for table in COLUMNS}
    for line in text.splitlines():
        line = line.partition("#")[0].strip()
        if setting := re.fullmatch(SETTING, line):
            found["settings"].append(row("settings", **setting.groupdict()))
        elif boat := re.fullmatch(BOAT, line):
            cells = boat.groupdict() | {"use": boat["use"] or "owner"}
            found["boats"].append(row("boats", **cells))
        elif engine := re.fullmatch(ENGINE_ROW, line):
            cells = engine.groupdict() | {"meter": "yes", "new": "no"}
            for word in engine["rest"].split(", ")[1:]:
                cells |= read_with(REST, word)
            found["engines"].append(row("engines", **cells))
        elif line:
            cells = read_with(ENTRIES, line, tail=f" on {DATE}")
            found["log"].append(row("log", **cells))
    return found
