"""Boards for tests: of fleet files as the commands make them, and of tables in memory."""

from __future__ import annotations

import atexit
import functools
import json
import shutil
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from fleetcare.cli.board_facts import facts_of
from fleetcare.cli.context import Desk
from fleetcare.due.rows import due_and_standing
from fleetcare.flags.flag import flags, held_engines, in_order
from fleetcare.flags.morning import morning
from fleetcare.log.history import history
from fleetcare.show.board import board
from fleetcare.show.board_facts import Facts
from fleetcare.usage.components import Carriage
from tests.built import Tables, book_of, fleet_of
from tests.cli.typed import fleetcare

TODAY = date(2026, 7, 18)


def demo(folder: Path, which: str = "ondrel") -> Path:
    """One of the invented fleets, as `fleetcare demo` builds it."""
    fleetcare("demo", folder, "--of", which, "--quiet")
    return folder / "fleet.db"


@functools.cache
def ondrel() -> Path:
    """The invented hire fleet, built once for all tests; none of them writes to it."""
    folder = Path(tempfile.mkdtemp(prefix="fleetcare-board-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return demo(folder)


@functools.cache
def ondrel_facts() -> Facts:
    """What its board shows."""
    return facts_of(Desk(fleet=str(ondrel())), TODAY)


@functools.cache
def ondrel_page() -> str:
    """Its board."""
    return board(ondrel_facts())


def page(path: Path, as_of: date = TODAY) -> str:
    """The board of a fleet file."""
    return board(facts_of(Desk(fleet=str(path)), as_of))


def listed(path: Path, *words: str, as_of: date = TODAY) -> dict[str, Any]:
    """What a command prints of the fleet as JSON."""
    said = fleetcare(*words, "--fleet", path, "--as-of", as_of.isoformat(), "--format", "json")
    found: dict[str, Any] = json.loads(said.out)
    return found


def facts_in_memory(
    tables: Tables, texts: dict[str, str], uses: dict[str, Any], as_of: date
) -> Facts:
    """What a board of these tables shows, without a file and without a forecast."""
    fleet, entries = fleet_of(tables)
    told, book = history(entries, as_of), book_of(texts, uses)
    rows, stands = due_and_standing(fleet, told, book, as_of)
    held = frozenset(held_engines(stands))
    marks = flags(rows, stands)
    return Facts(
        fleet=fleet, history=told, book=book, carriage=Carriage(fleet, told, as_of.toordinal()),
        as_of=as_of, rows=tuple(in_order(rows, held)), flags=marks, held=held,
        verdicts=tuple(morning(rows, marks, fleet, told, as_of)),
    )  # fmt: skip
