"""check names every inconsistency that is planted, and says what to do; others end in words."""

from __future__ import annotations

import json
import shutil
import sqlite3
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from freezegun import freeze_time

from fleetcare.cli.context import sentence
from fleetcare.plan.kept import as_text
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.plans import keep_plan
from tests.cli.planted import FILE, ROWS, Plant, bare, filled, log_row, plant, with_stale_index
from tests.cli.typed import ROOT, Said, fleetcare, rows, written

PLANTS = {**FILE, **ROWS}
MENDED = [name for name, item in PLANTS.items() if item.mend == "check --mend"]


@pytest.fixture(scope="module")
def whole(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "fleet.db"
    shutil.copy(built / "small.db", path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLEETCARE_FLEET", str(path))
        filled()
    return path


@pytest.fixture
def some(whole: Path, fleet: Path) -> Path:
    """The small fleet with nine entries."""
    shutil.copy(whole, fleet)
    return fleet


def typed(*words: object) -> Said:
    """A command whose exit code is looked at afterwards."""
    from click.testing import CliRunner

    from fleetcare.cli.main import cli

    result = CliRunner().invoke(cli, [str(word) for word in words], prog_name="fleetcare")
    return Said(result.stdout, result.stderr, result.exit_code)


def test_a_file_without_faults_is_said_to_be_whole(some: Path) -> None:
    assert fleetcare("check").out == f"{some} is whole; 0 worth a look.\n"


@pytest.mark.parametrize("name", PLANTS)
def test_what_is_planted_is_named_with_what_to_do(some: Path, name: str) -> None:
    item = PLANTS[name]
    item.put(some)
    said = typed("check")
    assert said.code == item.code, said
    assert said.out == ""
    named = [line for line in said.err.splitlines() if sentence(item.says) in line]
    assert len(named) == 1, said.err
    assert named[0].startswith("fleetcare: check: ")
    assert item.mend in named[0]


@pytest.mark.parametrize("name", PLANTS)
def test_no_other_command_ends_in_a_traceback_over_it(some: Path, name: str) -> None:
    PLANTS[name].put(some)
    for words in (["due"], ["morning"], ["log"], ["history", "Plover"], ["year"],
                  ["reading", "Plover", "270"], ["backup", "copy.db"], ["undo"]):  # fmt: skip
        said = typed(*words)
        assert said.code in (0, 1, 4), (words, said)


@pytest.mark.parametrize("name", MENDED)
def test_what_can_be_set_right_without_guessing_is(some: Path, name: str) -> None:
    wanted, log = rows("due"), written(some)["log"]
    PLANTS[name].put(some)
    before = fleetcare("check", "--mend", "--dry-run", code=PLANTS[name].code)
    assert before.out.startswith("would have ")
    said = fleetcare("check", "--mend")
    assert said.lines[-1] == f"{some} is whole; 0 worth a look."
    assert len(said.lines) == 2
    if name != "an index that differs from its table":
        assert written(some)["log"] == log
        assert rows("due") == wanted


@pytest.mark.parametrize(
    "index", ["figures", "runs", "jobs", "found", "others", "acts", "withdraws"]
)
def test_whichever_index_is_lost_is_named_and_made_anew(some: Path, index: str) -> None:
    bare(some, f"drop index log_{index}")
    said = fleetcare("check", code=4).err
    assert said.startswith(f"fleetcare: check: file: has lost its index log_{index}. fleetcare ")
    for words in (["due"], ["undo"], ["log"]):
        assert typed(*words).code in (0, 4)
    said = fleetcare("check", "--mend").out
    assert said == f"made the index log_{index} anew\n{some} is whole; 0 worth a look.\n"


ADVICE = {
    "a day to come": [("undo", "10")],
    "a swap on a withdrawn one": [("undo", "10")],
    "a subscriber to nothing": [("feed", "revoke", "Ina")],
}


@pytest.mark.parametrize("name", ADVICE)
def test_doing_what_check_says_helps(some: Path, name: str) -> None:
    PLANTS[name].put(some)
    fleetcare("check", code=1)
    for words in ADVICE[name]:
        fleetcare(*words)
    assert "is whole" in fleetcare("check").out


def test_nothing_is_mended_where_the_log_itself_is_not_as_it_was_written(some: Path) -> None:
    plant(some, "update log set reading = 25600 where id = 3", sealed=True)
    bare(some, "drop trigger log_no_update")
    said = fleetcare("check", "--mend", code=4)
    assert "cannot be set right here: log: is not as it was written" in said.err
    assert "has lost its guard" in fleetcare("check", code=4).err


def test_an_index_is_not_made_out_of_a_table_that_was_changed(some: Path) -> None:
    with_stale_index(some, sealed=True)
    said = fleetcare("check", "--mend", code=4)
    assert "cannot be set right here: log: is not as it was written" in said.err


def test_an_error_over_a_damaged_file_is_told_as_the_files_wherever_its_name_stands(
    some: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLEETCARE_FLEET", str(some.with_name("another.db")))
    plant(some, log_row(event="'reading'", engine=1, reading=25500))  # a meter that falls
    for words in (["due", "--fleet", some], ["--fleet", some, "due"]):
        said = fleetcare(*words, code=4)
        assert said.err.startswith(f'fleetcare: due: {some} holds what cannot be: engine "Plover"')
        assert said.err.endswith("fleetcare check names all of it\n")


def test_before_the_first_entry_of_a_day_the_file_is_looked_over(some: Path) -> None:
    """So that damage is known while there is a copy from before it, and not written into."""
    with_stale_index(some)
    log = written(some)["log"]
    with freeze_time("2026-07-19 08:00:00"):
        for words in (("run", "Knot", 1), ("undo", 7), ("import", ROOT / "examples" / "pim")):
            said = fleetcare(*words, code=4).err
            assert "is damaged, and nothing more is written into it: file: row 3 missing" in said
            assert "fleetcare check --mend sets that right" in said
        assert written(some)["log"] == log
        fleetcare("check", "--mend")
        fleetcare("run", "Knot", 1)


def test_nothing_is_mended_in_a_file_that_needs_nothing(some: Path) -> None:
    before = some.read_bytes()
    said = fleetcare("check", "--mend")
    assert said.lines[0] == "nothing here can be set right without guessing, or needs to be"
    assert some.read_bytes() == before


def test_what_somebody_changed_on_purpose_can_be_accepted(some: Path) -> None:
    bare(some, "update engine set year = 1998 where name = 'Plover'")
    assert "is not as fleetcare wrote it" in fleetcare("check", code=4).err
    fleetcare("reading", "Plover", 270)
    fleetcare("settings", "by", "jetty")
    assert "is not as fleetcare wrote it" in fleetcare("check", code=4).err  # still
    fleetcare("check", "--accept", "--dry-run", code=4)
    said = fleetcare("check", "--accept")
    assert said.lines == [
        "taken the file as it is for what was written", f"{some} is whole; 0 worth a look."
    ]  # fmt: skip
    assert fleetcare("check").out == said.lines[1] + "\n"


def test_a_clock_that_was_set_back_is_worth_a_look(some: Path) -> None:
    at = "'2026-07-02T08:00:00+00:00'"
    plant(some, log_row(event="'reading'", engine=1, reading=26100, at=at))
    assert fleetcare("check").lines[0] == (
        "worth a look: entry 10: was written on 2026-07-02 by the clock, after entry 9 of "
        "2026-07-18. Was the clock set back? Look at the days of both"
    )


def test_a_log_written_ahead_beside_the_file_is_named_while_another_program_keeps_it(
    some: Path,
) -> None:
    other = sqlite3.connect(some, isolation_level=None)
    other.execute("pragma journal_mode = wal")
    other.execute("select * from log").fetchall()
    said = fleetcare("check", code=4).err
    other.close()
    assert "keeps what was written last in a file beside it (-wal)" in said
    assert "Close the other program" in said
    assert "is whole" in fleetcare("check").out


def test_a_kept_plan_with_an_engine_that_is_gone_is_named(some: Path) -> None:
    job = PlannedJob("plugs", Fraction(1), 0, 0, False, 20)
    visits = tuple(Visit(name, "Lapwing", (), 20, (job,)) for name in ("Plover", "Teal"))
    day = date(2026, 7, 20).toordinal()
    plan = Plan(day, day, (ServiceDay(day, "", 40, 360, visits),), (), (), 0, None, None, "")
    with FleetFile(some) as file, file.writing() as connection:
        keep_plan(connection, day, as_text(plan))
    said = fleetcare("check", code=1).err
    assert said == (
        'fleetcare: check: kept plan: has a visit of "Teal", which is not in the fleet. '
        "fleetcare plan --fix makes it anew\n"
    )


def test_the_finds_come_as_rows_too(some: Path) -> None:
    item: Plant = ROWS["a meter that falls"]
    item.put(some)
    said = fleetcare("check", "--format", "json", code=1)
    found = json.loads(said.out)
    assert found["fleetcare"] == 1
    assert found["as_of"] == str(date(2026, 7, 18))
    (row,) = found["rows"]
    assert row["kind"] == "wrong"
    assert row["where"] == 'engine "Plover"'
    assert row["what"].startswith("reads 255.0 on 2026-07-01")
    assert row["mend"].startswith("A slip now")
    FILE["a lost guard"].put(some)
    said = fleetcare("check", "--mend", "--dry-run", "--format", "ndjson", code=4)
    assert all(json.loads(line)["kind"] == "wrong" for line in said.lines)
    assert said.err == "would have made the guard log_no_delete anew\n"
    text = fleetcare("check", "--format", "csv", code=4).out
    assert text.splitlines()[0] == "kind,where,what,mend"
