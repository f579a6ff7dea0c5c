"""Whether a fleet file changed, as a long-lived program sees it."""

from __future__ import annotations

import os
import shutil
import threading
from pathlib import Path

import pytest

from fleetcare.errors import UnusableFileError
from fleetcare.store.append import set_value
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.subscribers import add_subscriber, drop_subscriber
from fleetcare.store.watch import Watch


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with FleetFile.make(tmp_path / "fleet.db") as file:
        return file.path


def set_money(path: Path, value: str) -> None:
    with FleetFile(path) as file, file.writing() as connection:
        set_value(connection, "money", value)


def test_the_mark_stays_while_nobody_writes(path: Path) -> None:
    watch = Watch(path)
    assert len({watch.mark() for _ in range(5)}) == 1
    with FleetFile(path) as file:
        file.fleet()
        file.history()
    with FleetFile(path) as file, file.writing(keep=False) as connection:
        set_value(connection, "money", "kr")
    first = watch.mark()
    assert watch.mark() == first == Watch(path).mark()
    watch.close()
    assert watch.mark() == first
    watch.close()


def test_every_commit_gives_another_mark_even_within_one_tick(path: Path) -> None:
    watch = Watch(path)
    marks = {watch.mark()}
    for value in ("a", "b", "c", "d"):
        before = path.stat()
        set_money(path, value)
        # size and time as they were: what a slow clock would show
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
        marks.add(watch.mark())
    assert len(marks) == 5
    watch.close()


def test_a_subscriber_who_is_dropped_gives_another_mark(path: Path) -> None:
    watch = Watch(path)
    marks = [watch.mark()]
    with FleetFile(path) as file, file.writing() as connection:
        add_subscriber(connection, ("jetty", "fleet", "", "0" * 64, "2031-05-01T00:00:00+00:00"))
    marks.append(watch.mark())
    with FleetFile(path) as file, file.writing() as connection:
        drop_subscriber(connection, "jetty")
    marks.append(watch.mark())
    assert marks[0] == marks[2] != marks[1]
    watch.close()


def test_what_feeds_remember_of_themselves_is_no_change(path: Path) -> None:
    watch = Watch(path)
    before = watch.mark()
    with FleetFile(path) as file, file.writing() as connection:
        connection.execute(
            "insert into sent (uid, day, title, status, sequence, changed) "
            "values ('u', 1, 't', 's', 0, 'now')"
        )
    assert watch.mark() == before
    watch.close()


def test_a_file_put_in_its_place_is_seen(path: Path, tmp_path: Path) -> None:
    watch = Watch(path)
    before = watch.mark()
    shutil.copy(path, tmp_path / "copy.db")
    set_money(tmp_path / "copy.db", "kr")
    (tmp_path / "copy.db").replace(path)
    after = watch.mark()
    assert after != before
    set_money(path, "€")
    assert watch.mark() not in (before, after)
    watch.close()


def test_a_file_that_went_is_said_and_found_again(path: Path, tmp_path: Path) -> None:
    watch = Watch(path)
    before = watch.mark()
    path.rename(tmp_path / "away.db")
    with pytest.raises(UnusableFileError, match=r"fleet\.db has gone"):
        watch.mark()
    (tmp_path / "away.db").rename(path)
    assert watch.mark() == before
    watch.close()


def test_it_may_be_asked_from_one_thread_after_another(path: Path) -> None:
    watch = Watch(path)
    marks = [watch.mark()]
    for _ in range(3):
        thread = threading.Thread(target=lambda: marks.append(watch.mark()))
        thread.start()
        thread.join()
    assert marks == [marks[0]] * 4
    watch.close()


def test_watching_keeps_nobody_from_writing(path: Path) -> None:
    watch = Watch(path)
    watch.mark()
    with FleetFile(path) as file:
        file.connection.execute("pragma busy_timeout = 0")
        with file.writing() as connection:
            set_value(connection, "money", "kr")
    watch.close()
