"""How people keep their sheets, each from the file to the log: taken in one reading, or refused.

What a cell or a heading can mean is tried where cells and headings are; here the whole way is, with
what a person may say on it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

import pytest

from fleetcare.exchange.asked import UndecidedError
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.sheets import csv_at, log_of, refusals, rows_of, said, tried


class Habit(NamedTuple):
    """Rows below the headings; what is taken, as (day, figure); what is said of those refused."""

    name: str
    rows: tuple[str, ...]
    taken: tuple[tuple[str, int], ...]
    refused: dict[int, str] = {}  # noqa: RUF012 - never changed
    asked: dict[str, Any] = {}  # noqa: RUF012 - never changed


READINGS, RUNS = "Date;Engine;Reading", "Date;Engine;Hours run"
FIRST = "2026-05-01"

OF_DAYS = [
    Habit("days with dots and years of two figures", ("3.5.26;Otter;120", "04.05.2026;Otter;121"),
          (("2026-05-03", 12000), ("2026-05-04", 12100))),
    Habit("days without a year", ("3 May;Otter;120", "4.5.;Otter;121"), (),
          {2: "has no year. --year YYYY", 3: "has no year. --year YYYY"}),
    Habit("days without a year, which was said", ("3 May;Otter;120", "4.5.;Otter;121"),
          (("2026-05-03", 12000), ("2026-05-04", 12100)), asked={"year": 2026}),
    Habit("days that no calendar has",
          ("31/02/2026;Otter;120", "0000-00-00;Otter;120", "1900-01-00;Otter;120"), (),
          dict.fromkeys((2, 3, 4), "is no day of the calendar")),
    Habit("a day of the week that is another", ("Mo 3.5.26;Otter;120", "So 3.5.26;Otter;120"),
          (("2026-05-03", 12000),), {2: "another day of the week"}),
]  # fmt: skip

OF_FIGURES = [
    Habit("hours as times, in letters, in minutes",
          tuple(f"2026-05-0{at};Knot;{text}" for at, text in enumerate(
              ("12:30", "12h30", "12.5", "12,5 h", "750 min", "12 h 30 min"), 1)),
          tuple((f"2026-05-0{day}", 1250) for day in range(1, 7))),
    Habit("more than 59 minutes", (f"{FIRST};Knot;12:75", f"{FIRST};Knot;12h75"), (),
          dict.fromkeys((2, 3), "has more than 59 minutes")),
    Habit("decimals by comma where a point was said", (f"{FIRST};Knot;2,5",), (),
          {2: '--decimal says "."'}, {"decimal": "."}),
    Habit("dashes of every kind", (f"{FIRST};Knot;\u22125", f"{FIRST};Knot;–", f"{FIRST};Knot;-"),
          (), {2: "is negative"}),
    Habit("figures that the program of the sheet writes wide, or with what cannot be seen",
          (f"{FIRST};Knot;１２．５", "2026-05-02;Knot;\u00a012\u200b,5\u00a0"),
          ((FIRST, 1250), ("2026-05-02", 1250))),
    Habit("what only a programming language takes for a number",
          tuple(f"{FIRST};Knot;{text}" for text in ("nan", "inf", "1e3", "1_000", "0x10", "١٢")),
          (), dict.fromkeys(range(2, 8), "takes a number")),
    Habit("figures that are not sure",
          tuple(f"{FIRST};Knot;{text}" for text in ("ca. 12", "12?", "12 or 13", "~12")),
          (), dict.fromkeys(range(2, 6), "is not sure")),
    Habit("texts that the sheet made of a figure", (f"{FIRST};Knot;12-May", f"{FIRST};Knot;May-12"),
          (), {2: "takes a number", 3: "is no time of day"}),
    Habit("error cells", (f"{FIRST};Knot;#REF!", "#N/A;Knot;2", f"{FIRST};#VALUE!;2"), (),
          {2: "shows an error", 3: "is not a day", 4: "shows an error"}),
]  # fmt: skip

OF_METERS = [
    Habit("thousands in every writing", (
        f"{FIRST};Otter;1.234,5", "2026-05-02;Otter;1\u00a0235,5", "2026-05-03;Otter;1\u202f236,5",
        "2026-05-04;Otter;1'237.5", "2026-05-05;Otter;1,238", "2026-05-06;Otter;1.238"),
        (("2026-05-01", 123450), ("2026-05-02", 123550), ("2026-05-03", 123650),
         ("2026-05-04", 123750)),
        dict.fromkeys((6, 7), "--decimal . or --decimal ,")),
    Habit("thousands where the decimals were said", ("2026-05-05;Otter;1,238",),
          (("2026-05-05", 123800),), asked={"decimal": "."}),
    Habit("two figures of one day, rising", (f"{FIRST};Otter;101", f"{FIRST};Otter;103"),
          ((FIRST, 10100), (FIRST, 10300))),
    Habit("a meter that fell", (f"{FIRST};Otter;112", "2026-05-02;Otter;3"), ((FIRST, 11200),),
          {3: "A slip now, or a slip before? Another engine's figure? Another meter"}),
    Habit("a meter that rose by more than the days have hours",
          ("2026-01-02;Otter;190",), (), {2: "more than 24 h a day"}),
    Habit("two engines in one cell", (f"{FIRST};Otter/Heron;120",), (), {2: "One row each"}),
    Habit("a slip in a name", (f"{FIRST};Ottre;120",), (), {2: '--as "Ottre=Otter" says so'}),
]  # fmt: skip
CASES = [
    *((READINGS, habit) for habit in (*OF_DAYS, *OF_METERS)), *((RUNS, item) for item in OF_FIGURES)
]  # fmt: skip


@pytest.mark.parametrize(("head", "habit"), CASES, ids=[habit.name for _, habit in CASES])
def test_a_habit_has_one_reading_or_is_refused_in_words(
    fleet: FleetFile, tmp_path: Path, head: str, habit: Habit
) -> None:
    path = csv_at(tmp_path / "hours.csv", "\n".join([head, *habit.rows, ""]))
    report = tried(fleet, path, **habit.asked)
    taken = [said(item.entries)[0] for item in rows_of(report) if item.verdict == "taken"]
    assert [(on, figure) for _, on, _, figure in taken] == list(habit.taken)
    told = refusals(report)
    assert told.keys() == habit.refused.keys()
    for row, words in habit.refused.items():
        assert words in told[row]
    assert log_of(fleet) == []  # only tried


@pytest.mark.parametrize(
    ("head", "row", "option"),
    [
        (READINGS, "03/04/2026;Otter;120", "dates"), (READINGS, "26-04-03;Otter;120", "dates"),
        (READINGS, "46115;Otter;120", "serial-dates"),
        ("Date;Engine;Std", "3.4.26;Knot;3", "hours"),
    ],
    ids=["which comes first, day or month", "whether the year comes first",
         "whether numbers are days", "whether hours are the meter's"],
)  # fmt: skip
def test_what_a_whole_column_leaves_open_is_asked(
    fleet: FleetFile, tmp_path: Path, head: str, row: str, option: str
) -> None:
    with pytest.raises(UndecidedError) as caught:
        tried(fleet, csv_at(tmp_path / "hours.csv", f"{head}\n{row}\n"))
    assert caught.value.option == option
    assert len(caught.value.choices) > 1
