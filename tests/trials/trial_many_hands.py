"""Eight programs at once on one fleet file, for a bounded time, one killed now and then.

Each types commands of all sorts of an engine of its own. Looked at: every acknowledged entry is
there at the end exactly once; what was stored is seen by the next look; copies made meanwhile are
whole and hold what was stored before; no command waits longer than the file promises.

SIGKILL is the death of a program, not of the machine: what a power cut does is not tried here.
"""

from __future__ import annotations

import json
import random
import selectors
import shutil
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fleetcare.store.telling import WAIT_SECONDS

ROOT = Path(__file__).parent.parent.parent
HANDS = 8
MINUTES = 1.0
KILL_EVERY = 5.0  # seconds
IDLE = 30  # commands of one hand alone, to compare with
Told = dict[str, Any]


@dataclass
class Tally:
    """What all hands were told."""

    commands: list[Told] = field(default_factory=list)
    killed: int = 0

    @property
    def busy(self) -> int:
        return sum(told["code"] == 5 for told in self.commands)

    def numbers(self) -> dict[int, str]:
        """Every entry number that was acknowledged, with the command that stored it."""
        return {number: told["word"] for told in self.commands for number in told["numbers"]}

    def notes(self, *words: str) -> list[str]:
        """The notes of the entries that were acknowledged, by these commands if any are named."""
        return [
            note
            for told in self.commands
            if not words or told["word"] in words
            for note in told["notes"]
        ]

    def median(self) -> float:
        return statistics.median(told["took"] for told in self.commands)


class Crew:
    """The hands at work on a file."""

    def __init__(self, fleet: Path, hands: int, commands: int = 0) -> None:
        self.fleet, self.commands = fleet, commands
        self.tally = Tally()
        self.selector = selectors.DefaultSelector()
        self.running: dict[int, subprocess.Popen[bytes]] = {}
        self.rest: dict[int, bytes] = {}
        self.errors: list[str] = []
        for number in range(1, hands + 1):
            self.start(number)

    def start(self, number: int) -> None:
        words = [str(self.fleet), str(number), str(self.commands)]
        program = subprocess.Popen(
            [sys.executable, "-m", "tests.trials.hands", *words], cwd=ROOT,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        assert program.stdout is not None
        self.running[number], self.rest[number] = program, b""
        self.selector.register(program.stdout, selectors.EVENT_READ, number)

    def listen(self, seconds: float) -> None:
        """Take what the hands say for a while, or until none is left."""
        end = time.monotonic() + seconds
        while self.running and (left := end - time.monotonic()) > 0:
            for key, _ in self.selector.select(left):
                data = key.fileobj.read1(65536)  # type: ignore[union-attr]  # a pipe, buffered
                if data:
                    self.take(key.data, data)
                else:
                    self.ended(key.data)

    def take(self, number: int, data: bytes) -> None:
        *lines, self.rest[number] = (self.rest[number] + data).split(b"\n")
        self.tally.commands += [json.loads(line) for line in lines]

    def ended(self, number: int) -> None:
        program = self.running.pop(number)
        assert program.stdout is not None
        self.selector.unregister(program.stdout)
        out, errors = program.communicate()
        self.take(number, out)
        if program.returncode not in (0, -signal.SIGKILL):
            self.errors.append(f"hand {number} ended: {errors.decode()[-500:]}")

    def kill(self, number: int) -> None:
        """Kill a hand in the middle of whatever it does, and put another in its place."""
        self.running[number].send_signal(signal.SIGKILL)
        self.tally.killed += 1
        self.ended(number)
        self.start(number)

    def stop(self) -> None:
        """Let every hand end its command and go."""
        for program in self.running.values():
            assert program.stdin is not None
            program.stdin.close()
            program.stdin = None  # so that communicate leaves it alone
        self.listen(10 * WAIT_SECONDS)


def fleet_for(folder: Path, hands: int) -> Path:
    """A fleet with an engine for each hand."""
    path = folder / "fleet.db"
    words = [
        ["new", "--rules", "small-petrol"],
        ["boat", "add", "Otter", "--use", "hire", "--water", "salt", "--since", "2025-05-01"],
    ]
    words += [
        ["engine", "add", f"OB-{number}", "--boat", "Otter", "--hp", "6", "--since", "2025-05-01",
         "--reading", "100"]
        for number in range(1, hands + 1)
    ]  # fmt: skip
    for one in words:
        subprocess.run(
            [sys.executable, "-m", "fleetcare", *one, "--fleet", str(path), "--quiet"],
            cwd=ROOT, check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
    return path


def lost_and_wrong(path: Path, crew: Crew) -> tuple[list[str], list[str]]:
    """What was acknowledged and is not there exactly once; everything else that is wrong."""
    connection = sqlite3.connect(path)
    rows = connection.execute("select id, event, note from log order by id").fetchall()
    whole = connection.execute("pragma integrity_check").fetchone()[0]
    connection.close()
    told = crew.tally
    events = {number: event for number, event, _ in rows}
    words = {"undo": "withdraw", "done": "job", "import": "run"}
    lost = [
        f"entry {number}, a {word}, is {events.get(number, 'not there')}"
        for number, word in told.numbers().items()
        if events.get(number) != words.get(word, word)
    ]
    notes = [note for _, _, note in rows]
    counts = {note: notes.count(note) for note in told.notes()}
    lost += [f'"{note}" is there {count} times' for note, count in counts.items() if count != 1]
    if len(told.numbers()) != sum(len(item["numbers"]) for item in told.commands):
        lost.append("one number was told to two commands")
    wrong = [item["wrong"] for item in told.commands if item["wrong"]] + crew.errors
    slow = [item for item in told.commands if item["took"] > WAIT_SECONDS + 5]
    wrong += [f"{item['word']} took {item['took']:.1f} s" for item in slow]
    if whole != "ok" or [row[0] for row in rows] != list(range(1, len(rows) + 1)):
        wrong.append(f"the file is not whole: {whole}")
    check = subprocess.run(
        [sys.executable, "-m", "fleetcare", "check", "--fleet", str(path)], cwd=ROOT, check=False,
        capture_output=True, text=True,
    )  # fmt: skip
    if check.returncode:
        wrong.append(f"check: {check.stdout}{check.stderr}")
    return lost, wrong


def work(seconds: float, hands: int = HANDS, commands: int = 0, kills: bool = True) -> Told:
    """Let the hands work, and say what came of it; with `commands` each types so many and ends."""
    with tempfile.TemporaryDirectory(prefix="fleetcare-hands-") as name:
        path = fleet_for(Path(name), hands)
        alone = Crew(path, 1, commands if commands else IDLE)
        alone.listen(600)
        crew, chance = Crew(path, hands, commands), random.Random(hands)
        end = time.monotonic() + seconds
        while crew.running and (left := end - time.monotonic()) > 0:
            crew.listen(min(KILL_EVERY, left) if kills else left)
            if kills and crew.running and time.monotonic() < end:
                crew.kill(chance.choice(sorted(crew.running)))
        crew.stop()
        for number in list(crew.running):
            crew.errors.append(f"hand {number} did not end")
            crew.running[number].kill()
        lost, wrong = lost_and_wrong(path, crew)
        lost += lost_and_wrong(path, alone)[0]
        for line in (*lost, *wrong):
            print(line, file=sys.stderr)
        for folder in Path(name).glob("hand-*"):
            shutil.rmtree(folder)
    told = crew.tally
    longest = max(item["took"] for item in told.commands)
    return {
        "name": "many hands",
        "load": f"{hands} programs, {len(told.commands)} commands in {seconds:.0f} s at most, "
        f"longest {longest:.1f} s, {told.busy} told to try again",
        "faults": told.killed, "acknowledged": len(told.numbers()) + len(told.notes("import")),
        "lost": len(lost), "wrong": len(wrong), "ratio": told.median() / alone.tally.median(),
    }  # fmt: skip


def run(full: bool, minutes: float | None = None) -> Told:
    """The trial: a minute, or as many as are asked for; ten of them when it is full."""
    return work(60 * (minutes or (10 * MINUTES if full else MINUTES)))
