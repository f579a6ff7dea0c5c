"""CSV as it is found: encodings, what parts the cells, quotation marks; settled, never guessed."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import UndecidedError
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.sheets import bring, csv_at, log_of, refusals, said, tried

PLAIN = "Date,Engine,Reading,Note\n2026-05-01,Otter,120,Ørsta\n2026-05-02,Heron,130.5,fällig\n"
TAKEN = [("Reading", "2026-05-01", "Otter", 12000), ("Reading", "2026-05-02", "Heron", 13050)]


def raw(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "hours.csv"
    path.write_bytes(content)
    return path


@pytest.mark.parametrize(
    "content",
    [
        PLAIN.encode("utf-8"),
        PLAIN.encode("utf-8-sig"),
        PLAIN.replace(",", "\t").encode("utf-16"),
        b"\xfe\xff" + PLAIN.replace(",", "\t").encode("utf-16-be"),
        PLAIN.replace(",", ";").replace("130.5", "130,5").encode(),
        PLAIN.replace(",", "|").encode(),
        PLAIN.replace(",", "\t").encode(),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace("\n", "\r").encode(),
        PLAIN.replace("\n", "\r\n", 1).encode(),
        ("sep=;\r\n" + PLAIN.replace(",", ";")).encode(),
        ("Hours of the season\n\n;;;\n" + PLAIN.replace(",", ";")).encode(),
        ("Lapwing, Dunlin and the others, 2026\n" + PLAIN.replace(",", ";")).encode(),
        PLAIN.replace("120", '"120"').encode(),
        PLAIN.rstrip("\n").encode(),
        (PLAIN + "\n,,,\n\n").encode(),
    ],
)
def test_every_file_that_says_how_it_is_written_is_read_in_silence(
    fleet: FleetFile, tmp_path: Path, content: bytes
) -> None:
    report = bring(fleet, raw(tmp_path, content))
    assert said(log_of(fleet)) == TAKEN
    assert [entry.note for entry in log_of(fleet)] == ["Ørsta", "fällig"]
    assert report.taken["readings"] == 2


def test_a_file_that_is_not_utf8_is_asked_about_with_its_doubtful_lines(
    fleet: FleetFile, tmp_path: Path
) -> None:
    path = raw(tmp_path, PLAIN.encode("cp1252"))
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, path)
    text = str(caught.value)
    assert caught.value.option == "encoding"
    assert "2: 2026-05-01,Otter,120,Ørsta" in text
    assert "3: 2026-05-02,Heron,130.5,fällig" in text
    assert log_of(fleet) == []
    bring(fleet, path, encoding="cp1252")
    assert [entry.note for entry in log_of(fleet)] == ["Ørsta", "fällig"]


@pytest.mark.parametrize("encoding", ["cp1252", "mac-roman", "cp850", "iso8859-15"])
def test_an_encoding_once_said_is_used(fleet: FleetFile, tmp_path: Path, encoding: str) -> None:
    bring(fleet, raw(tmp_path, PLAIN.encode(encoding)), encoding=encoding)
    assert [entry.note for entry in log_of(fleet)] == ["Ørsta", "fällig"]


def test_mixed_encodings_are_refused_with_the_lines_even_when_one_is_said(
    fleet: FleetFile, tmp_path: Path
) -> None:
    lines = PLAIN.splitlines()
    mixed = b"\n".join(
        [lines[0].encode(), lines[1].encode("utf-8"), lines[2].encode("cp1252"), b""]
    )
    for encoding in ("", "cp1252"):
        with pytest.raises(RefusedError, match=r"mixes encodings: line 3 is not UTF-8.*line 2 is"):
            bring(fleet, raw(tmp_path, mixed), encoding=encoding)


@pytest.mark.parametrize(
    ("content", "encoding", "words"),
    [
        (b"", "", "is empty"), (b"\xef\xbb\xbf", "", "is empty"), (b" \r\n", "", "is empty"),
        (b",,,\n,,\n", "", "is empty"), (b"\xff\xfe", "", "is empty"),
        (PLAIN.encode(), "cp1252", "is UTF-8 as it stands"),
        (PLAIN.encode("utf-16-le"), "", "NUL byte"),
        (PLAIN.encode("utf-16")[:-1], "", "says it is UTF-16 and is not"),
        (b"\xef\xbb\xbf" + PLAIN.encode("cp1252"), "", "says it is UTF-8 and is not"),
        (PLAIN.replace("fällig", "\x81").encode("latin-1"), "cp1252", "hours.csv:3: is not cp1252"),
        (PLAIN.encode().replace(b"Heron", b"He\x00ron"), "", "hours.csv:3: holds a NUL"),
        (PLAIN.replace("120", '"120').encode(), "", "hours.csv:2: a quotation mark opens here"),
        (PLAIN.replace("120", '"120"x').encode(), "", "hours.csv:2: is not CSV from here on"),
        (b'Date,Engine,Reading\n2026-05-01,Otter,"' + b"x" * 200_000, "", "is never closed"),
        (b"Date,Engine,Reading\n2026-05-01,Otter," + b"x" * 200_000, "", "131,072 letters"),
        (b"SQLite format 3\x00" + bytes(99), "", "is a database"),
        (b"%PDF-1.7", "", "is a PDF"), (b"<html><table>", "", "is a web page"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "", "old .xls or locked by a password"),
        (b"\x1f\x8b\x08", "", "gzip"), (b"{\\rtf1", "", "text document"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused_with_what_it_is(
    fleet: FleetFile, tmp_path: Path, content: bytes, encoding: str, words: str
) -> None:
    with pytest.raises(RefusedError, match=words):
        bring(fleet, raw(tmp_path, content), encoding=encoding)
    assert log_of(fleet) == []


def test_a_stray_quotation_mark_takes_no_rows_along(fleet: FleetFile, tmp_path: Path) -> None:
    text = (
        'Date;Engine;Reading;Note\n2026-05-01;Otter;120;"new prop\n2026-05-02;Otter;121;\n'
        '2026-05-03;Otter;122;ok"\n2026-05-04;Otter;123;\n2026-05-05;Otter;124;"two\nlines"\n'
    )
    report = tried(fleet, csv_at(tmp_path / "a.csv", text))
    assert refusals(report) == {
        2: "a.csv:2: a quotation mark takes in the rows down to line 4; close it"
    }
    assert report.taken["readings"] == 2  # a note of two lines is a note


@pytest.mark.parametrize("char", ["\x01", "\x1b", "\x7f", "\x0b"])
def test_control_characters_are_refused_by_their_row(
    fleet: FleetFile, tmp_path: Path, char: str
) -> None:
    report = tried(fleet, csv_at(tmp_path / "a.csv", PLAIN.replace("Ørsta", f"a{char}b")))
    assert refusals(report)[2].endswith(f"holds a control character (U+{ord(char):04X})")
    assert report.taken["readings"] == 1


def test_short_rows_are_filled_and_long_ones_refused(fleet: FleetFile, tmp_path: Path) -> None:
    text = PLAIN + "2026-05-03,Otter,121\n2026-05-04,Otter,122,a,b\n2026-05-05,Otter\n"
    report = tried(fleet, csv_at(tmp_path / "a.csv", text))
    assert list(refusals(report)) == [5]
    assert "has 5 cells for 4 headings" in refusals(report)[5]
    assert report.taken["readings"] == 3
    assert report.skipped == 1


def test_two_ways_to_part_the_cells_are_asked_about(fleet: FleetFile, tmp_path: Path) -> None:
    text = "Date;Engine;x,Reading,Note\n2026-05-01;Otter;x,120,x\n"
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, csv_at(tmp_path / "a.csv", text))
    assert caught.value.option == "delimiter"
    text = "Date|Engine|Reading\n2026-05-01|Otter|120\n"
    assert bring(fleet, csv_at(tmp_path / "a.csv", text), delimiter="|").taken["readings"] == 1


def test_too_many_rows_cells_or_bytes_are_refused(fleet: FleetFile, tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"more than 200,000 rows"):
        bring(fleet, csv_at(tmp_path / "a.csv", PLAIN + "\n" * 200_001))
    with pytest.raises(RefusedError, match=r"more than 1,000 cells"):
        bring(fleet, csv_at(tmp_path / "a.csv", PLAIN + "," * 1_001))
    with pytest.raises(RefusedError, match=r"more than 2,000,000 cells"):
        bring(fleet, csv_at(tmp_path / "a.csv", PLAIN + "," * 2_000_001))
    path = tmp_path / "a.csv"
    with path.open("wb") as file:
        file.write(PLAIN.encode())
        file.truncate(20_000_001)
    with pytest.raises(RefusedError, match="larger than 20 MB"):
        bring(fleet, path)


def test_a_missing_file_and_an_empty_folder_are_named(fleet: FleetFile, tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"typo\.csv: No such file"):
        bring(fleet, tmp_path / "typo.csv")
    (tmp_path / "empty").mkdir()
    with pytest.raises(RefusedError, match="no CSV file and no workbook"):
        bring(fleet, tmp_path / "empty")


def test_a_sheet_comes_through_a_pipe(
    fleet: FleetFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with csv_at(tmp_path / "a.csv", PLAIN).open("rb") as pipe:
        monkeypatch.setattr(sys, "stdin", type("Pipe", (), {"buffer": pipe}))
        report = bring(fleet, Path("-"))
    assert report.taken["readings"] == 2
    assert report.accounts[0].place == "stdin:2"
