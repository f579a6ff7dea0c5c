"""A safe copy and putting it back, as typed: its day, what is missing, how to bring that back."""

from __future__ import annotations

from pathlib import Path

from freezegun import freeze_time

from tests.cli.typed import fleetcare, one_line, refused, rows, written


def test_a_copy_is_read_back_and_said_to_be_whole(small: Path) -> None:
    assert fleetcare("backup", "copy.db").out == "copy.db: 2 entries, read back and whole.\n"


def test_a_copy_put_back_says_its_day_what_is_missing_and_how_to_bring_that_back(
    small: Path,
) -> None:
    fleetcare("backup", "copy.db")
    before = written(small)
    with freeze_time("2026-07-20 09:00:00"):
        fleetcare("reading", "Plover", 260)
        fleetcare("done", "Plover", "plugs")
        assert "--overwrite" in one_line(refused(small, "restore", "copy.db"))
        after, due = written(small), rows("due")
        said = fleetcare("restore", "copy.db", "--overwrite").lines
        aside = f"{small}.before-restore"
        assert said == [
            f"{small}: 2 entries, as they were in copy.db; the last was written on 2026-07-18, "
            f"2 days ago.",
            f"The file that was there is kept as {aside}. 2 entries in it are not in the copy.",
            f"To bring that back: fleetcare export DIR --fleet {aside}, then fleetcare import DIR, "
            f"which adds what is not there.",
        ]
        assert written(small) == before
        fleetcare("export", "tables", "--fleet", aside)
        fleetcare("import", "tables")
        assert rows("due") == due
        assert [row[3:] for row in written(small)["log"]] == [row[3:] for row in after["log"]]


def test_what_was_taken_back_since_the_copy_is_told_since_no_table_brings_that_along(
    small: Path,
) -> None:
    fleetcare("reading", "Plover", 260)
    fleetcare("backup", "copy.db")
    fleetcare("undo")
    said = fleetcare("restore", "copy.db", "--overwrite").lines
    assert said[3] == (
        "Taken back since, and in the copy not: 3. That no table brings along: fleetcare undo 3 "
        "takes it back again."
    )
    fleetcare("export", "tables", "--fleet", f"{small}.before-restore")
    assert "took nothing" in fleetcare("import", "tables").out
    fleetcare("undo", 3)
    assert "Taken back" not in fleetcare("restore", "copy.db", "--overwrite", "--dry-run").lines[1]
    # and the other way round: what was taken back before the copy is so in both
    fleetcare("backup", "later.db")
    fleetcare("reading", "Plover", 261)
    assert len(fleetcare("restore", "later.db", "--overwrite").lines) == 3


def test_a_name_with_a_space_is_told_as_it_must_be_typed(small: Path, tmp_path: Path) -> None:
    place = tmp_path / "my fleet.db"
    fleetcare("backup", place)
    fleetcare("backup", "copy.db", "--fleet", place)
    fleetcare("reading", "Plover", 260, "--fleet", place)
    said = fleetcare("restore", "copy.db", "--overwrite", "--fleet", place).lines
    assert f'fleetcare export DIR --fleet "{place}.before-restore", then' in said[2]


def test_on_a_new_computer_it_says_to_write_down_again_what_happened_since(small: Path) -> None:
    fleetcare("backup", "copy.db")
    small.unlink()
    assert fleetcare("restore", "copy.db").lines == [
        f"{small}: 2 entries, as they were in copy.db; the last was written on 2026-07-18, today.",
        "What was written after that is not in it: write it down again.",
    ]


def test_a_copy_of_another_fleet_and_a_file_beyond_reading_are_said_to_be_such(
    small: Path, tmp_path: Path
) -> None:
    fleetcare("new", "--fleet", tmp_path / "other.db")
    fleetcare("backup", "copy.db", "--fleet", tmp_path / "other.db")
    said = fleetcare("restore", "copy.db", "--overwrite").lines
    assert said[0] == f"{small}: 0 entries, as they were in copy.db; it holds no entry yet."
    assert said[1:] == [f"The file that was there is kept as {small}.before-restore. It is another "
                        f"fleet's."]  # fmt: skip
    small.write_bytes(b"spoiled")
    said = fleetcare("restore", "copy.db", "--overwrite").lines
    assert said[1].endswith("it cannot be read, so what was written since is not known.")


def test_a_dry_run_of_putting_back_changes_nothing(small: Path, tmp_path: Path) -> None:
    fleetcare("backup", "copy.db")
    fleetcare("reading", "Plover", 260)
    before, names = written(small), sorted(tmp_path.iterdir())
    said = fleetcare("restore", "copy.db", "--overwrite", "--dry-run")
    assert said.lines[0].startswith(f"{small}: would hold 2 entries, as they were in copy.db; ")
    assert "would be kept as" in said.lines[1]
    assert (written(small), sorted(tmp_path.iterdir())) == (before, names)


def test_a_copy_never_overwrites(small: Path) -> None:
    Path("copy.db").write_text("mine", encoding="utf-8")
    assert "never overwrites" in one_line(refused(small, "backup", "copy.db"))
    assert Path("copy.db").read_text(encoding="utf-8") == "mine"


def test_a_copy_of_a_file_that_was_changed_outside_is_made_and_that_is_said(small: Path) -> None:
    import sqlite3

    connection = sqlite3.connect(small)
    connection.execute("update engine set reading = 24000 where name = 'Plover'")
    connection.commit()
    connection.close()
    said = fleetcare("backup", "copy.db")
    assert said.out == "copy.db: 2 entries, read back and whole.\n"
    assert said.err.startswith("But worth a look: file: a setting, a boat, an engine, a ")


def test_a_fleet_file_that_was_renamed_is_named_where_it_is_looked_for(small: Path) -> None:
    small.rename(small.with_name("fleet 2025.db"))
    small.with_name("other.db").write_bytes(b"no fleet at all")
    for command in ("due", "check"):
        told = one_line(fleetcare(command, code=1).err)
        assert told.endswith('Was it renamed? Fleets there: "fleet 2025.db" (--fleet says which)')
    assert not small.exists()
    small.with_name("fleet 2025.db").unlink()
    assert "renamed" not in one_line(fleetcare("due", code=1).err)


def test_a_copy_that_a_sync_program_left_beside_is_named_with_what_it_holds(
    small: Path, tmp_path: Path
) -> None:
    """Two people wrote on two computers; the sync program kept both files, one under its name."""
    other = tmp_path / f"{small.stem} (conflicted copy){small.suffix}"
    fleetcare("backup", other)
    fleetcare("backup", tmp_path / f"older{small.suffix}")
    (tmp_path / f"no fleet{small.suffix}").write_bytes(b"SQLite format 3\0 and no more")
    fleetcare("reading", "Plover", 260)
    assert "worth a look: " not in fleetcare("check").out
    fleetcare("done", "Plover", "plugs", "--fleet", other)
    fleetcare("reading", "Plover", 261, "--fleet", other)
    fleetcare("undo", "--fleet", other)
    before = other.read_bytes()
    assert fleetcare("check").lines[0] == (
        f"worth a look: {other.name}: is a copy of this fleet and holds an entry that {small.name} "
        f'does not. fleetcare export DIR --fleet "{other}", then fleetcare import DIR, adds what '
        f"is not there"
    )
    assert other.read_bytes() == before
    fleetcare("export", "tables", "--fleet", other)
    fleetcare("import", "tables")
    fleetcare("engine", "rename", "Plover", "Dotterel")  # which changes what no entry says
    assert "worth a look: " not in fleetcare("check").out
