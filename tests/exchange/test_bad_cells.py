"""Every kind of cell that cannot be taken is named by file, row and column, and stops the rest.

With the word for it, exactly the other rows are taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import FaultsError
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import digest, in_folder, new, take

LONG = "x" * 81
# of each table two good rows, and a third between them whose cells a case changes
GOOD: dict[str, tuple[dict[str, str], dict[str, str], dict[str, str]]] = {
    "settings": (
        {"name": "by", "value": "jetty"},
        {"name": "calendar_name", "value": "Boats"},
        {"name": "season", "value": "04-01/10-31"},
    ),
    "boats": (
        {"boat": "Dipper", "use": "club", "water": "fresh", "since": "2026-01-01"},
        {"boat": "Heron", "use": "hire", "water": "salt", "since": "2026-01-01"},
        {"boat": "Grebe", "use": "owner", "water": "brackish", "since": "20260101"},
    ),
    "engines": (
        {"engine": "Teal", "boat": "Otter", "since": "2026-01-01", "reading": "10"},
        {"engine": "Snipe", "boat": "Otter", "since": "2026-01-01", "reading": "10"},
        {"engine": "Knot", "since": "2026-01-01", "meter": "no"},
    ),
    "log": (
        {"on": "2026-02-01", "event": "reading", "engine": "Plover", "reading": "101"},
        {"on": "2026-02-02", "event": "run", "engine": "Plover", "hours": "1"},
        {"on": "2026-02-03", "event": "job", "engine": "plover", "task": "Impeller"},
    ),
}
READING, RUN, JOB = ({"event": word, "hours": ""} for word in ("reading", "run", "job"))

# table, cells of the third row, the column named, what is said of it
Case = tuple[str, dict[str, str], str, str]


def each(table: str, column: str, cells: Mapping[str, str], **more: str) -> list[Case]:
    return [(table, {**more, column: text}, column, said) for text, said in cells.items()]


DAYS = {
    "": "",
    "2026-02-30": "no day of the calendar",
    "03/04/2026": "could be 2026-04-03 or 2026-03-04",
    "13/04/26": "could be 2026-04-13",
    "31.02.2026": "is no day of the calendar",
    "2026-2-3": "is not a day",
    "46115": "is not a day",
    "yesterday": "is not a day",
    "1949-12-31": "before there were such engines",
    "2026-07-19": "lies in the future",
}
FIGURES = {
    "12O": "takes a number",
    "1,234": "could be 1.234 or 1234",
    "1.234": "could be 1.234 or 1234",
    "-5": "is negative",
    "−5": "is negative",
    "1e3": "takes a number",
    "nan": "takes a number",
    "inf": "takes a number",
    "1_000": "takes a number",
    "#REF!": "takes a number",
    "12:60": "more than 59 minutes",
    "12.345678": "decimals",
    "1000000": "absurdly large",
    "٣٤": "takes a number",
    "ca. 12": "takes a number",
    "=12": "takes a number",
}
NAMES = {
    "": "is empty",
    LONG: "is longer than 80",
    "a\tb\u202e": "control character",
    "a\u200bb": "cannot be seen",
    "a;b": 'holds a ";"',
}
CASES: list[Case] = [
    *each("settings", "name", {"": "not a setting", "nonsense": "not a setting",
                               "hemispher": 'Did you mean "hemisphere"'}),
    *each("settings", "value", {"north": "takes northern, southern or tropics"},
          name="hemisphere"),
    *each("settings", "value", {"gallons": "litres or US gallons"}, name="fuel_unit"),
    *each("settings", "value", {"02-29/10-01": "MM-DD/MM-DD", "april": "MM-DD/MM-DD"},
          name="season"),
    *each("settings", "value", {"nonsense": 'no rule set "nonsense"'}, name="rules"),
    *each("settings", "value", {"a\x07b": "control character"}, name="calendar_name"),
    *each("settings", "value", {"office": 'of "by" is "jetty" further up'}, name="by"),
    *each("settings", "value", {"": "no fleet id", "Ø": "no fleet id", "a b": "no fleet id",
                                "x" * 65: "no fleet id",
                                "22222222-2222-4222-8222-222222222222": "another fleet's id"},
          name="fleet_id"),
    *each("boats", "boat", {**NAMES, "OTTER": "exists already", "dipper": "exists already"}),
    *each("boats", "use", {"": "is not taken", "rental": "is not taken",
                           "hir": 'Did you mean "hire"'}),
    *each("boats", "water", {"": "is not taken", "sea": "is not taken",
                             "sallt": 'Did you mean "salt"'}),
    *each("boats", "since", DAYS),
    ("boats", {"also": "Otter"}, "boat", 'boat "Otter" exists already'),
    ("boats", {"also": "H;h"}, "boat", "the same name twice"),
    *each("engines", "engine", NAMES),
    *each("engines", "engine", {"PLOVER": "exists already", "teal": "exists already"}),
    *each("engines", "boat", {"Ghost": 'no boat "Ghost"'}),
    *each("engines", "hp", {"four": "takes a number", "0": "above 0", "-4": "takes a number",
                            "4.125": "decimals"}),
    *each("engines", "stroke", {"3": "is 2 or 4", "two": "whole number"}),
    *each("engines", "year", {"'98": "whole number", "1998.5": "whole number"}),
    *each("engines", "meter", {"maybe": "is yes or no"}),
    *each("engines", "digits", {"1": "2 to 9", "10": "2 to 9", "x": "whole number"}),
    *each("engines", "steering", {"wheel": "tiller or remote"}),
    *each("engines", "litres_hour", {"0": "above 0", "1.2345": "decimals"}),
    *each("engines", "rules", {"nonsense": 'no rule set "nonsense"'}),
    *each("engines", "without", {"impelller": 'Did you mean "impeller"',
                                 "thermostat; nonsense": 'task "nonsense" is not in'}),
    *each("engines", "since", DAYS),
    *each("engines", "reading", FIGURES),
    *each("engines", "reading", {"": "is needed"}, new="no"),
    *each("engines", "reading", {"5": "without a meter"}, meter="no"),
    *each("engines", "new", {"brand": "is yes or no"}),
    *each("engines", "last:impeller", {"soon": "is not a day", "03/04/2025": "could be",
                                       "2025-05-01@x": "takes a number", "@5": "is not a day",
                                       "2025-05-01@": "takes a number",
                                       "2026-07-19": "lies in the future"}),
    *each("engines", "last:impelller", {"2025-05-01": 'Did you mean "impeller"'}),
    *each("log", "on", DAYS, **READING, reading="102"),
    *each("log", "event", {"": "is no event", "runs": 'Did you mean "run"',
                           "withdraw": "is no event", "Run": "is no event"}),
    *each("log", "engine", {"": "is empty", "Ghost": 'no engine "Ghost"',
                            "Plovr": 'Did you mean "Plover"'}),
    *each("log", "hours", FIGURES),
    *each("log", "hours", {"": "or fuel is needed", "25": ""}),
    ("log", {"fuel": "2"}, "hours", "or fuel is needed, one of them"),
    ("log", {"hours": "", "fuel": "many"}, "fuel", "takes a number"),
    ("log", {"water": "sea"}, "water", 'no water'),
    ("log", {"condition": "hire"}, "condition", 'empty or "hire time"'),
    ("log", {"task": "impeller"}, "task", "is not part of a run"),
    ("log", {"until": "2026-08-01"}, "until", "is not part of a run"),
    ("log", {"cost": "3"}, "cost", "is not part of a run"),
    *each("log", "reading", FIGURES, **READING),
    *each("log", "reading", {"": "is empty"}, **READING),
    ("log", {**READING, "reading": "102", "hours": "2"}, "hours", "is not part of a reading"),
    *each("log", "task", {"": "is empty", "nonsense": 'task "nonsense" is not in the rule set',
                          "impelller": 'Did you mean "impeller"'}, **JOB),
    *each("log", "count", {"-1": "whole number", "1.5": "whole number", "lots": "whole number"},
          **JOB, task="impeller"),
    ("log", {"event": "finding", "hours": "", "condition": "set"}, "part", "is empty"),
    ("log", {"event": "finding", "hours": "", "part": "pump cup"}, "condition", "is empty"),
    *each("log", "condition", {"": "is empty", "sank": 'is no incident'}, event="incident",
          hours=""),
    *each("log", "boat", {"": "is empty", "Ghost": 'no boat "Ghost"'}, event="move", engine="",
          hours="", water="salt"),
    *each("log", "water", {"": "is empty", "sea": "no water"}, event="move", engine="", hours="",
          boat="Otter"),
    *each("log", "boat", {"": "is empty", "Ottr": 'Did you mean "Otter"'}, event="mount",
          hours=""),
    *each("log", "other", {"": "is empty", "Ghost": 'no engine "Ghost"'}, event="swap", hours="",
          component="gearcase"),
    *each("log", "component", {"": "is empty", "gearcse": 'Did you mean "gearcase"'},
          event="swap", hours="", other="Plover"),
    ("log", {"event": "meter", "hours": ""}, "reading", "or old_reading is needed"),
    *each("log", "old_reading", FIGURES, event="meter", hours=""),
    *each("log", "until", {"": "is empty", "2026-02-02": "must lie after", "soon": "is not a day"},
          event="put-off", hours="", task="impeller"),
    ("log", {"event": "retire", "hours": "", "engine": ""}, "engine", "or boat is needed"),
    ("log", {"event": "retire", "hours": "", "boat": "Otter"}, "engine", "or boat is needed"),
    *each("log", "item", {"": "is empty"}, event="delivery", engine="", hours="", count="1"),
    *each("log", "count", {"": "is empty", "x": "whole number"}, event="count", engine="",
          hours="", item="impeller"),
    *each("log", "cost", {"dear": "takes a number"}, event="delivery", engine="", hours="",
          item="impeller", count="1"),
]  # fmt: skip


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    """Plover on Otter."""
    with new(tmp_path / "fleet.db") as file:
        base = {
            "boats": [{"boat": "Otter", "use": "hire", "water": "salt", "since": "2026-01-01"}],
            "engines": [
                {"engine": "Plover", "boat": "otter", "since": "2026-01-01", "reading": "100"}
            ],
        }
        take(file, in_folder(tmp_path / "base", base))
        yield file


def name_of(case: Case) -> str:
    table, cells, column, _ = case
    return f"{table}-{column}-{cells.get(column, '')!a}"


@pytest.mark.parametrize("case", CASES, ids=map(name_of, CASES))
def test_a_bad_cell_is_named_and_nothing_is_taken_or_exactly_the_others(
    fleet: FleetFile, tmp_path: Path, case: Case
) -> None:
    table, cells, column, said = case
    first, second, third = GOOD[table]
    folder = in_folder(tmp_path / "in", {table: [first, {**second, **cells}, third]})
    before = digest(fleet.path)
    with pytest.raises(FaultsError) as caught:
        take(fleet, folder)
    assert [fault.where.split(": ")[0] for fault in caught.value.faults] == [f"{table}.csv:3"]
    where, text = caught.value.faults[0].where, str(caught.value)
    if said:  # else it is the log as a whole that does not allow the row
        assert where.split(": ")[1] == column
    assert said in text
    assert digest(fleet.path) == before
    report = take(fleet, folder, keep_good=True)
    assert dict(+report.taken) == {table: 2}
    assert (report.rows, report.there_already) == (3, 0)
    assert [str(fault) for fault in report.left_out] == text.splitlines()


@pytest.mark.parametrize("table", GOOD)
def test_the_rows_between_which_the_bad_ones_stand_are_good(
    fleet: FleetFile, tmp_path: Path, table: str
) -> None:
    report = take(fleet, in_folder(tmp_path / "in", {table: list(GOOD[table])}))
    assert dict(+report.taken) == {table: 3}


def test_all_that_is_wrong_is_told_together_in_the_order_of_the_tables(
    fleet: FleetFile, tmp_path: Path
) -> None:
    tables = {
        "settings": [{"name": "by", "value": "a"}, {"name": "x", "value": "y"}],
        "boats": [{**GOOD["boats"][0], "use": "rental"}],
        "engines": [{**GOOD["engines"][0], "reading": "1,234"}],
        "log": [{**row, "on": "soon"} for row in GOOD["log"]],
    }
    with pytest.raises(FaultsError) as caught:
        take(fleet, in_folder(tmp_path / "in", tables))
    assert [fault.where for fault in caught.value.faults] == [
        'settings.csv:3: name: setting "x"',
        "boats.csv:2: use",
        "engines.csv:2: reading",
        "log.csv:2: on",
        "log.csv:3: on",
        "log.csv:4: on",
    ]


def test_rows_after_a_cell_of_several_lines_and_blank_lines_keep_their_numbers(
    fleet: FleetFile, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "on,event,engine,hours,note\n"
        '2026-02-01,run,Plover,1,"one\ntwo\nthree"\n'
        "\n"
        ",,,,\n"
        "2026-02-02,run,Plover,x,\n",
        encoding="utf-8",
    )
    with pytest.raises(FaultsError, match=r"^log\.csv:7: hours: "):
        take(fleet, path)


def test_more_cells_than_headings_is_the_rows_fault(fleet: FleetFile, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "on,event,engine,hours\n2026-02-01,run,Plover,1,5\n2026-02-02,run,Plover,2,,\n"
        "2026-02-03,lay-up,Plover\n",
        encoding="utf-8",
    )
    with pytest.raises(FaultsError, match=r"^log\.csv:2: has 5 cells for 4 headings$"):
        take(fleet, path)
    report = take(fleet, path, keep_good=True)
    assert (report.rows, report.taken["log"]) == (3, 2)
