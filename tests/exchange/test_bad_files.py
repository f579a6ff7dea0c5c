"""Files that are no tables of ours are refused in words, with their line where there is one.

What spreadsheet programs write: a byte order mark, CRLF, empty rows at the end are taken as they
are (RFC 4180 for the rest).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import RefusedError
from fleetcare.exchange.csvfile import MOST_BYTES, read_cells
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import digest, new, take

BOATS = "boat,use,water,since\nOtter,hire,salt,2026-01-01\nDipper,club,fresh,2026-01-01\n"
BAD: dict[str, tuple[bytes, str]] = {
    "no bytes": (b"", r": is empty"),
    "blanks": (b" \r\n\t\n", r": is empty"),
    "a mark and no more": (b"\xef\xbb\xbf", r": is empty"),
    "commas": (b",,,\n,,\n", r": is empty"),
    "UTF-16 with its mark": (BOATS.encode("utf-16"), r": is UTF-16. Save it as CSV UTF-8"),
    "UTF-16, big end first": (b"\xfe\xff" + BOATS.encode("utf-16-be"), r": is UTF-16"),
    "UTF-16 without a mark": (BOATS.encode("utf-16-le"), r":1: holds a NUL byte"),
    "Latin-1": (BOATS.replace("Dipper", "Dïpper").encode("latin-1"), r":3: is not UTF-8"),
    "Windows-1252": (BOATS.replace("Otter", "Ott–er").encode("cp1252"), r":2: is not UTF-8"),
    "a stray byte": (BOATS.encode() + b"\xff", r":4: is not UTF-8"),
    "NUL": (BOATS.replace("club", "cl\x00ub").encode(), r":3: holds a NUL byte"),
    "a quote not closed": (
        BOATS.replace("Otter", '"Otter').encode(), r":2: is not CSV from here on"
    ),
    "a quote not closed at the end": (b'name,value\nby,"jetty\n', r":2: is not CSV"),
    "text after a quote": (b'name,value\nby,"a"b\n', r":2: is not CSV"),
    "a cell without end": (
        b"name,value\nby,a\nby," + b"x" * 200_000 + b"\n", r":3: is not CSV.*field larger"
    ),
    "semicolons": (BOATS.replace(",", ";").encode(), r"headings are not those of settings"),
    "tabs": (BOATS.replace(",", "\t").encode(), r"headings are not those of"),
    "no headings": (b"Otter,hire,salt,2026-01-01\n", r"headings are not those of"),
    "an unknown heading": (BOATS.replace("since", "sinse").encode(), r"headings are not those of"),
    "one heading too many": (
        BOATS.replace("since", "since,colour").encode(), r"boat, use, water, since, colour"
    ),
    "a heading without its key": (b"use,water,since\nhire,salt,2026-01-01\n", r"headings are not"),
    "a heading twice": (
        BOATS.replace("since", "since,boat").encode(), r'has the heading "boat" twice'
    ),
    "other case": (BOATS.replace("boat", "Boat").encode(), r"headings are not those of"),
    "a last: column in boats": (b"boat,use,last:impeller\n", r"headings are not those of"),
    "a database": (b"SQLite format 3\x00" + bytes(200), r":1: holds a NUL byte"),
    "a zip, as XLSX is": (b"PK\x03\x04\x14\x00" + bytes(50), r"NUL|not UTF-8"),
}  # fmt: skip


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    with new(tmp_path / "fleet.db") as file:
        yield file


@pytest.mark.parametrize("bad", BAD)
def test_a_file_that_is_no_table_of_ours_is_refused_with_its_place(
    bad: str, fleet: FleetFile, tmp_path: Path
) -> None:
    content, said = BAD[bad]
    path = tmp_path / "their.csv"
    path.write_bytes(content)
    before = digest(fleet.path)
    with pytest.raises(RefusedError, match=said) as caught:
        take(fleet, path)
    assert str(caught.value).startswith(str(path))
    with pytest.raises(RefusedError, match=said):
        take(fleet, path, keep_good=True)
    assert digest(fleet.path) == before


@pytest.mark.parametrize(
    "text",
    [
        BOATS,
        "\ufeff" + BOATS,
        BOATS.replace("\n", "\r\n"),
        BOATS.replace("\n", "\r"),
        BOATS.rstrip("\n"),
        BOATS + "\n\n,,,\n \n",
        "\n,\n" + BOATS,
        BOATS.replace("Otter", '"Otter"').replace("salt", " salt "),
        BOATS.replace("Otter", "  Otter\u00a0"),
        BOATS.replace("2026-01-01\n", "2026-01-01,,,\n"),
        BOATS.replace("hire", "HIRE"),
        '"boat","use","water","since"' + BOATS[BOATS.index("\n") :],
    ],
)
def test_what_spreadsheets_write_around_the_same_cells_makes_no_difference(
    text: str, fleet: FleetFile, tmp_path: Path
) -> None:
    path = tmp_path / "boats.csv"
    path.write_bytes(text.encode("utf-8"))
    assert dict(take(fleet, path).taken) == {"boats": 2, "log": 0}
    assert list(fleet.fleet().boats) == ["Otter", "Dipper"]


def test_columns_may_stand_in_any_order_and_be_left_out(fleet: FleetFile, tmp_path: Path) -> None:
    path = tmp_path / "engines.csv"
    path.write_text("reading,since,last:impeller,engine\n12.5,2026-01-01,2025-05-05,Plover\n")
    assert dict(take(fleet, path).taken) == {"engines": 1, "log": 1}
    assert fleet.fleet().engines["Plover"].reading == 1250


def test_the_tables_are_told_by_their_headings_whatever_the_files_are_called(
    fleet: FleetFile, tmp_path: Path
) -> None:
    texts = {
        "a.csv": "on,event,engine,reading\n2026-02-02,reading,Plover,13\n",
        "b.csv": "engine,boat,since,reading\nPlover,Otter,2026-01-01,12.5\n",
        "z.csv": BOATS,
        "m.csv": "name,value\nby,jetty\n",
        "notes.txt": "not a table",
    }
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
    report = take(fleet, tmp_path)
    assert dict(report.taken) == {"settings": 1, "boats": 2, "engines": 1, "log": 1}


def test_two_files_of_one_table_are_one_table(fleet: FleetFile, tmp_path: Path) -> None:
    (tmp_path / "one.csv").write_text(BOATS)
    (tmp_path / "two.csv").write_text(BOATS.replace("Otter", "Heron").replace("Dipper", "Grebe"))
    assert take(fleet, tmp_path / "one.csv", tmp_path / "two.csv").taken["boats"] == 4


def test_a_folder_without_tables_and_a_file_that_is_not_there_are_refused(
    fleet: FleetFile, tmp_path: Path
) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(RefusedError, match="holds no CSV file"):
        take(fleet, tmp_path / "empty")
    with pytest.raises(RefusedError, match=r"typo\.csv: No such file"):
        take(fleet, tmp_path / "typo.csv")


def test_a_file_of_absurd_size_is_not_even_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)  # a hole: it takes no room
    with pytest.raises(RefusedError, match="larger than 200 MB"):
        read_cells(path)


def test_one_bad_file_of_several_keeps_the_others_out(fleet: FleetFile, tmp_path: Path) -> None:
    (tmp_path / "boats.csv").write_text(BOATS)
    (tmp_path / "other.csv").write_text("what,ever\n1,2\n")
    with pytest.raises(RefusedError, match=r"other\.csv"):
        take(fleet, tmp_path, keep_good=True)
    assert fleet.fleet().boats == {}
