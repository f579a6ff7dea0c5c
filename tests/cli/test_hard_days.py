"""Clocks, zones, locks, read-only places, interruptions: what the user sees, and what is kept."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from freezegun import freeze_time

from fleetcare.store import append
from fleetcare.store.file import open_file
from fleetcare.store.telling import WAIT_SECONDS
from tests.cli.typed import ROOT, fleetcare, one_line, refused, rows, written
from tests.store.test_unusable_files import as_nobody

# -- the clock ---------------------------------------------------------------------------------


def test_a_clock_set_back_is_asked_about_by_every_command_and_nothing_is_lost(small: Path) -> None:
    fleetcare("reading", "Plover", 260)
    before, due = written(small), rows("due")
    with freeze_time("2026-06-01 08:00:00"):
        said = fleetcare("due")
        assert said.err.splitlines()[0] == (
            "The last entry is of 2026-07-18, written on 2026-07-18, but today is 2026-06-01 by "
            "this computer: is its clock right?"
        )
        assert "is its clock right?" in fleetcare("incident", "Knot", "grounded").err
        assert fleetcare("due", "--quiet").err == ""
    now = written(small)
    assert now["log"][:-1] == before["log"]
    fleetcare("undo")
    assert rows("due") == due


@pytest.mark.parametrize(("clock", "asks"), [("1970-01-01", True), ("2062-03-01", True)])
def test_a_clock_of_another_age_is_asked_about(small: Path, clock: str, asks: bool) -> None:
    with freeze_time(f"{clock} 08:00:00"):
        said = fleetcare("morning").err
    assert (f"but today is {clock} by this computer: is its clock right?" in said) == asks


def test_at_the_epoch_nothing_is_taken(small: Path) -> None:
    with freeze_time("1970-01-01 08:00:00"):
        assert "before the fleet knew it" in refused(small, "run", "Knot", 1, "--quiet")


@pytest.mark.parametrize("days", [0, 1, 200])
def test_a_clock_that_goes_on_is_not_asked_about(small: Path, days: int) -> None:
    with freeze_time("2026-07-18 08:00:00") as clock:
        clock.tick(86400 * days)
        assert "clock" not in fleetcare("due").err


def test_an_entry_in_the_future_is_refused_and_asks_about_the_clock(small: Path) -> None:
    said = one_line(refused(small, "reading", "Plover", 260, "--on", "2026-07-19"))
    assert said == (
        "fleetcare: reading: --on: 2026-07-19 lies in the future (today is 2026-07-18); is the "
        "clock right?"
    )


def test_entries_of_a_clock_that_ran_ahead_are_kept_named_and_can_be_taken_back(
    small: Path,
) -> None:
    due = rows("due")
    with freeze_time("2062-03-01 08:00:00"):
        fleetcare("reading", "Plover", 260)
    assert rows("due") == due  # what lies ahead does not count yet
    assert "entry 3: is of 2062-03-01, which lies after today" in fleetcare("check", code=1).err
    fleetcare("undo", 3)
    assert "is whole" in fleetcare("check").out
    assert rows("due") == due


# -- time zones --------------------------------------------------------------------------------


def test_days_stay_as_they_were_written_on_the_other_side_of_the_date_line(small: Path) -> None:
    with freeze_time("2026-07-18 12:00:00", tz_offset=14):  # it is the 19th there
        fleetcare("reading", "Plover", 260)
        east = rows("due", "--as-of", "2026-07-19")
        fleetcare("feed", "write", "east.ics", "--as-of", "2026-07-20")
    assert written(small)["log"][-1][3] == date(2026, 7, 19).toordinal()
    with freeze_time("2026-07-18 12:00:00", tz_offset=-11):  # and still the 18th here
        said = fleetcare("due").err
        assert "The last entry is of 2026-07-19" in said
        assert rows("due", "--as-of", "2026-07-19") == east
        fleetcare("feed", "write", "west.ics", "--as-of", "2026-07-20")
    assert Path("east.ics").read_bytes() == Path("west.ics").read_bytes()


def test_the_zone_of_the_computer_changes_no_byte(small: Path) -> None:
    said = []
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago", "Europe/Oslo"):
        done = subprocess.run(
            [sys.executable, "-m", "fleetcare", "due", "--format", "json", "--all", "--as-of",
             "2026-07-18"],
            env={**os.environ, "TZ": zone, "PYTHONPATH": str(ROOT)}, capture_output=True,
            check=True,
        )  # fmt: skip
        said.append(done.stdout)
    assert len(said[0]) > 1000
    assert said[0] == said[1] == said[2]


# -- other programs ----------------------------------------------------------------------------


@pytest.fixture
def holder(small: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[sqlite3.Connection]:
    """Another program with the fleet file; ours does not wait for it."""
    monkeypatch.setattr(open_file, "__defaults__", (0.0,))
    connection = sqlite3.connect(small, isolation_level=None)
    yield connection
    connection.close()


def test_while_another_writes_lists_go_on_and_writes_are_refused_after_the_wait(
    small: Path, holder: sqlite3.Connection
) -> None:
    due, before = fleetcare("due", "--format", "json").out, written(small)
    holder.execute("begin immediate")
    assert fleetcare("due", "--format", "json").out == due
    assert one_line(fleetcare("reading", "Plover", 260, code=5).err) == (
        f"fleetcare: reading: {small} was in use by another program for 15 s; nothing was "
        f"written. Try again"
    )
    holder.execute("rollback")
    assert written(small) == before
    fleetcare("reading", "Plover", 260)


def test_while_another_has_it_alone_every_command_is_told_so(
    small: Path, holder: sqlite3.Connection
) -> None:
    holder.execute("begin exclusive")
    for words in (("due",), ("reading", "Plover", 260), ("backup", "copy.db"), ("log",)):
        assert "in use by another program" in one_line(fleetcare(*words, code=5).err)
    assert not Path("copy.db").exists()


def test_the_wait_is_what_the_words_say(small: Path) -> None:
    assert WAIT_SECONDS == 15
    connection = open_file(small)
    assert connection.execute("pragma busy_timeout").fetchone()[0] == 15000
    connection.close()


# -- places that cannot be written -------------------------------------------------------------


@pytest.fixture
def reachable(small: Path) -> Iterator[Path]:
    """The small fleet where another user can read it and nothing else."""
    with tempfile.TemporaryDirectory(prefix="fleetcare-test-") as name:
        folder = Path(name)
        path = folder / "fleet.db"
        path.write_bytes(small.read_bytes())
        path.chmod(0o444)
        folder.chmod(0o555)
        yield path
        folder.chmod(0o755)


def as_another(*words: object) -> str:
    """What a user who may not write sees, with the exit code before it."""

    def work() -> str:
        from click.testing import CliRunner

        from fleetcare.cli.main import cli

        done = CliRunner().invoke(cli, [str(word) for word in words], prog_name="fleetcare")
        return f"{done.exit_code} {done.stdout}{done.stderr}"

    return as_nobody(work)


def test_a_read_only_file_is_looked_at_as_ever_and_a_write_says_why_not(reachable: Path) -> None:
    at = ("--fleet", reachable)
    due = fleetcare("due", "--format", "json").out
    assert as_another("due", "--format", "json", *at) == f"0 {due}"
    assert as_another("morning", *at).startswith("0 ")
    assert as_another("reading", "Plover", 260, *at) == (
        f"4 fleetcare: reading: {reachable} cannot be written here: the file or its folder is "
        f"read-only, or it was moved while in use\n"
    )


@pytest.mark.skipif(os.name == "nt", reason="other permissions there")
def test_a_folder_that_may_not_be_entered_is_told_in_words(reachable: Path) -> None:
    reachable.parent.chmod(0o000)
    said = as_another("due", "--fleet", reachable)
    assert said.startswith(f"4 fleetcare: due: {reachable} "), said
    assert "Permission denied" in said


def test_a_folder_that_is_not_there(fleet: Path, tmp_path: Path) -> None:
    gone = tmp_path / "gone" / "fleet.db"
    said = one_line(fleetcare("due", "--fleet", gone, code=1).err)
    assert f"no fleet yet at {gone}" in said
    assert not gone.parent.exists()
    fleetcare("new", "--fleet", gone)
    assert gone.exists()
    fleetcare("backup", tmp_path / "far" / "off" / "copy.db", "--fleet", gone)
    assert (tmp_path / "far" / "off" / "copy.db").exists()


def test_a_folder_that_is_a_file_is_told_in_words(small: Path) -> None:
    under = small / "fleet.db"
    assert "no fleet yet" in one_line(fleetcare("due", "--fleet", under, code=1).err)
    for words in (("new", "--fleet", under), ("backup", under), ("export", small / "tables")):
        said = one_line(fleetcare(*words, code=4).err)
        assert "cannot be" in said
        assert "Not a directory" in said or "File exists" in said


# -- interruptions -----------------------------------------------------------------------------


def test_ctrl_c_in_the_middle_of_an_import_takes_nothing_and_says_so(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*args: object) -> None:
        raise KeyboardInterrupt

    before = written(small)
    monkeypatch.setattr(append, "check_engines", interrupted)
    monkeypatch.setattr("fleetcare.exchange.bring_in.check_engines", interrupted, raising=False)
    said = fleetcare("import", ROOT / "examples" / "pim", code=130)
    assert "interrupted; what was said to be stored is kept" in said.err
    assert "took" not in said.out
    assert written(small) == before
    monkeypatch.undo()
    os.environ["FLEETCARE_FLEET"] = str(small)
    assert "took" in fleetcare("import", ROOT / "examples" / "pim").out


def test_no_network_is_needed(small: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **more: object) -> None:
        raise AssertionError("asked for the network")

    monkeypatch.setattr("socket.socket", refuse)
    monkeypatch.setattr("socket.create_connection", refuse)
    monkeypatch.setattr("socket.getaddrinfo", refuse)
    for words in (
        ("morning",), ("due",), ("reading", "Plover", 260), ("run", "Knot", 1),
        ("done", "Plover", "plugs"), ("why", "Plover", "plugs"), ("feed", "write", "fleet.ics"),
        ("backup", "copy.db"), ("check",), ("export", "tables"), ("undo",),
    ):  # fmt: skip
        fleetcare(*words, stdin="")
