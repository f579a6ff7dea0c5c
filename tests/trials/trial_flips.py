"""Turned bits and cut ends of a fleet file: an error, the right answer, or a find of check.

Not full, four bits of every page's header, 300 bits anywhere and 40 lengths; full, every bit of
every header, 6,000 bits anywhere and every page's length.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path
from typing import Any

from freezegun import freeze_time

from tests.cli.flips import HEADER, PAGE, Flips, header_bits
from tests.cli.planted import filled
from tests.store.faulty.scenes import SMALL

TODAY = "2026-07-18"


def run(full: bool) -> list[dict[str, Any]]:
    """A row for headers, one for bits anywhere, one for cut ends."""
    with tempfile.TemporaryDirectory() as name, freeze_time(f"{TODAY} 08:00:00"):
        path = Path(name, "fleet.db")
        whole = _made(path)
        chance = random.Random(20260718)
        used = [at for at, byte in enumerate(whole) if byte]
        pages = len(whole) // PAGE
        lengths = [page * PAGE for page in range(pages)]
        headers, anywhere, ends = (Flips(path, whole) for _ in range(3))
        headers.flip(header_bits(whole, 8 * HEADER if full else 4, chance), thorough=True)
        anywhere.flip(
            8 * chance.choice(used) + chance.randrange(8) for _ in range(6000 if full else 300)
        )
        ends.cut(lengths if full else chance.sample(range(len(whole)), 40))
    return [
        _row("headers of pages", pages, headers),
        _row("bits anywhere", pages, anywhere),
        _row("ends missing", pages, ends),
    ]


def _made(path: Path) -> bytes:
    """A fleet file with something of every sort in it."""
    import os

    from tests.cli.typed import fleetcare

    os.environ["FLEETCARE_FLEET"] = str(path)
    try:
        for words in SMALL[:-2]:
            fleetcare(*words)
        fleetcare("engine", "add", "Spare", "--hp", "6", "--since", "2026-04-01", "--reading", 90)
        fleetcare("done", "Plover", "swivel grease", "--on", "2026-04-02")
        filled()
        fleetcare("feed", "write", path.with_name("fleet.ics"))
    finally:
        del os.environ["FLEETCARE_FLEET"]
    return path.read_bytes()


def _row(name: str, pages: int, flips: Flips) -> dict[str, Any]:
    for line in flips.bad:
        print(line, file=sys.stderr)
    ends = ", ".join(f"{count} {end}" for end, count in sorted(flips.ends.items()))
    return {
        "name": f"damage: {name}", "load": f"{pages} pages: {ends}",
        "faults": sum(flips.ends.values()), "acknowledged": 0, "lost": 0, "wrong": len(flips.bad),
        "ratio": None,
    }  # fmt: skip
