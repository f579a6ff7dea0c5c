"""Putting a copy back: nothing is overwritten without the word, nothing is lost on the way."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from fleetcare.errors import BusyError, RefusedError, UnusableFileError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.waters import Water
from fleetcare.store import restore as putting_back
from fleetcare.store.append import add_boat, set_fleet_id, set_value
from fleetcare.store.backup import back_up
from fleetcare.store.file import connect, journal_of
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.restore import restore
from fleetcare.store.sent import SentRow, fetch_sent, keep_sent
from tests.store.small_file import AT, add, digest, entries_in, make, may, reads

SENT: list[SentRow] = [
    ("one", may(4).toordinal(), "Plover: plugs, due 4 May", "due", 3, AT, '["12 days left"]', "b"),
]  # fmt: skip


def copy_of(path: Path, target: Path) -> int:
    with FleetFile(path) as file:
        return back_up(file.connection, target)


@pytest.fixture
def later(tmp_path: Path) -> Path:
    """The fleet file after more was written than its copy.db holds."""
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101), reads(3, 102.5))
        add(file, reads(4, 110, engine="Teal"))
        with file.writing() as connection:
            keep_sent(connection, SENT)
    copy_of(path, path.with_name("copy.db"))
    with FleetFile(path) as file:
        add(file, reads(9, 120))
    return path


def test_a_copy_is_not_put_over_a_file_without_the_word(later: Path) -> None:
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(RefusedError, match="--overwrite"):
        restore(later.with_name("copy.db"), later, overwrite=False)
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


def test_with_the_word_the_copy_is_in_its_place_and_the_old_file_beside(later: Path) -> None:
    before = digest(later)
    assert restore(later.with_name("copy.db"), later, overwrite=True).entries == 3
    with FleetFile(later) as file:
        assert [item.number for item in file.log()] == [1, 2, 3]
        assert fetch_sent(file.connection) == SENT
        assert add(file, reads(9, 130)) == [4]
    assert digest(later.with_name("fleet.db.before-restore")) == before
    assert restore(later.with_name("copy.db"), later, overwrite=True).entries == 3
    assert restore(later.with_name("copy.db"), later, overwrite=True).entries == 3
    names = sorted(item.name for item in later.parent.iterdir())
    aside = ["fleet.db.before-restore", "fleet.db.before-restore-2", "fleet.db.before-restore-3"]
    assert names == ["copy.db", "fleet.db", *aside]
    assert digest(later.with_name(aside[0])) == before
    assert entries_in(later.with_name(aside[1])) == 4


def test_a_copy_put_where_there_is_no_file_needs_no_word(later: Path) -> None:
    later.unlink()
    assert restore(later.with_name("copy.db"), later, overwrite=False).entries == 3
    with FleetFile(later) as file:
        assert len(file.log()) == 3
    names = sorted(item.name for item in later.parent.iterdir())
    assert names == ["copy.db", "fleet.db"]


@pytest.mark.parametrize("spoiled", [b"", b"no fleet file at all, just text", "half"])
def test_a_copy_that_is_no_good_leaves_the_fleet_file_in_its_place(
    later: Path, spoiled: bytes | str
) -> None:
    copy = later.with_name("copy.db")
    whole = copy.read_bytes()
    copy.write_bytes(whole[: len(whole) // 2] if isinstance(spoiled, str) else spoiled)
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(UnusableFileError):
        restore(copy, later, overwrite=True)
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


def test_a_copy_that_is_not_there_or_is_the_file_itself_is_refused(later: Path) -> None:
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(RefusedError, match="does not exist"):
        restore(later.with_name("typo.db"), later, overwrite=True)
    with pytest.raises(RefusedError, match="is the fleet file itself"):
        restore(later, later, overwrite=True)
    link = later.with_name("link.db")
    link.symlink_to(later)
    with pytest.raises(RefusedError, match="is the fleet file itself"):
        restore(link, later, overwrite=True)
    link.unlink()
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


@pytest.mark.parametrize("there", [True, False])
def test_a_journal_that_cannot_be_healed_goes_aside_and_not_into_the_copy(
    later: Path, there: bool
) -> None:
    """It belongs to the file that was there, and whoever wants to heal that one needs it."""
    journal_of(later).write_bytes(b"what is left")
    if there:
        later.write_bytes(b"spoiled" * 100)
    else:
        later.unlink()
    restore(later.with_name("copy.db"), later, overwrite=True)
    assert not journal_of(later).exists()
    aside = later.with_name("fleet.db.before-restore")
    assert aside.exists() == there
    assert journal_of(aside).read_bytes() == b"what is left"
    with FleetFile(later) as file:
        assert len(file.log()) == 3


def test_a_damaged_fleet_file_can_be_replaced_by_its_copy(later: Path) -> None:
    later.write_bytes(b"\x00" * 100)
    assert restore(later.with_name("copy.db"), later, overwrite=True).entries == 3
    with FleetFile(later) as file:
        assert len(file.log()) == 3


# -- what is said of it ------------------------------------------------------------------------


def test_it_says_what_day_the_copy_is_from_and_how_much_was_written_since(later: Path) -> None:
    with FleetFile(later) as file:
        add(file, reads(10, 121), reads(11, 122))
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert (done.entries, done.written) == (3, AT)
    assert done.since is not None
    assert (done.since.entries, done.since.others, done.since.another_fleet) == (3, (), False)
    assert done.aside == later.with_name("fleet.db.before-restore")
    assert entries_in(done.aside) == 6


def test_entries_that_each_wrote_alone_count_though_their_numbers_are_the_same(
    later: Path,
) -> None:
    """Two computers went on from one copy: entry 4 of the one is not entry 4 of the other."""
    other = later.with_name("other.db")
    other.write_bytes(later.with_name("copy.db").read_bytes())
    with FleetFile(other) as file:
        assert add(file, reads(7, 116)) == [4]
    done = restore(other, later, overwrite=True)
    assert done.since is not None
    assert (done.entries, done.since.entries) == (4, 1)


def test_boats_and_settings_changed_since_are_told_too(later: Path) -> None:
    with FleetFile(later) as file, file.writing() as connection:
        add_boat(connection, Boat("Dunlin", "hire", Water.FRESH, may(1)))
        set_value(connection, "by", "jetty")
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert done.since is not None
    assert done.since.others == ("settings", "boats")


def test_nothing_written_since_is_told_as_nothing(later: Path) -> None:
    restore(later.with_name("copy.db"), later, overwrite=True)
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert done.since is not None
    assert (done.since.entries, done.since.others) == (0, ())


def test_another_fleet_is_told_as_such(later: Path) -> None:
    with FleetFile(later) as file, file.writing() as connection:
        set_fleet_id(connection, "6f1c9d1e-0000-4000-8000-000000000001")
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert done.since is not None
    assert done.since.another_fleet


def test_of_a_file_that_cannot_be_read_it_is_not_said_what_it_held(later: Path) -> None:
    later.write_bytes(b"\x00" * 100)
    assert restore(later.with_name("copy.db"), later, overwrite=True).since is None


def test_a_dry_run_says_the_same_and_changes_nothing(later: Path) -> None:
    before, listing = digest(later), sorted(later.parent.iterdir())
    tried = restore(later.with_name("copy.db"), later, overwrite=True, keep=False)
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing
    assert restore(later.with_name("copy.db"), later, overwrite=True) == tried


# -- beside others, and on other disks ---------------------------------------------------------


def test_a_file_in_use_is_not_replaced_under_its_writer(
    later: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(putting_back, "connect", lambda path, mode: connect(path, mode, 0))
    before, listing = digest(later), sorted(later.parent.iterdir())
    writer = sqlite3.connect(later, isolation_level=None)
    writer.execute("begin immediate")
    with pytest.raises(BusyError, match="in use by another program"):
        restore(later.with_name("copy.db"), later, overwrite=True)
    writer.execute("rollback")
    writer.close()
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


def test_a_program_that_had_the_old_file_open_writes_into_neither(later: Path) -> None:
    with FleetFile(later) as file:
        restore(later.with_name("copy.db"), later, overwrite=True)
        after = digest(later)
        with pytest.raises(UnusableFileError, match=r"a copy was put in its place.* Try again"):
            add(file, reads(10, 125))
    assert digest(later) == after
    assert entries_in(later.with_name("fleet.db.before-restore")) == 4
    assert not journal_of(later).exists()


def test_an_unfinished_write_is_taken_back_before_the_file_goes_aside(later: Path) -> None:
    """Its journal would else be played into the copy, or be missing from the file it belongs to."""
    killed = os.fork()
    if killed == 0:  # pragma: no cover  # the child ends in the middle of a write
        connection = sqlite3.connect(later, isolation_level=None)
        connection.execute("pragma cache_size = 2")
        connection.execute("begin immediate")
        connection.execute("update boat set place = 'half'")
        connection.executemany(
            "insert into log (id, act, at, day, event) values (?, 5, '', 1, 'x')",
            [(number,) for number in range(5, 2000)],
        )
        os._exit(0)
    os.waitpid(killed, 0)
    assert journal_of(later).exists()
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert not journal_of(later).exists()
    assert done.aside is not None and not journal_of(done.aside).exists()
    assert entries_in(done.aside) == 4
    assert entries_in(later) == 3
    assert done.since is not None and done.since.entries == 1


@pytest.mark.parametrize("readable", [True, False])
def test_on_a_disk_without_second_names_the_old_file_is_copied_aside(
    later: Path, readable: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*args: object, **more: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    if not readable:
        later.write_bytes(b"spoiled" * 100)
    before = later.read_bytes()
    monkeypatch.setattr(os, "link", no_links)
    done = restore(later.with_name("copy.db"), later, overwrite=True)
    assert done.aside is not None
    if readable:
        assert entries_in(done.aside) == 4
    else:
        assert done.aside.read_bytes() == before
    assert entries_in(later) == 3
    names = sorted(item.name for item in later.parent.iterdir())
    assert names == ["copy.db", "fleet.db", "fleet.db.before-restore"]


@pytest.mark.parametrize("taken", [True, False])
def test_a_switch_that_fails_leaves_every_file_as_it_was(
    later: Path, taken: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also one that took the name meanwhile under which the old file would be kept."""
    before = digest(later)
    link, aside = os.link, later.with_name("fleet.db.before-restore")

    def linked(path: Path, other: Path) -> None:
        if taken:
            other.write_bytes(b"theirs")
        link(path, other)

    def fails(self: Path, other: Path) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "link", linked)
    monkeypatch.setattr(Path, "replace", fails)
    with pytest.raises(UnusableFileError, match="cannot be written: "):
        restore(later.with_name("copy.db"), later, overwrite=True)
    assert digest(later) == before
    names = sorted(item.name for item in later.parent.iterdir())
    assert names == ["copy.db", "fleet.db", *([aside.name] if taken else [])]
    assert not taken or aside.read_bytes() == b"theirs"


def test_the_copy_itself_is_left_as_it_is_even_where_it_cannot_be_written(later: Path) -> None:
    copy = later.with_name("copy.db")
    copy.chmod(0o400)
    before = digest(copy)
    assert restore(copy, later, overwrite=True).entries == 3
    assert digest(copy) == before


def test_a_folder_is_not_replaced(later: Path, tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(UnusableFileError, match="is a folder"):
        restore(later.with_name("copy.db"), folder, overwrite=True)


# -- who may read it ---------------------------------------------------------------------------


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o644, 0o660])
def test_the_file_keeps_the_mode_of_the_one_whose_place_it_takes(later: Path, mode: int) -> None:
    later.chmod(mode)
    later.with_name("copy.db").chmod(0o644)
    restore(later.with_name("copy.db"), later, overwrite=True)
    assert later.stat().st_mode & 0o777 == mode


@pytest.mark.parametrize("umask", [0, 0o022, 0o777])
def test_where_there_was_none_it_is_its_owners_alone_whatever_the_umask(
    later: Path, umask: int
) -> None:
    later.unlink()
    later.with_name("copy.db").chmod(0o644)
    before = os.umask(umask)
    try:
        restore(later.with_name("copy.db"), later, overwrite=False)
    finally:
        os.umask(before)
    assert later.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name == "nt" or os.getuid() != 0, reason="only root gives files away")
def test_root_leaves_the_file_to_its_owner(later: Path) -> None:
    os.chown(later, 1234, 1234)
    restore(later.with_name("copy.db"), later, overwrite=True)
    assert (later.stat().st_uid, later.stat().st_gid) == (1234, 1234)
