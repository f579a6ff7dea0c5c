"""Tables in and out, a safe copy, and whether the file is whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import ROOT, fleetcare, one_line, refused, rows, written

PIM = ROOT / "examples" / "pim"


def test_export_then_import_gives_the_same_due_list_and_the_same_feed(
    ondrel: Path, tmp_path: Path
) -> None:
    said = fleetcare("export", "tables")
    assert said.lines == [
        f"wrote tables/{name}.csv" for name in ("settings", "boats", "engines", "log")
    ]
    at = ("--fleet", tmp_path / "other.db")
    fleetcare("new", *at)
    assert "4414 log" in fleetcare("import", "tables", *at).out
    assert rows("due", *at) == rows("due")
    for name, fleet in (("a.ics", ()), ("b.ics", at)):
        fleetcare("feed", "write", name, "--as-of", "2026-07-17", *fleet)
    assert Path("a.ics").read_bytes() == Path("b.ics").read_bytes()


def test_what_is_there_is_not_taken_again(fleet: Path) -> None:
    fleetcare("new")
    first = fleetcare("import", PIM).out
    again = one_line(fleetcare("import", PIM).out)
    assert first.startswith("took ")
    assert again.startswith("took nothing; ")
    assert again.endswith("0 left out; " + first.split("; ")[-1].strip())


def test_a_dry_run_takes_nothing(fleet: Path) -> None:
    fleetcare("new")
    before = written(fleet)
    assert fleetcare("import", PIM, "--dry-run").out.startswith("would take ")
    assert written(fleet) == before


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 1)])
def test_on_a_terminal_the_preview_is_shown_and_asked_about(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, answer: str, code: int
) -> None:
    fleetcare("new")
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    said = fleetcare("import", PIM, stdin=answer, code=code)
    assert said.out.startswith("would take ")
    assert "Take them?" in said.out
    assert bool(written(fleet)["log"]) == (code == 0)
    assert ("nothing was taken" in said.err) == (code == 1)


def test_a_bad_row_takes_nothing_unless_the_good_ones_are_wanted(small: Path) -> None:
    log = "on,event,engine,reading\n2026-07-01,reading,Plover,260\n2026-07-02,reading,Plovr,261\n"
    Path("log.csv").write_text(log, encoding="utf-8")
    said = refused(small, "import", "log.csv")
    assert "log.csv" in said
    assert 'no engine "Plovr". Did you mean "Plover"?' in said
    kept = fleetcare("import", "log.csv", "--keep-good", code=6)
    assert "took 1 log; 0 there already; 1 left out; 2 rows read" in kept.out
    assert "Plovr" in kept.err


def test_a_table_that_is_not_there_is_named(small: Path) -> None:
    assert "nosuch.csv" in one_line(refused(small, "import", "nosuch.csv"))


def test_a_whole_file_is_said_to_be_whole(small: Path) -> None:
    assert fleetcare("check").out == f"{small} is whole; 0 worth a look.\n"


def test_check_names_what_is_worth_a_look(small: Path) -> None:
    fleetcare("reading", "Plover", 255)
    fleetcare("run", "Plover", 9, "--on", "2026-07-10")  # more than the meter allows
    fleetcare("run", "Spare", 1)  # in store
    said = fleetcare("check").lines
    assert len(said) == 3
    assert all(line.startswith("worth a look: engine ") for line in said[:2])
    assert said[-1].endswith("2 worth a look.")
