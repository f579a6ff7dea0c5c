"""Files made to eat a machine: each is refused in words by a process of 1 GB at most."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tests.cli.typed import ROOT
from tests.fuzz.scenery import CALENDAR, RULES

MOST = 1 << 30
SECONDS = 60


def confined() -> None:
    """In the child, before the program: bounds of memory and of processor time."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def typed(*words: str, stdin: Path | None = None) -> subprocess.CompletedProcess[bytes]:
    """A command in such a process; it never ends in a traceback or as a fault of ours."""
    with (stdin or Path(os.devnull)).open("rb") as source:
        done = subprocess.run(
            [sys.executable, "-m", "fleetcare", *words], stdin=source, capture_output=True,
            check=False, preexec_fn=confined, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
    assert b"Traceback" not in done.stderr, done.stderr
    assert b"MemoryError" not in done.stderr, done.stderr
    assert len(done.stderr) < 20_000
    return done


def sparse(name: str, size: int, head: bytes = b"") -> Path:
    """A file of that size of which only the head takes room."""
    path = Path(name)
    with path.open("wb") as file:
        file.write(head)
        file.truncate(size)
    return path


def bomb(name: str, part: str, content: bytes, pieces: int) -> Path:
    """A workbook whose one part unpacks to far more than it weighs."""
    small, path = Path("small.xlsx"), Path(name)
    book = openpyxl.Workbook()
    book.active.append(["Date", "Engine", "Hours run"])
    book.save(small)
    with (
        zipfile.ZipFile(small) as old,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as new,
    ):
        for item in old.infolist():
            if item.filename != part:
                new.writestr(item, old.read(item))
        with new.open(part, "w", force_zip64=True) as file:
            for _ in range(pieces):
                file.write(content)
    assert path.stat().st_size < 3_000_000
    return path


@pytest.mark.parametrize("name", ["big.csv", "big.xlsx", "big.txt"])
def test_a_spreadsheet_of_two_gigabytes_is_refused_unread(place: Path, name: str) -> None:
    head = b"PK\x03\x04" if name.endswith("xlsx") else b"Date,Engine,Hours run\r\n"
    sparse(name, 2 << 30, head)
    done = typed("import", name)
    assert (done.returncode, b"larger than" in done.stderr) == (1, True)


@pytest.mark.parametrize("words", [
    ("bookings", "big"), ("plan", "--closed", "big"), ("due", "--bookings", "big"),
    ("rules", "test", "big"), ("evening", "--file", "big"), ("reading", "--file", "big"),
    ("done", "--sheet", "big"), ("restore", "big", "--overwrite"), ("due", "--fleet", "big"),
    ("check", "--fleet", "big"), ("import", "big"),
])  # fmt: skip
def test_two_gigabytes_of_zeros_are_nothing_to_any_command(
    place: Path, words: tuple[str, ...]
) -> None:
    sparse("big", 2 << 30)
    before = (place / "fleet.db").read_bytes()
    done = typed(*words)
    assert done.returncode in ((0, 1, 4) if words[0] in ("bookings", "plan", "due") else (1, 4))
    if done.returncode:
        assert (place / "fleet.db").read_bytes() == before


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
@pytest.mark.parametrize("words", [
    ("import", "/dev/zero"), ("import", "-"), ("bookings", "/dev/zero"),
    ("rules", "test", "/dev/zero"), ("evening", "--file", "-"), ("evening", "--file", "/dev/zero"),
    ("done", "--sheet", "-"), ("reading", "-"),
])  # fmt: skip
def test_what_never_ends_is_not_read_to_its_end(place: Path, words: tuple[str, ...]) -> None:
    done = typed(*words, stdin=Path("/dev/zero"))
    assert done.returncode in (0, 1) if words[0] == "bookings" else done.returncode == 1


@pytest.mark.parametrize(
    ("part", "content", "pieces"),
    [
        ("xl/worksheets/sheet1.xml", b"<row/>" * 1_000_000, 26),
        ("xl/sharedStrings.xml", b"<si><t>a</t></si>" * 300_000, 13),
        ("xl/styles.xml", b"<xf/>" * 1_000_000, 5),
        ("xl/workbook.xml", b"<sheet/>" * 1_000_000, 3),
    ],
)
def test_a_workbook_that_unpacks_to_far_more_than_it_weighs_is_refused(
    place: Path, part: str, content: bytes, pieces: int
) -> None:
    bomb("bomb.xlsx", part, content, pieces)
    done = typed("import", "bomb.xlsx")
    assert (done.returncode, b"unpacks to more than" in done.stderr) == (1, True), done.stderr


def test_a_workbook_that_lies_about_its_size_is_refused(place: Path) -> None:
    path = bomb("bomb.xlsx", "xl/worksheets/sheet1.xml", b"<row/>" * 200_000, 1)
    raw = path.read_bytes()
    with zipfile.ZipFile(path) as packed:
        size = packed.getinfo("xl/worksheets/sheet1.xml").file_size
    assert raw.count(size.to_bytes(4, "little")) >= 1
    path.write_bytes(raw.replace(size.to_bytes(4, "little"), (1000).to_bytes(4, "little")))
    assert typed("import", "bomb.xlsx").returncode == 1


ENTITIES = '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa">' + "".join(
    f'<!ENTITY {to} "{f"&{of};" * 10}">' for of, to in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize("head", [
    ENTITIES + "]>", '<!DOCTYPE a [<!ENTITY i SYSTEM "file:///etc/passwd">]>',
    '<!DOCTYPE a SYSTEM "http://127.0.0.1:9/x.dtd">',
])  # fmt: skip
@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml",
                                  "xl/sharedStrings.xml",
                                  "xl/_rels/workbook.xml.rels"])  # fmt: skip
def test_a_workbook_with_entities_of_its_own_is_refused(place: Path, part: str, head: str) -> None:
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.packed import looked_through

    book = openpyxl.Workbook()
    book.active.append(["Date", "Engine"])
    book.save("plain.xlsx")
    with zipfile.ZipFile("plain.xlsx") as old, zipfile.ZipFile("e.xlsx", "w") as new:
        for item in old.infolist():
            text = old.read(item).decode()
            if item.filename == part:
                text = f"<?xml version='1.0'?>{head}<a>&i;</a>"
            new.writestr(item.filename, text)
        if part not in old.namelist():
            new.writestr(part, f"<?xml version='1.0'?>{head}<a>&i;</a>")
    with pytest.raises(RefusedError, match="document type"):
        looked_through(Path("e.xlsx").read_bytes(), "e.xlsx")


@pytest.mark.parametrize("rule", [
    "RRULE:FREQ=SECONDLY;COUNT=1000000000", "RRULE:FREQ=DAILY;COUNT=1000000000",
    "RRULE:FREQ=YEARLY;INTERVAL=1000000000", "RRULE:FREQ=MINUTELY;UNTIL=99991231",
])  # fmt: skip
def test_a_billion_recurrences_cost_no_more_than_one(place: Path, rule: str) -> None:
    Path("much.ics").write_text(CALENDAR.replace("RRULE:FREQ=WEEKLY", rule), encoding="utf-8")
    assert typed("bookings", "much.ics").returncode == 0
    assert typed("plan", "--closed", "much.ics", "--effort", "0").returncode in (0, 1)


@pytest.mark.parametrize("text", [
    "x = " + "[" * 100_000, "x = " + "{a=" * 100_000, "[" + "a." * 100_000 + "a]",
    "a" + ".a" * 100_000 + " = 1", "x = " + "9" * 1_000_000, "x = 1e" + "9" * 100_000,
    "x = [" + "[1]," * 100_000 + "]", "[[task]]\n" * 20_000, 'x = "' + "\\u0041" * 300_000 + '"',
    RULES + "limits.fresh = { hours = " + "9" * 5_000 + " }",
    RULES + "limits.fresh = { hours = 1e308 }", RULES + "limits.fresh = { months = inf }",
    RULES + "limits.fresh = { hours = nan }",
    RULES + "limits.fresh = { months = 99999999999999999999 }",
    RULES + "minutes = 99999999999999999999999999",
], ids=range(15))  # fmt: skip
def test_rules_of_great_depth_and_numbers_are_refused(place: Path, text: str) -> None:
    Path("in.toml").write_text(text, encoding="utf-8")
    done = typed("rules", "test", "in.toml")
    assert done.returncode == 1, (done.stdout[:300], done.stderr[:300])


@pytest.mark.parametrize("words", [
    ("import", "line"), ("bookings", "line"), ("rules", "test", "line"),
    ("evening", "--file", "line"), ("done", "--sheet", "line"),
])  # fmt: skip
def test_a_line_of_a_hundred_megabytes_is_refused(place: Path, words: tuple[str, ...]) -> None:
    with Path("line").open("wb") as file:
        file.write(b"on,event,engine,reading\r\n2026-07-01,reading,Plover,")
        for _ in range(100):
            file.write(b"1" * 1_000_000)
    done = typed(*words)
    assert done.returncode == (0 if words[0] == "bookings" else 1), done.stderr


def test_letters_that_are_no_utf8_on_stdin_are_refused_in_words(place: Path) -> None:
    Path("latin").write_bytes("Plöver 260\n".encode("latin-1"))
    for words in (("evening", "--file", "-"), ("reading", "-"), ("done", "--sheet", "-")):
        done = typed(*words, stdin=Path("latin"))
        assert (done.returncode, b"is not UTF-8" in done.stderr) == (1, True), done.stderr
