"""Pim, invented: one owner, a 5 hp in salt, and a 2 hp from 1998 of which nothing is known."""

from __future__ import annotations

from datetime import date

from tests.trials.example_tables import Book, Tables, row, settings_rows

TODAY = date(2026, 7, 18)
_SINCE = date(2024, 4, 13)
_OLD_SINCE = date(2026, 5, 2)
_FIVE = "Five"
# Seven outings in three seasons, 24 hours in all: the day, the hours, the water, a note.
_OUTINGS = (
    ("2024-05-18", "3.5", "", ""),
    ("2024-07-06", "4.0", "", "two days"),
    ("2024-09-14", "2.5", "", ""),
    ("2025-06-07", "5.0", "", "two days"),
    ("2025-08-10", "3.0", "fresh", "canal week"),
    ("2026-05-23", "2.0", "", ""),
    ("2026-07-11", "4.0", "", "two days"),
)
_JOBS = (
    ("2023-10-14", "impeller", "impeller vanes", "supple"),
    ("2024-04-13", "swivel grease", "grease witness", "top and bottom"),
    ("2024-10-12", "gear oil", "gear oil", "clean"),
    ("2024-10-12", "tank flush", "", ""),
    ("2025-04-19", "plugs", "", ""),
)
_SEASONS = (
    ("2024-10-12", "lay-up", ""),
    ("2025-04-19", "launch", ""),
    ("2025-10-11", "lay-up", "gear oil left in"),
    ("2026-05-02", "launch", ""),
)


def pim() -> Tables:
    """The four tables of Pim's two engines."""
    book = Book()
    for on, task, part, condition in _JOBS:
        book.write(date.fromisoformat(on), "job", engine=_FIVE, task=task, part=part,
                   condition=condition, by="owner")  # fmt: skip
    for on, event, note in _SEASONS:
        book.write(date.fromisoformat(on), event, engine=_FIVE, by="owner", note=note)
    for on, hours, water, note in _OUTINGS:
        book.write(date.fromisoformat(on), "run", engine=_FIVE, hours=hours, water=water,
                   by="owner", note=note)  # fmt: skip
    book.write(date(2026, 7, 11), "finding", engine=_FIVE, part="tell-tale", condition="hot",
               by="owner", note="steady stream, but warm")  # fmt: skip
    return {
        "settings": settings_rows(
            rules="small-petrol", hemisphere="northern", by="owner", calendar_name="Pim"
        ),
        "boats": [
            row("boats", boat="Sandling", use="owner", water="salt", since=_SINCE.isoformat(),
                place="Mooring"),
            row("boats", boat="Cork", use="owner", water="salt", since=_OLD_SINCE.isoformat(),
                place="Shed"),
        ],
        "engines": [
            row("engines", engine=_FIVE, boat="Sandling", family="single 5", hp="5", stroke="4",
                year="2019", meter="no", steering="tiller",
                without="relief valve;inner anodes;battery", since=_SINCE.isoformat(), new="no"),
            row("engines", engine="Old Two", boat="Cork", family="single 2", hp="2", stroke="2",
                year="1998", meter="no", steering="tiller",
                without="thermostat;relief valve;inner anodes;battery",
                since=_OLD_SINCE.isoformat(), new="no"),
        ],
        "log": book.rows(),
    }  # fmt: skip
