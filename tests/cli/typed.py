"""What the tests of the command line type, and what they look at afterwards."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from fleetcare.cli.main import cli

ROOT = Path(__file__).parent.parent.parent
TODAY = "2026-07-18"  # the invented fleets' today
ESCAPE = "\x1b"


@dataclass(frozen=True)
class Said:
    """What a command said: results, notes and errors, its exit code."""

    out: str
    err: str
    code: int

    @property
    def lines(self) -> list[str]:
        return self.out.splitlines()


def fleetcare(*words: object, code: int = 0, stdin: str | None = None) -> Said:
    """Type a command; a traceback or another exit code than expected fails the test."""
    result = CliRunner().invoke(cli, [str(word) for word in words], stdin, prog_name="fleetcare")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    said = Said(result.stdout, result.stderr, result.exit_code)
    assert said.code == code, said
    return said


def rows(*words: object) -> list[dict[str, Any]]:
    """The rows of a command's JSON."""
    found: list[dict[str, Any]] = json.loads(fleetcare(*words, "--format", "json").out)["rows"]
    return found


def row(engine: str, task: str, *words: object) -> dict[str, Any]:
    """One row of the due list."""
    return next(item for item in rows("due", "--engine", engine, *words) if item["task"] == task)


def written(fleet: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Everything that was written into a fleet file, table by table."""
    if not fleet.exists():
        return {}
    connection = sqlite3.connect(fleet)
    try:
        found = {
            table: connection.execute(f"select * from {table}").fetchall()
            for table in ("setting", "boat", "engine", "log", "sent")
        }
        found["setting"] = [row for row in found["setting"] if row[0] != "seal"]
        return found
    finally:
        connection.close()


def refused(fleet: Path, *words: object, code: int = 1, stdin: str | None = None) -> str:
    """Type what must be refused: an error that names the command, and nothing written."""
    before = written(fleet)
    said = fleetcare(*words, code=code, stdin=stdin)
    assert written(fleet) == before
    assert said.out == ""
    command = next(str(word) for word in words if not str(word).startswith("-"))
    assert all(line.startswith(f"fleetcare: {command}: ") for line in said.err.splitlines())
    assert "Traceback" not in said.err
    return said.err


def one_line(text: str) -> str:
    """The text, once it is sure to be one line."""
    assert text.count("\n") == 1, text
    return text.rstrip("\n")


def widest(lines: Iterable[str]) -> int:
    """The columns that the longest line takes; East Asian letters take two."""
    from unicodedata import combining, east_asian_width

    return max(
        sum(0 if combining(char) else 2 if east_asian_width(char) in "WF" else 1 for char in line)
        for line in lines
    )
