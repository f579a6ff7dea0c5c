"""Programs that write at once and are killed at any moment lose nothing that was acknowledged.

SIGKILL is the death of a process, not of the machine: what a power cut does is not tried here.
The kills come upon counts of acknowledged commands, from a seeded order; nothing waits for time.
"""

from __future__ import annotations

import random
import re
import selectors
import signal
import subprocess
import sys
from pathlib import Path

from fleetcare.log.entries import Reading
from fleetcare.store.fetch import live_entries
from fleetcare.store.file import journal_of, open_file
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.integrity import file_faults
from tests.store.small_file import AT, make

ROOT = Path(__file__).parent.parent.parent
ENGINES = tuple(f"OB-{number}" for number in range(1, 9))
KILLS = 24
A_COMMAND = 3  # entries

Acknowledged = dict[int, tuple[str, int]]  # a reading's number: its engine and figure


class Writers:
    """Eight programs, each writing of an engine of its own; what they acknowledged so far."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.selector = selectors.DefaultSelector()
        self.running: dict[str, subprocess.Popen[bytes]] = {}
        self.buffers: dict[str, bytes] = {}
        self.promised: Acknowledged = {}
        self.errors = b""
        for engine in ENGINES:
            self.start(engine)

    def start(self, engine: str) -> None:
        program = subprocess.Popen(
            [sys.executable, "-m", "tests.store.writer", str(self.path), engine],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT,
        )  # fmt: skip
        assert program.stdout is not None
        self.running[engine], self.buffers[engine] = program, b""
        self.selector.register(program.stdout, selectors.EVENT_READ, engine)

    def kill(self, engine: str) -> None:
        """Kill one, and take what it had still said."""
        program = self.running.pop(engine)
        assert program.stdout is not None and program.stderr is not None
        program.send_signal(signal.SIGKILL)
        self.selector.unregister(program.stdout)
        rest, errors = program.communicate()
        self.take(engine, rest)
        self.errors += errors
        assert program.returncode == -signal.SIGKILL, errors.decode()

    def listen_for(self, commands: int) -> None:
        """Read the pipes until that many more commands were acknowledged."""
        wanted = len(self.promised) + commands
        while len(self.promised) < wanted:
            for key, _ in self.selector.select():
                data = key.fileobj.read1(65536)  # type: ignore[union-attr]  # a pipe, buffered
                assert data, f"{key.data} ended: {self.running[key.data].communicate()}"
                self.take(key.data, data)

    def take(self, engine: str, data: bytes) -> None:
        *lines, self.buffers[engine] = (self.buffers[engine] + data).split(b"\n")
        for line in lines:
            _, number, _, figure = map(int, line.split())
            self.promised[number] = (engine, figure)


def test_eight_writers_of_which_one_after_another_is_killed_lose_nothing(tmp_path: Path) -> None:
    path, chance = tmp_path / "fleet.db", random.Random(20250501)
    make(path, ENGINES).connection.close()
    writers = Writers(path)
    killed, hot = [], 0
    try:
        writers.listen_for(len(ENGINES))
        for _ in range(KILLS):
            writers.listen_for(chance.randrange(1, 9))
            engine = chance.choice(ENGINES)
            writers.kill(engine)
            killed.append(engine)
            hot += journal_of(path).exists()
            writers.start(engine)
        writers.listen_for(len(ENGINES))
    finally:
        for engine in list(writers.running):
            writers.kill(engine)
    assert writers.errors == b""
    assert len(killed) == KILLS
    assert hot, "no writer died or wrote with its journal open: the kills were too gentle"
    kept_whole(path, writers.promised)


def kept_whole(path: Path, promised: Acknowledged) -> None:
    """Every promise is kept, no command is half there, numbers have no gap, guards stand."""
    open_file(path).close()  # heals what the last one left, and looks at the guards
    with FleetFile(path) as file:
        assert file.connection.execute("pragma integrity_check").fetchall() == [("ok",)]
        assert file_faults(file.connection) == []
        rows = file.connection.execute(
            "select log.id, engine.name, log.reading, event, act from log join engine "
            "on engine.id = log.engine order by log.id"
        ).fetchall()
        assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
        kept = {row[0]: (row[1], row[2]) for row in rows if row[3] == "reading"}
        assert {number: kept.get(number) for number in promised} == promised
        for start in range(0, len(rows), A_COMMAND):
            command = rows[start : start + A_COMMAND]
            assert [row[3] for row in command] == ["run", "reading", "job"]
            assert {row[4] for row in command} == {command[0][0]}
            assert len({row[1] for row in command}) == 1
        for engine in ENGINES:  # each went on from its own last figure
            figures = [figure for name, figure in kept.values() if name == engine]
            assert figures == list(range(10001, 10001 + len(figures)))
        assert {item.at for item in file.log()} == {AT}


def command_line(path: Path, engine: str) -> subprocess.Popen[str]:
    words = ["--fleet", str(path), "reading", engine, "100.5", "--on", "2025-05-02"]
    return subprocess.Popen(
        [sys.executable, "-m", "fleetcare", *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip


def test_eight_command_lines_at_once_are_all_kept(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    make(path, ENGINES).connection.close()
    programs = [command_line(path, engine) for engine in ENGINES]
    said = [program.communicate() for program in programs]
    assert [program.returncode for program in programs] == [0] * len(ENGINES), said
    with FleetFile(path) as file:
        kept = live_entries(file.log())
        assert file_faults(file.connection) == []
    assert [entry.number for entry in kept] == list(range(1, len(ENGINES) + 1))
    told = {}  # the number each was told, by the engine it wrote of
    for (out, _), engine in zip(said, ENGINES, strict=True):
        number = re.match(r"stored entry (\d+)\b", out)
        assert number, out
        told[engine] = int(number[1])
    assert told == {entry.engine: entry.number for entry in kept if isinstance(entry, Reading)}
