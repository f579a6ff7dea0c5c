"""What is written, and what must hold of it whichever call of it the disk fails.

A scene is a folder with a fleet file and one command. Every point of it is one run on a fresh
copy of the folder: the n-th call meets a fault, then a plain SQLite connection looks at what is
there, and the next commands are typed on a disk that is whole again.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from tests.store.faulty.disk import KINDS, ROOT, Disk, Typed

Words = tuple[str, ...]
Rows = list[tuple[object, ...]]
State = dict[str, Rows]

SMALL: tuple[Words, ...] = (
    ("new", "--hemisphere", "northern", "--rules", "small-petrol"),
    ("boat", "add", "Lapwing", "--use", "hire", "--water", "fresh", "--since", "2026-04-01"),
    ("boat", "add", "Dunlin", "--use", "hire", "--water", "salt", "--since", "2026-04-01"),
    ("engine", "add", "Plover", "--boat", "Lapwing", "--hp", "6", "--stroke", "4",
     "--since", "2026-04-01", "--reading", "250", "--last", "impeller=2026-03-20@250"),
    ("engine", "add", "Knot", "--boat", "Dunlin", "--hp", "6", "--stroke", "4",
     "--since", "2026-04-01", "--no-meter"),
    ("reading", "Plover", "255", "--on", "2026-05-01"),
    ("run", "Knot", "3", "--on", "2026-05-01"),
)  # fmt: skip
UNREAD = "kept as fleet.db.before-restore; it cannot be read"  # so that no more is said of it
CLEANS_NOTHING = ("disk gone", "read-only")  # so that files half made stay
ANOTHER: Words = ("incident", "Knot", "grounded", "--on", "2026-07-01")


@dataclass(frozen=True)
class Scene:
    """A command, and what is typed before it in an empty folder."""

    name: str
    words: Words
    before: tuple[Words, ...] = SMALL
    makes: str = ""  # a file that the command makes; whole or not there
    drops: Words = ()  # deleted before the command
    files: tuple[tuple[str, str], ...] = ()  # put there at first: name, and where from

    @property
    def command(self) -> str:
        return self.words[0]


SCENES = (
    Scene("a reading", ("reading", "Plover", "260")),
    Scene("two jobs with a finding", ("done", "Plover", "impeller", "gear oil", "--found",
                                      "supple", "--reading", "262")),
    Scene("a withdrawal", ("undo", "2")),
    Scene("a renamed engine", ("engine", "rename", "Plover", "Smew")),
    Scene("a setting", ("settings", "by", "jetty")),
    Scene("an import", ("import", str(ROOT / "examples" / "pim"))),
    Scene("a list that keeps what the forecast learned", ("due",)),
    Scene("a file of the first version brought up to date", ("log",), before=(), files=(
        ("fleet.db", "tests/store/files/version_1.db"),
        ("intervals/steady.toml", "tests/store/files/steady.toml"),
    )),
    Scene("a feed", ("feed", "write", "fleet.ics"), makes="fleet.ics"),
    Scene("tables", ("export", "tables"), makes="tables/log.csv"),
    Scene("a new fleet", ("new", "--by", "jetty"), before=()),
    Scene("a copy", ("backup", "copy.db"), makes="copy.db"),
    Scene("a copy put back", ("restore", "copy.db", "--overwrite"),
          before=(*SMALL, ("backup", "copy.db"), ("reading", "Plover", "258"))),
    Scene("a copy put where nothing is", ("restore", "copy.db"),
          before=(*SMALL, ("backup", "copy.db")), drops=("fleet.db",)),
)  # fmt: skip


def state(path: Path) -> State | None:
    """Every row of every table by a plain connection, once it is sure that the file is whole."""
    if not path.exists():
        return None
    connection = sqlite3.connect(path)
    try:
        verdict = connection.execute("pragma integrity_check").fetchall()
        assert verdict == [("ok",)], f"{path}: {verdict}"
        names = [
            name
            for (name,) in connection.execute(
                "select name from sqlite_master where type = 'table' order by name"
            )
        ]
        found = {
            name: sorted(connection.execute(f"select * from {name}").fetchall(), key=repr)
            for name in names
        }
    finally:
        connection.close()
    found.pop("_sqlite_migrations", None)  # when each was applied
    if "setting" in found:  # an id is drawn anew for each new fleet, and the seal holds it too
        found["setting"] = [row for row in found["setting"] if row[0] not in ("fleet_id", "seal")]
    return found


def facts(found: State | None) -> State | None:
    """A state without what the forecast learned, which can be thrown away at any time."""
    return found and {name: rows for name, rows in found.items() if name != "fit"}


def fits(found: State | None) -> Rows:
    return [] if found is None else found.get("fit", [])


def prepared(disk: Disk, commands: tuple[Words, ...]) -> Path:
    """The folder that these commands make of an empty one, made once."""
    place = disk.scratch / f"prepared-{abs(hash(commands))}"
    if not place.exists():
        if commands:
            shutil.copytree(prepared(disk, commands[:-1]), place)
            said = disk.type(place, *commands[-1])
            assert said.code == 0, said
        else:
            place.mkdir()
    return place


class Stage:
    """A scene made ready: its folder before, and what it comes to when nothing fails."""

    def __init__(self, scene: Scene, disk: Disk) -> None:
        self.scene, self.disk, self.took = scene, disk, 0.0
        folder = Path(tempfile.mkdtemp(dir=disk.scratch))
        self.start, self.end, self.point = folder / "start", folder / "end", folder / "point"
        shutil.copytree(prepared(disk, scene.before), self.start)
        for name, source in scene.files:
            (self.start / name).parent.mkdir(exist_ok=True)
            shutil.copy(ROOT / source, self.start / name)
        for name in scene.drops:
            (self.start / name).unlink()
        shutil.copytree(self.start, self.end)
        self.said = disk.type(self.end, *scene.words)
        assert self.said.code == 0, self.said

    @cached_property
    def states(self) -> tuple[State | None, State | None]:
        """What the file holds before the command and after it."""
        return state(self.start / "fleet.db"), state(self.end / "fleet.db")

    def afresh(self) -> None:
        """The folder as it is before the command."""
        shutil.rmtree(self.point, ignore_errors=True)
        shutil.copytree(self.start, self.point)

    def points(self) -> Iterator[tuple[int, str, str]]:
        """Every call with its number, and every fault that could happen to it."""
        for at, call in enumerate(self.said.calls, 1):
            for kind in KINDS:
                if may_befall(kind, call):
                    yield at, call, kind

    def fail(self, at: int, kind: str) -> Typed:
        """One run in which a call meets a fault; raises AssertionError for anything lost."""
        self.afresh()
        begin = time.perf_counter()
        said = self.disk.type(self.point, *self.scene.words, at=at, kind=KINDS[kind])
        self.took = time.perf_counter() - begin
        self.told(said, kind)
        now = self.kept(said)
        self.goes_on(now)
        failing = said.calls[at - 1].split()[0] if at <= len(said.calls) else ""
        if not kind.startswith("killed") and kind not in CLEANS_NOTHING and failing != "delete":
            left = sorted({path.name for path in self.point.rglob("*")} - self.names())
            assert left == [], f"left behind: {left}"
        return said

    def told(self, said: Typed, kind: str) -> None:
        """The exit code is one of those documented, and what goes wrong is said in a sentence."""
        assert "Traceback" not in said.err, said
        if kind.startswith("killed"):
            assert said.code in (-9, 0), said
            return
        if kind == "short write":
            assert said.code == 0, said
        assert said.code in (0, 4), said
        if said.code == 4:
            lines = [line for line in said.err.splitlines() if line.startswith("fleetcare: ")]
            assert len(lines) == 1, said
            assert lines[0].startswith(f"fleetcare: {self.scene.command}: "), said
        else:
            assert said.out == self.said.out or UNREAD in said.out, said

    def kept(self, said: Typed) -> State | None:
        """The fleet file is as before the command or as after it; as after it, if it said so."""
        now, (first, last) = state(self.point / "fleet.db"), self.states
        before, after = facts(first), facts(last)
        assert facts(now) in (before, after), f"half done: {said}"
        assert fits(now) in ([], fits(first), fits(last)), f"half a forecast: {said}"
        if said.code == 0 or "stored" in said.out:
            assert facts(now) == after, f"lost: {said}"
        if facts(now) == after != before:
            assert "nothing" not in said.err, f"said to be lost, and is there: {said}"
        if self.scene.makes:
            made, wanted = self.point / self.scene.makes, self.end / self.scene.makes
            if made.exists() or said.code == 0:
                assert same(made, wanted), f"{self.scene.makes} is not whole: {said}"
        return now

    def goes_on(self, now: State | None) -> None:
        """On a whole disk the next commands do what they would have done."""
        before, after = map(facts, self.states)
        if now is not None:
            said = self.disk.type(self.point, "check")
            assert said.code == 0, said
        if facts(now) == before:
            made = self.point / self.scene.makes
            if self.scene.command == "backup" and made.exists():
                made.unlink()
            said = self.disk.type(self.point, *self.scene.words)
            assert said.code == 0, said
            assert facts(state(self.point / "fleet.db")) == after
        if self.scene.command != "new":
            said = self.disk.type(self.point, *ANOTHER)
            assert said.code == 0, said

    def names(self) -> set[str]:
        """The names of all files there are at the end when nothing fails."""
        return {path.name for path in self.end.rglob("*")}


def same(made: Path, wanted: Path) -> bool:
    """Whether a file is what it should be: of a database the rows, of others the bytes."""
    if made.suffix == ".db":
        return state(made) == state(wanted)
    return made.read_bytes() == wanted.read_bytes()


def may_befall(kind: str, call: str) -> bool:
    """Whether a fault of this kind can happen at this call."""
    word = call.split()[0]
    if kind == "short write":
        return word == "write"
    if kind == "killed halfway":
        return word != "unlock"
    return True


def failures(stage: Stage, points: Sequence[tuple[int, str, str]]) -> list[str]:
    """Run these points; what went wrong at each, in words."""
    found = []
    for at, call, kind in points:
        try:
            stage.fail(at, kind)
        except (AssertionError, sqlite3.Error) as error:
            found.append(f"{stage.scene.name}: {kind} at call {at} ({call}): {error}"[:600])
    return found


def few(stage: Stage, most: int) -> list[tuple[int, str, str]]:
    """At most so many points: every kind of fault at calls spread over the whole command.

    The first and last call of each sort are among them before any other is.
    """
    points = list(stage.points())
    by_sort: dict[tuple[str, str], list[tuple[int, str, str]]] = {}
    for point in points:
        by_sort.setdefault((point[1].split()[0], point[2]), []).append(point)
    ends = [items[0] for items in by_sort.values()] + [items[-1] for items in by_sort.values()]
    chosen = list(dict.fromkeys(ends))
    step = max(1, len(chosen) // most)
    return sorted(chosen[::step][:most])
