"""A folder to type in: a small fleet, files of every kind that a command may be pointed at."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import openpyxl
from freezegun import freeze_time

from tests.cli.typed import TODAY, fleetcare

TABLE = "Date,Engine,Meter reading,Notes\r\n2026-07-01,Plover,260,calm\r\n2026-07-02,Knot,x,\r\n"
CALENDAR = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\n"
    "DTSTART;VALUE=DATE:20260720\r\nRRULE:FREQ=WEEKLY\r\nSUMMARY:Lapwing\r\nEND:VEVENT\r\n"
    "END:VCALENDAR\r\n"
)
RULES = (
    '[set]\nname = "in"\ntitle = "In"\nextends = "small-petrol"\n\n[[task]]\nname = "impeller"\n'
    'limits.salt = { hours = 50, months = 6 }\nsource = "invented"\n'
)


AWAY = object()


def fleet_at(path: Path) -> None:
    """Two boats and three engines, with a little of a past."""
    with freeze_time(f"{TODAY} 08:00:00"):
        at = ("--fleet", path)
        since = ("--since", "2026-04-01")
        plain = ("--hp", "6", "--stroke", "4", *since)
        fleetcare("new", *at, "--hemisphere", "northern", "--rules", "small-petrol")
        fleetcare("boat", "add", *at, "Lapwing", "--use", "hire", "--water", "fresh", *since)
        fleetcare("boat", "add", *at, "Dunlin", "--use", "hire", "--water", "salt", *since)
        fleetcare(
            "engine", "add", *at, "Plover", "--boat", "Lapwing", *plain, "--reading", 250,
            "--last", "impeller=2026-03-20@250",
        )  # fmt: skip
        fleetcare("engine", "add", *at, "Knot", "--boat", "Dunlin", *plain, "--no-meter")
        fleetcare("engine", "add", *at, "Spare", *plain, "--reading", 90)
        fleetcare("found", *at, "Plover", "tell-tale", "weak", "--on", "2026-07-10")


def scenery(folder: Path, fleet: Path) -> Path:
    """The folder, filled anew; deep enough that two steps up stay inside it. The place to type."""
    shutil.rmtree(folder, ignore_errors=True)
    place = folder / "one" / "two" / "three"
    place.mkdir(parents=True)
    shutil.copy(fleet, place / "fleet.db")
    (place / "folder").mkdir()
    (place / "empty").touch()
    (place / "in.csv").write_text(TABLE, encoding="utf-8")
    (place / "in.ics").write_text(CALENDAR, encoding="utf-8")
    (place / "in.toml").write_text(RULES, encoding="utf-8")
    (place / "in.txt").write_text("Plover 261\nKnot 3\n[x] impeller\n", encoding="utf-8")
    (place / "in.bin").write_bytes(bytes(range(256)) * 9)
    (place / "loop").symlink_to("loop")
    book = openpyxl.Workbook()
    book.active.append(["Date", "Engine", "Hours run"])
    book.active.append(["2026-07-03", "Knot", 1.5])
    book.save(place / "in.xlsx")
    return place


def kept(fleet: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Everything a fleet file holds but fits, which are made anew at will, and its seal."""
    if not fleet.is_file() or not fleet.stat().st_size:
        return {}
    connection = sqlite3.connect(f"{fleet.absolute().as_uri()}?mode=ro", uri=True)
    try:
        names = [row[0] for row in connection.execute(
            "select name from sqlite_master where type = 'table' and name <> 'fit'")]  # fmt: skip
        return {
            name: [row for row in connection.execute(f"select * from {name}") if row[0] != "seal"]
            for name in sorted(names)
        }
    finally:
        connection.close()


@contextmanager
def typing_in(place: Path) -> Iterator[None]:
    """Type there: its fleet, its own home; plans are made without the solver, which takes long."""
    kept, before = dict(os.environ), Path.cwd()
    solver = sys.modules.get("highspy", AWAY)
    sys.modules["highspy"] = None  # type: ignore[assignment]  # as where it is not installed
    os.chdir(place)
    os.environ.update(
        FLEETCARE_FLEET=str(place / "fleet.db"), LOGNAME="jetty", HOME=str(place),
        XDG_DATA_HOME=str(place), FLEETCARE_CALDAV_PASSWORD="x",
    )  # fmt: skip
    try:
        yield
    finally:
        os.chdir(before)
        os.environ.clear()
        os.environ.update(kept)
        del sys.modules["highspy"]
        if solver is not AWAY:
            sys.modules["highspy"] = solver  # type: ignore[assignment]
