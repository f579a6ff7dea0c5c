"""fleetcare import of other people's sheets: previewed, asked about, refused in words, taken."""

from __future__ import annotations

import csv
import json
import os
import pty
import selectors
import signal
import sqlite3
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import ROOT, fleetcare, one_line, refused, rows, widest, written

GOOD = "Datum;Motor;Zählerstand;Notiz\n1.5.26;Plover;255,5;\n8.5.26;Plover;260;neue Schraube\n"
BAD = GOOD + "15.5.26;Plovr;262;\n22.5.26;Plovr;263;\n31.2.26;Plover;264;\n1.6.26;Plover;ca. 265;\n"


@pytest.fixture
def sheet(tmp_path: Path) -> Any:
    def make(text: str, name: str = "hours.csv", encoding: str = "utf-8") -> Path:
        path = tmp_path / name
        path.write_bytes(text.encode(encoding))
        return Path(name)

    return make


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody is there to be asked."""
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


def log(fleet: Path) -> list[tuple[Any, ...]]:
    return written(fleet)["log"][2:]  # after what the small fleet begins with


def test_a_sheet_is_taken_and_its_reading_told(small: Path, sheet: Any) -> None:
    said = fleetcare("import", sheet(GOOD))
    assert said.out == "took 2 readings; 0 there already; 0 left out; 2 rows read\n"
    assert said.err.splitlines() == [
        "hours.csv: parted by semicolons; headings on line 1",
        "Heading      Read as",
        "-----------  ------------------",
        "Datum        the day",
        "Motor        the engine",
        "Zählerstand  the meter's figure",
        "Notiz        a note",
        "fleetcare undo takes the entries back, all of them",
    ]
    assert "260" in fleetcare("log", "Plover").out
    again = fleetcare("import", sheet(GOOD), "--quiet")
    assert again.out == "took nothing; 2 there already; 0 left out; 2 rows read\n"
    assert again.err == ""


def test_an_import_is_taken_back_in_one_go(small: Path, sheet: Any) -> None:
    fleetcare("import", sheet(GOOD))
    assert fleetcare("undo").out.count(" withdrawn ") == 2
    again = fleetcare("import", sheet(GOOD))
    assert again.out.startswith("took nothing; 2 there already")
    assert "worth a look, 2 rows withdrawn since, which stay so: rows 2, 3" in again.err


def test_a_dry_run_says_what_would_become_of_every_row_and_keeps_nothing(
    small: Path, sheet: Any
) -> None:
    before = written(small)
    said = fleetcare("import", sheet(BAD), "--dry-run", code=1)
    assert written(small) == before
    assert said.out == "would take 2 readings; 0 there already; 4 left out; 6 rows read\n"
    lines = said.err.splitlines()
    assert (
        '  left out: hours.csv: Motor: no engine "Plovr" (2 rows: 4, 5). Did you mean "Plover"? '
        '--as "Plovr=Plover" says so.'
    ) in lines
    assert any("hours.csv:6: Datum: " in line for line in lines)
    assert lines[-1] == (
        "fleetcare: import: nothing would be taken: 4 rows are refused of 6. Mend and import "
        "again; --keep-good takes the other 2; --report FILE writes those refused as a table"
    )
    assert fleetcare("import", sheet(GOOD), "--dry-run").out.startswith("would take 2 readings")


def test_refused_rows_refuse_all_unless_the_good_ones_are_wanted(small: Path, sheet: Any) -> None:
    told = refused(small, "import", sheet(BAD), "--quiet")
    assert 'no engine "Plovr" (2 rows: 4, 5)' in told
    assert told.splitlines()[-1].startswith("fleetcare: import: nothing was taken: 4 rows")
    kept = fleetcare("import", sheet(BAD), "--keep-good", "--quiet", code=6)
    assert kept.out == "took 2 readings; 0 there already; 4 left out; 6 rows read\n"
    assert kept.err.count("left out: ") == 3
    assert len(log(small)) == 2


def test_the_refused_rows_are_written_mended_and_imported(small: Path, sheet: Any) -> None:
    fleetcare("import", sheet(BAD), "--keep-good", "--report", "refused.csv", code=6)
    with Path("refused.csv").open(encoding="utf-8-sig", newline="") as file:
        head, *body = csv.reader(file)
    assert head == ["Datum", "Motor", "Zählerstand", "Notiz", "fleetcare: row",
                    "fleetcare: refused because"]  # fmt: skip
    assert [row[4] for row in body] == [f"hours.csv:{number}" for number in range(4, 8)]
    assert body[2][5] == 'Datum: "31.2.26" is no day of the calendar'
    again = fleetcare("import", "refused.csv", "--as", "Plovr=Plover", "--keep-good", code=6)
    assert again.out == "took 2 readings; 0 there already; 2 left out; 4 rows read\n"
    text = Path("refused.csv").read_text(encoding="utf-8").replace("Plovr", "Plover")
    sheet(text.replace("31.2.26", "29.5.26").replace("ca. 265", "265"), "refused.csv")
    last = fleetcare("import", "refused.csv")
    assert last.out == "took 2 readings; 2 there already; 0 left out; 4 rows read\n"
    assert len(log(small)) == 6


def test_a_report_is_written_of_a_dry_run_and_of_a_refusal_and_of_nothing_else(
    small: Path, sheet: Any
) -> None:
    for words in (("--dry-run",), ()):
        refused_rows = Path("refused.csv")
        refused_rows.unlink(missing_ok=True)
        fleetcare("import", sheet(BAD), "--report", refused_rows, *words, code=1)
        assert len(refused_rows.read_text(encoding="utf-8").splitlines()) == 5
    said = fleetcare("import", sheet(GOOD), "--report", "none.csv")
    assert not Path("none.csv").exists()
    assert "no row was refused, so none.csv is not written" in said.err
    told = refused(small, "import", sheet(BAD), "--report", "hours.csv", "--quiet")
    assert "is one of the files read" in told


def test_two_sheets_with_refused_rows_have_two_tables(small: Path, sheet: Any) -> None:
    files = sheet(BAD, "a.csv"), sheet(BAD.replace("Plover;2", "Spare;2"), "b.csv")
    fleetcare("import", *files, "--report", "left.csv", "--dry-run", code=1)
    assert sorted(path.name for path in Path.cwd().glob("left*")) == ["left-a.csv", "left-b.csv"]


# -- forms --------------------------------------------------------------------------------------


def test_every_row_is_told_as_json(small: Path, sheet: Any) -> None:
    said = fleetcare("import", sheet(BAD), "--dry-run", "--format", "json", "--quiet", code=1)
    found = json.loads(said.out)
    assert (found["fleetcare"], found["rows_read"], found["refused"]) == (1, 6, 4)
    assert [row["verdict"] for row in found["rows"]] == ["taken"] * 2 + ["refused"] * 4
    assert found["rows"][0] == {
        "row": "hours.csv:2", "verdict": "taken", "reason": None, "cell": None, "mend": None,
        "read": "2026-05-01 Plover reads 255.5",
    }  # fmt: skip
    assert found["rows"][2]["reason"] == 'no engine "Plovr"'
    assert found["rows"][2]["cell"] == "Motor"


def test_every_row_is_told_as_lines_and_as_csv(small: Path, sheet: Any) -> None:
    said = fleetcare("import", sheet(BAD), "--dry-run", "--all", "--quiet", code=1)
    assert said.lines[0] == "hours.csv:2: taken: 2026-05-01 Plover reads 255.5"
    assert said.lines[2] == 'hours.csv:4: refused: Motor: no engine "Plovr"'
    assert len(said.lines) == 7
    said = fleetcare("import", sheet(BAD), "--dry-run", "--format", "csv", "--quiet", code=1)
    assert said.lines[0] == "row,verdict,reason,cell,mend,read"
    assert len(said.lines) == 7
    said = fleetcare("import", sheet(BAD), "--dry-run", "--format", "ndjson", "--quiet", code=1)
    assert len(said.lines) == 6


def test_no_more_than_twenty_reasons_are_told_unless_all_are_wanted(
    small: Path, sheet: Any
) -> None:
    names = "".join(f"1.5.26;Nobody {number};1;\n" for number in range(30))
    path = sheet("Datum;Motor;Zählerstand;Notiz\n" + names)
    told = refused(small, "import", path, "--quiet").splitlines()
    assert len(told) == 22
    assert told[20] == "fleetcare: import: and 10 more rows (--all names them)"
    assert len(refused(small, "import", path, "--all", "--quiet").splitlines()) == 31


# -- what a person says -------------------------------------------------------------------------


def test_what_headings_mean_is_said_once_and_remembered_by_profile(small: Path, sheet: Any) -> None:
    text = "When;Clock;Which\n04/05/2026;255,5;Plover\n"
    said = ("--map", "day=when", "--map", "reading=CLOCK", "--map", "engine=which")
    options = ("--dates", "dmy", "--profile", "jetty")
    fleetcare("import", sheet(text), *said, *options, "--dry-run")
    assert "no row holds two headings" in refused(small, "import", sheet(text))
    assert fleetcare("import", sheet(text), *said, *options).out.startswith("took 1 reading;")
    later = sheet(text.replace("04/05", "05/05").replace("255", "256"))
    assert fleetcare("import", later, "--profile", "jetty").out.startswith("took 1 reading;")
    assert [row[3] for row in log(small)] == [
        datetime(2026, 5, day).toordinal() for day in (4, 5)
    ]  # fmt: skip
    connection = sqlite3.connect(small)
    kept = dict(connection.execute("select heading, meaning from heading where profile = 'jetty'"))
    connection.close()
    assert kept == {"when": "on", "clock": "reading", "which": "engine", "--dates": "dmy"}


def test_names_are_remembered_only_when_told(small: Path, sheet: Any) -> None:
    fleetcare("import", sheet(BAD), "--as", "Plovr=Plover", "--keep-good", code=6)
    assert "Plovr" in refused(small, "reading", "Plovr", 270)
    said = fleetcare("import", sheet(BAD), "--as", "Plovr=Plover", "--keep-names", "--keep-good",
                     code=6)  # fmt: skip
    assert '"Plover" is also called "Plovr"' in said.err
    fleetcare("reading", "Plovr", 270, "--dry-run")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--map", "reading"), '--map: "reading" is not MEANING=HEADING'),
        (("--map", "clock=Std"), '--map: "clock" is no meaning of a column'),
        (("--as", "Plovr="), '--as: "Plovr=" is not THEIRS=OURS'),
        (("--delimiter", "x"), '--delimiter: "x" is none of ; , | tab'),
        (("--encoding", "cp9"), '--encoding: "cp9" is none of'),
    ],
)
def test_options_that_say_nothing_are_refused(
    small: Path, sheet: Any, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(small, "import", sheet(GOOD), *words, "--quiet")


def test_what_is_not_decided_is_refused_in_a_script_with_the_ways_to_say_it(
    small: Path, sheet: Any
) -> None:
    path = sheet("Datum;Motor;Std\n03/04/2026;Knot;2\n")
    assert refused(small, "import", path).splitlines() == [
        'fleetcare: import: hours.csv: "Datum" holds days such as 03/04/2026, and no row shows '
        "which comes first. Say which:",
        "fleetcare: import:   --dates dmy  day first: 03/04/2026 is 2026-04-03",
        "fleetcare: import:   --dates mdy  month first: 03/04/2026 is 2026-03-04",
    ]
    assert "--hours total" in refused(small, "import", path, "--dates", "dmy")
    assert fleetcare("import", path, "--dates", "dmy", "--hours", "daily").code == 0


def test_a_fleet_takes_over_a_sheet_of_engines_that_it_does_not_know(
    small: Path, sheet: Any
) -> None:
    text = (
        "Datum;Motor;Boot;Std\n3.4.24;Ente;Lapwing;41\n2.4.24;Ente;;40,5\n2.5.24;Gans;;7\n"
        "2.5.25;Ente;;90\n5.5.26;Plovr;;255\n6.5.26;Plover;;256\n"
    )
    path = sheet(text)
    said = fleetcare("import", path, "--dry-run", "--missing", "engines.csv", code=1)
    assert "engines.csv: 2 engines that the fleet does not know" in said.err
    table = Path("engines.csv").read_text(encoding="utf-8").splitlines()
    assert table == [
        "engine,boat,hp,stroke,meter,since,reading,new",
        "Ente,Lapwing,,,yes,2024-04-02,40.5,no",
        "Gans,,,,yes,2024-05-02,7,no",
    ]
    assert "exists already" in refused(small, "import", path, "--missing", "engines.csv", "--quiet")
    fleetcare("import", "engines.csv", path, "--as", "Plovr=Plover")
    assert len(log(small)) == 6
    said = fleetcare("import", path, "--as", "Plovr=Plover", "--missing", "more.csv")
    assert "the fleet knows every engine, so more.csv is not written" in said.err


# -- on a terminal ------------------------------------------------------------------------------


def test_on_a_terminal_a_sheet_asks_what_it_leaves_open(
    small: Path, sheet: Any, terminal: None
) -> None:
    path = sheet("Dåtum;Datum;Motor;Std\nx;03/04/2026;Knot;2\n", encoding="cp1252")
    said = fleetcare("import", path, stdin="cp1252\nxyz\ndmy\ndaily\ny\n")
    assert "1: Dåtum;Datum;Motor;Std" in said.out
    assert "dmy: day first: 03/04/2026 is 2026-04-03" in said.out
    assert "Take them? [y/N]" in said.out
    assert said.lines[-1] == "took 1 run; 0 there already; 0 left out; 1 rows read"
    assert log(small)[0][3] == datetime(2026, 4, 3).toordinal()


def test_on_a_terminal_near_names_are_asked_about_and_never_taken_by_themselves(
    small: Path, sheet: Any, terminal: None
) -> None:
    before = written(small)
    said = fleetcare("import", sheet(BAD), stdin="n\nn\n", code=1)
    assert 'Is "Plovr" (rows 4, 5) "Plover"? [y/N]' in said.out
    assert "Leave out the 4 refused rows and take the others? [y/N]" in said.out
    assert "nothing was taken" in said.err
    assert written(small) == before
    said = fleetcare("import", sheet(BAD), stdin="y\ny\n", code=6)
    assert "would take 4 readings; 0 there already; 2 left out" in said.out
    assert "Leave out the 2 refused rows" in said.out
    assert len(log(small)) == 4
    assert "Plovr" in refused(small, "reading", "Plovr", 270)


def test_on_a_terminal_yes_asks_nothing(small: Path, sheet: Any, terminal: None) -> None:
    assert fleetcare("import", sheet(GOOD), "--yes").out.startswith("took 2 readings")
    assert "Did you mean" in refused(small, "import", sheet(BAD), "--yes", "--quiet")


def test_a_question_broken_off_takes_nothing_and_says_so(
    small: Path, sheet: Any, terminal: None
) -> None:
    before = written(small)
    said = fleetcare("import", sheet(BAD), stdin="y\n", code=130)
    assert "nothing was taken" in said.err
    assert written(small) == before


def is_heard(leader: int, seconds: float) -> bool:
    """Whether a terminal has something to read, within so many seconds."""
    with selectors.DefaultSelector() as selector:
        selector.register(leader, selectors.EVENT_READ)
        return bool(selector.select(seconds))


def heard(leader: int, word: bytes) -> bytes:
    """What a terminal says, up to a word."""
    said = b""
    while word not in said:
        assert is_heard(leader, 60), said
        said += os.read(leader, 1000)
    return said


def test_interrupted_in_the_middle_of_an_import_nothing_is_taken_and_it_says_so(
    small: Path, tmp_path: Path
) -> None:
    """A real interrupt, upon the question that an import asks in the middle of its work."""
    (tmp_path / "hours.csv").write_text(GOOD, encoding="utf-8")
    before = written(small)
    leader, follower = pty.openpty()
    child = subprocess.Popen(
        [sys.executable, "-m", "fleetcare", "import", "hours.csv"], stdin=follower,
        stdout=follower, stderr=follower, cwd=tmp_path, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        # whoever runs the tests in the background has them ignore interrupts
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    os.close(follower)
    said = heard(leader, b"Take them?")
    for _ in range(12):  # one that comes between the question and the wait for its answer is lost
        child.send_signal(signal.SIGINT)
        if is_heard(leader, 5):
            break
    said += heard(leader, b"interrupted")
    assert child.wait() == 130
    os.close(leader)
    assert b"nothing was taken" in said
    assert b"Traceback" not in said
    assert written(small) == before


# -- workbooks ----------------------------------------------------------------------------------


def workbook(path: Path) -> Path:
    book = openpyxl.Workbook()
    book.active.title = "Hours 2026"
    for line in (["Boat hire"], [], ["Date", "Engine", "Hours run"],
                 [datetime(2026, 5, 1), "Knot", 2.5], [datetime(2026, 5, 2), "Knot", "1,234"],
                 ["Total", None, 5]):  # fmt: skip
        book.active.append(line)
    book.save(path)
    return path


def test_a_workbook_is_named_by_sheet_and_cell(small: Path, tmp_path: Path) -> None:
    workbook(tmp_path / "hours.xlsx")
    told = refused(small, "import", "hours.xlsx", "--quiet")
    assert "fleetcare: import: hours.xlsx:Hours 2026!C5: Hours run: " in told
    said = fleetcare("import", "hours.xlsx", "--decimal", ",", "--keep-good")
    assert said.out == "took 2 runs; 0 there already; 1 skipped; 0 left out; 3 rows read\n"
    assert "headings on row 3, the 2 above not taken" in said.err
    assert "skipped, 1 a total: row 6" in said.err


def test_export_to_a_workbook_and_import_give_the_same_due_list(
    small: Path, tmp_path: Path
) -> None:
    assert fleetcare("export", "fleet.xlsx").out == "wrote fleet.xlsx\n"
    at = ("--fleet", tmp_path / "other.db")
    fleetcare("new", *at)
    assert "3 engines" in fleetcare("import", "fleet.xlsx", *at).out
    assert rows("due", *at) == rows("due")
    assert "is a file; give a folder" in one_line(refused(small, "export", "other.db"))


def test_a_page_of_this_report_fits_the_width_it_is_told(small: Path, sheet: Any) -> None:
    said = fleetcare("import", sheet(GOOD + ";;;\n" * 3 + "Mai;;;\n"))
    assert widest(said.err.splitlines()) <= 80
    assert widest(said.lines) <= 80
