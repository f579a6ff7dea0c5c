"""fleetcare board: written to a file or stdout, or kept up to date in a folder."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from freezegun import freeze_time

from fleetcare.cli.board_watch import LOOKS, Keeper, keep, kept
from fleetcare.cli.context import Desk
from fleetcare.errors import BusyError, UnusableFileError
from tests.cli.typed import ROOT, TODAY, fleetcare, refused

PATIENCE = 60  # seconds until a test that waits for an answer gives up


# ---- written once


def test_the_board_is_written_beside_and_says_so(small: Path) -> None:
    said = fleetcare("board")
    content = Path("board.html").read_bytes()
    assert content.startswith(b"<!doctype html>")
    assert said.out == f"board.html: board of {TODAY}, {len(content)} bytes.\n"
    assert (
        fleetcare("board").out
        == f"board.html: board of {TODAY}, {len(content)} bytes, unchanged.\n"
    )
    assert sorted(path.name for path in Path().iterdir()) == ["board.html", "fleet.db"]


def test_a_dash_writes_the_same_page_to_stdout(small: Path) -> None:
    fleetcare("board", "--html", "x/wall.html")
    assert fleetcare("board", "--html", "-").out == Path("x/wall.html").read_text(encoding="utf-8")


def test_the_board_of_another_day_is_of_that_day(small: Path) -> None:
    text = fleetcare("board", "--html", "-", "--as-of", "2026-05-01").out
    assert 'data-iso="2026-05-01"' in text
    assert "Board of Fri 1 May 2026" in text


def test_without_a_fleet_the_board_is_refused(fleet: Path) -> None:
    assert "no fleet yet" in refused(fleet, "board")
    assert not Path("board.html").exists()


def test_a_place_that_cannot_be_written_is_left_as_it_is(small: Path) -> None:
    Path("board.html").mkdir()
    assert "board.html cannot be written" in refused(small, "board", code=4)
    assert sorted(path.name for path in Path().iterdir()) == ["board.html", "fleet.db"]


def test_a_file_and_a_folder_to_watch_are_one_too_many(small: Path) -> None:
    said = fleetcare("board", "--html", "x.html", "--watch", "y", code=2)
    assert "give either --html or --watch" in said.err


# ---- kept up to date


class Told:
    """A keeper with what it is told and what it says in lists."""

    def __init__(self, marks: list[object]) -> None:
        self.said: list[str] = []
        self.made = 0
        self.trouble: Exception | None = None
        self.keeper = Keeper(lambda: _raised(marks.pop(0)), self.publish, self.said.append)

    def publish(self) -> str:
        self.made += 1
        if self.trouble is not None:
            raise self.trouble
        return f"made {self.made}"


def _raised(mark: object) -> object:
    if isinstance(mark, Exception):
        raise mark
    return mark


def test_a_page_is_made_again_only_when_something_changed() -> None:
    told = Told([1, 1, 1, 2, 2])
    told.keeper.begin()
    assert [told.keeper.look() for _ in range(4)] == [False, False, True, False]
    assert told.said == ["made 1", "made 2"]


def test_what_keeps_it_from_being_made_is_told_once_and_tried_again_on_a_change() -> None:
    told = Told([1, 2, 2, 3, 4, 4])
    told.keeper.begin()
    told.trouble = UnusableFileError("the disk is full")
    assert [told.keeper.look() for _ in range(3)] == [False] * 3
    assert told.made == 3  # once for 2, not again for 2, once for 3
    told.trouble = None
    assert [told.keeper.look() for _ in range(2)] == [True, False]
    assert told.said == ["made 1", "the board stays as it is: the disk is full", "made 4"]


def test_what_failed_is_tried_again_after_a_while_though_nothing_changed() -> None:
    told = Told([1, *[2] * (LOOKS + 1)])
    told.keeper.begin()
    told.trouble = UnusableFileError("the disk is full")
    told.keeper.look()
    told.trouble = None
    looks = [told.keeper.look() for _ in range(LOOKS)]
    assert looks == [False] * (LOOKS - 1) + [True]


def test_a_file_that_is_busy_or_away_for_a_moment_ends_nothing() -> None:
    told = Told([1, BusyError("busy"), BusyError("busy"), UnusableFileError("gone"), 2])
    told.keeper.begin()
    assert [told.keeper.look() for _ in range(4)] == [False, False, False, True]
    said = ["made 1", "the board stays as it is: busy", "the board stays as it is: gone", "made 2"]
    assert told.said == said


def test_what_keeps_the_first_page_from_being_made_is_raised() -> None:
    told = Told([1])
    told.trouble = UnusableFileError("no such place")
    with pytest.raises(UnusableFileError):
        told.keeper.begin()


def test_looking_goes_on_until_the_waiting_ends_it() -> None:
    told = Told([1, 2, 2, 3])
    told.keeper.begin()
    waits = iter([False, False, True])
    keep(told.keeper, lambda: next(waits))
    assert told.said == ["made 1", "made 2", "made 3"]


@pytest.fixture
def keeper(small: Path) -> Iterator[Keeper]:
    with kept(Desk(fleet=str(small)), Path("wall/board.html"), None) as one:
        one.begin()
        yield one


def test_an_entry_turns_the_board_and_publishing_does_not(keeper: Keeper, small: Path) -> None:
    assert [keeper.look() for _ in range(3)] == [False] * 3
    before = Path("wall/board.html").read_text(encoding="utf-8")
    fleetcare("found", "Plover", "tell-tale", "weak", "--on", TODAY)
    assert keeper.look() is True
    after = Path("wall/board.html").read_text(encoding="utf-8")
    assert "No engine is held." in before
    assert "tell-tale weak, 18 Jul" in after
    assert keeper.look() is False
    assert [path.name for path in Path("wall").iterdir()] == ["board.html"]


def test_the_board_turns_with_the_day(keeper: Keeper, small: Path) -> None:
    with freeze_time("2026-07-19 00:00:05"):
        assert [keeper.look(), keeper.look()] == [True, False]
    assert 'data-iso="2026-07-19"' in Path("wall/board.html").read_text(encoding="utf-8")


def test_a_board_of_a_given_day_does_not_turn(small: Path) -> None:
    with kept(Desk(fleet=str(small)), Path("board.html"), date(2026, 7, 1)) as one:
        one.begin()
        with freeze_time("2026-07-19 00:00:05"):
            assert one.look() is False


def test_a_rule_file_of_ones_own_turns_the_board_and_a_bad_one_leaves_it(
    keeper: Keeper, small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = small.parent / "intervals" / "small-petrol.toml"
    own.parent.mkdir()
    before = Path("wall/board.html").read_bytes()
    own.write_text("this is no rule set", encoding="utf-8")
    assert keeper.look() is False
    assert "the board stays as it is: " in capsys.readouterr().out
    assert Path("wall/board.html").read_bytes() == before
    own.unlink()
    assert keeper.look() is False  # as it was when the page was made


def test_a_page_that_cannot_be_put_in_place_leaves_the_old_one_whole(
    keeper: Keeper, small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = Path("wall/board.html").read_bytes()
    fleetcare("reading", "Plover", "260", "--on", TODAY)

    def no_room(self: Path, target: Path) -> Path:
        assert target.read_bytes() == before  # the new one is made beside it
        assert self.read_bytes() != before
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", no_room)
        assert keeper.look() is False
    assert Path("wall/board.html").read_bytes() == before
    assert [path.name for path in Path("wall").iterdir()] == ["board.html"]
    fleetcare("reading", "Plover", "261", "--on", TODAY)
    assert keeper.look() is True


def test_ctrl_c_ends_it_cleanly_and_the_last_board_stays(small: Path) -> None:
    words = ["board", "--watch", "wall", "--fleet", str(small), "--as-of", TODAY]
    program = subprocess.Popen(
        [sys.executable, "-m", "fleetcare", *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert program.stdout is not None
    said = f"{Path('wall/board.html')}: board of {TODAY}.\n"
    assert program.stdout.readline() == said
    fleetcare("reading", "Plover", "260", "--on", TODAY)
    assert program.stdout.readline() == said
    assert "260" in Path("wall/board.html").read_text(encoding="utf-8")
    program.send_signal(signal.SIGINT)
    out, err = program.communicate(timeout=PATIENCE)
    assert (out, err, program.returncode) == ("stopped\n", "", 0)
    assert [path.name for path in Path("wall").iterdir()] == ["board.html"]
