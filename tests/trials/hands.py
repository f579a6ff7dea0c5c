"""One of many hands on a fleet file: `python -m tests.trials.hands FILE NUMBER COMMANDS`.

It types commands of all sorts, one after the other, of an engine of its own, until the line
"stop" comes or so many commands were typed (0: no end). What each command acknowledged is
printed, a line of JSON a command, so that whoever reads the pipe knows what was promised.
"""

from __future__ import annotations

import json
import os
import random
import re
import select
import sys
import time
from datetime import date, timedelta
from pathlib import Path

from click.testing import CliRunner

from fleetcare.cli.main import cli
from fleetcare.store.telling import WAIT_SECONDS

FIRST = date(2025, 5, 1)
STORED = re.compile(r"(?:stored entry|stored, entry) (\d+)\b")
MIX = (
    ("reading", 8), ("run", 6), ("done", 4), ("incident", 1), ("undo", 2), ("import", 2),
    ("due", 4), ("morning", 2), ("feed", 2), ("backup", 2), ("check", 1), ("export", 1),
)  # fmt: skip
WRITES = ("reading", "run", "done", "incident", "undo", "import")


class Hand:
    """Types commands of one engine, and keeps what they said."""

    def __init__(self, fleet: Path, number: int) -> None:
        self.fleet, self.number = fleet, number
        self.engine = f"OB-{number}"
        self.place = fleet.parent / f"hand-{number}"
        self.place.mkdir(exist_ok=True)
        self.chance = random.Random(number)
        self.mark = f"{number}.{os.getpid()}"
        self.typed = 0
        self.mine: list[int] = []  # entries of this hand that count
        self.figure = 10000
        self.last = 0

    def go_on(self) -> None:
        """Take up the figures where an earlier hand of this engine left them."""
        log = self.say("log", self.engine, "--all")[1]
        figures = [float(text) for text in re.findall(r" reads ([\d.]+)", log)]
        self.figure = max([10000, *(round(figure * 100) for figure in figures)])

    def say(self, *words: object) -> tuple[int, str, float]:
        """Type a command; its exit code, what it said, and the seconds it took."""
        begin = time.perf_counter()
        texts = [*map(str, words), "--fleet", str(self.fleet)]
        done = CliRunner().invoke(cli, texts, prog_name="fleetcare")
        took = time.perf_counter() - begin
        code = done.exit_code
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            code = 99
        if code:
            return code, f"{done.stdout}{done.stderr}{done.exception!r}", took
        return code, done.stdout, took

    def once(self) -> dict[str, object]:
        """One command of the mix."""
        self.typed += 1
        word = self.chance.choices(*zip(*MIX, strict=True))[0]
        note = f"hand {self.mark}.{self.typed}"
        words, notes = self.words(word, note)
        code, said, took = self.say(*words)
        numbers = [int(number) for number in STORED.findall(said)] if code == 0 else []
        wrong = ""
        if code == 0 and word in ("reading", "run", "done"):
            wrong = self.stale(numbers)
        if code == 0 and word == "reading":
            self.figure += 1
        if code == 0 and word == "undo":
            self.mine.pop()
        elif word in WRITES:
            self.mine += numbers
        if code == 0 and word == "backup":
            wrong = self.copied(said)
        if code == 5 and took < WAIT_SECONDS - 1:
            wrong = f"gave up after {took:.1f} s"
        elif code not in (0, 5):
            wrong = f"exit code {code}: {said}"
        self.last = max([self.last, *numbers])
        return {
            "word": word, "code": code, "took": took, "wrong": wrong, "numbers": numbers,
            "notes": notes if code == 0 else [],
        }  # fmt: skip

    def words(self, word: str, note: str) -> tuple[tuple[object, ...], list[str]]:
        """The words of a command, and the notes by which its entries are known."""
        on = FIRST + timedelta(days=1 + (self.figure - 10000) // 40)
        signed = ("--on", on, "--note", note, "--by", f"hand {self.number}")
        figure = f"{(self.figure + 1) / 100:.2f}"
        if word == "reading":
            return (word, self.engine, figure, *signed), [note]
        if word == "run":
            return (word, self.engine, "0.01", *signed), [note]
        if word == "done":
            return (word, self.engine, "flush", "--again", *signed), [note]
        if word == "incident":
            return (word, self.engine, "grounded", *signed), [note]
        if word == "undo" and self.mine:
            return (word, self.mine[-1]), []
        if word == "import":
            rows = [f"{on},run,{self.engine},0.01,{note}.{row}" for row in range(5)]
            table = self.place / "log.csv"
            table.write_text("\n".join(["on,event,engine,hours,note", *rows, ""]), "utf-8")
            return (word, table), [f"{note}.{row}" for row in range(5)]
        files = {
            "feed": ("feed", "write", self.place / "fleet.ics"),
            "backup": ("backup", self.place / f"copy-{self.mark}.{self.typed}.db"),
            "export": ("export", self.place / "tables"),
            "due": ("due", "--format", "json"),
        }
        return files.get(word, (word if word != "undo" else "log",)), []

    def stale(self, numbers: list[int]) -> str:
        """What is wrong when the next look does not show what was just stored."""
        code, said, _ = self.say("log", self.engine, "--last", 20)
        if code:
            return "" if code == 5 else f"log: exit code {code}: {said}"
        seen = {int(line.split()[0]) for line in said.splitlines()}
        missing = [number for number in numbers if number not in seen]
        return f"stored {missing}, and the next look does not show it" if missing else ""

    def copied(self, said: str) -> str:
        """What is wrong with a copy: it must hold at least what this hand had stored before."""
        count = int(re.findall(r": (\d+) entr", said)[0])
        copy = self.place / f"copy-{self.mark}.{self.typed}.db"
        code, log, _ = self.say("log", self.engine, "--all")
        found = CliRunner().invoke(cli, ["check", "--fleet", str(copy)], prog_name="fleetcare")
        copy.unlink()
        if found.exit_code:
            return f"a copy is not whole: {found.stdout}{found.stderr}"
        if count < self.last:
            return f"a copy of {count} entries lacks entry {self.last}"
        return "" if code in (0, 5) else f"log: exit code {code}: {log}"


def main() -> None:
    """Type until told to stop."""
    hand, most = Hand(Path(sys.argv[1]), int(sys.argv[2])), int(sys.argv[3])
    hand.go_on()
    while not (most and hand.typed >= most):
        if select.select([sys.stdin], [], [], 0)[0]:
            break
        os.write(1, f"{json.dumps(hand.once())}\n".encode())


if __name__ == "__main__":
    main()
