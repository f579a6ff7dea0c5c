"""Whichever call the disk fails at, nothing acknowledged is lost and nothing is half there.

Every write, sync, truncation, deletion, renaming and letting go of a lock of real commands is a
point at which the program is killed (SIGKILL) or the disk fails, see faulty/. A few of them are
tried here, spread over all sorts; `python -m tests.trials faults --full` tries them all.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest

from tests.store.faulty.disk import KILL, KINDS, Disk, can_fail
from tests.store.faulty.scenes import SCENES, Scene, Stage, failures, few, state

A_SCENE = 6  # points


@pytest.fixture(scope="module")
def disk() -> Iterator[Disk]:
    if not can_fail():
        if os.environ.get("CI") == "true":
            pytest.fail("a C compiler is needed (tests/debian.txt)")
        pytest.skip("needs Linux and a C compiler (tests/debian.txt)")
    with Disk() as disk:
        yield disk


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
def test_whichever_call_fails_all_is_kept_or_nothing_and_it_goes_on(
    scene: Scene, disk: Disk
) -> None:
    stage = Stage(scene, disk)
    points = few(stage, A_SCENE)
    assert len(points) == A_SCENE
    assert failures(stage, points) == []


NAMES = ("link", "rename", "delete")


@pytest.mark.parametrize("command", ["restore", "backup", "new"])
def test_killed_between_two_names_there_is_a_whole_file_under_each(
    command: str, disk: Disk
) -> None:
    for scene in SCENES:
        if scene.command == command:
            stage = Stage(scene, disk)
            points = [
                (at, call, "killed before")
                for at, call in enumerate(stage.said.calls, 1)
                if call.split()[0] in NAMES and not call.endswith("-journal")
            ]
            assert len(points) >= 2
            assert failures(stage, points) == []


def test_the_faults_are_real(disk: Disk) -> None:
    """Each of them is seen by the program, or by what it leaves behind."""
    stage = Stage(SCENES[0], disk)
    calls = stage.said.calls
    journal = calls.index("write fleet.db-journal") + 1
    page = calls.index("write fleet.db") + 1
    assert {call.split()[0] for call in calls} >= {"write", "sync", "delete", "unlock", "create"}

    killed = stage.fail(page, "killed before")
    assert killed.code == -9
    assert len(killed.calls) == page
    for kind, words in (
        ("input/output error", "the disk fails (disk I/O error)"),
        ("disk gone", "the disk fails"),
        ("disk full", "the disk is full; nothing of this was kept"),
        ("read-only", "the disk fails"),
    ):
        said = stage.fail(journal, kind)
        assert said.code == 4, kind
        assert words in said.err, said
    assert stage.fail(journal, "short write").calls != calls  # the rest was written after it


def test_a_kill_between_two_pages_leaves_work_that_the_next_opening_does(disk: Disk) -> None:
    stage = Stage(SCENES[0], disk)
    second = [at for at, call in enumerate(stage.said.calls, 1) if call == "write fleet.db"][1]
    place = stage.point
    shutil.copytree(stage.start, place)
    disk.type(place, *stage.scene.words, at=second, kind=KILL)
    assert (place / "fleet.db-journal").exists()
    assert (place / "fleet.db").read_bytes() != (stage.start / "fleet.db").read_bytes()
    assert state(place / "fleet.db") == stage.states[0]
    assert not (place / "fleet.db-journal").exists()


def test_a_file_that_loses_what_was_acknowledged_would_be_seen(disk: Disk) -> None:
    """The looks at what is kept are tried on a file that was taken back behind their back."""
    stage = Stage(SCENES[0], disk)
    stage.point.mkdir()
    (stage.point / "fleet.db").write_bytes((stage.start / "fleet.db").read_bytes())
    with pytest.raises(AssertionError, match="lost"):
        stage.kept(stage.said)
    data = bytearray((stage.end / "fleet.db").read_bytes())
    data[4096 * 6 : 4096 * 7] = bytes(4096)
    (stage.point / "fleet.db").write_bytes(data)
    with pytest.raises((AssertionError, Exception)):
        stage.kept(stage.said)


def test_every_kind_of_fault_is_tried(disk: Disk) -> None:
    stage = Stage(SCENES[0], disk)
    assert {kind for _, _, kind in stage.points()} == set(KINDS)
    assert len(list(stage.points())) > 200
