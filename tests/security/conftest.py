"""A fleet in which every text is an attack, as somebody else's file might bring it."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import pytest
from freezegun import freeze_time

from tests.browser.hostile import hostile
from tests.cli.typed import TODAY, fleetcare
from tests.fuzz.scenery import fleet_at, typing_in

ESCAPES = "\x1b[2J\x1b]0;gotcha\x07\x9b31m\x1b[8mhidden"
LINES = "one\r\nfleetcare: stored entry 99\x0b\x85\u2028two"
TURNED = "\u202egnp.exe\u2066"
ALL = f"{ESCAPES}{LINES}{TURNED}"
FORMULAS = ("=1+1", "+1", "-1+1", "@SUM(A1)", "\t=1", "'=1", '=HYPERLINK("http://x")')


def nothing_wrong(*_: object, **__: object) -> None:
    """What a program without our guards would say of any text."""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Fleets to copy: raw.db, past our guards; pages.db, within them; calm.db, of plain texts."""
    folder = tmp_path_factory.mktemp("hostile")
    with freeze_time(f"{TODAY} 08:00:00"):
        for name, texts in (("raw", ALL), ("calm", "calm")):
            fleet_at(folder / f"{name}.db")
            at = ("--fleet", folder / f"{name}.db")
            with (
                mock.patch("fleetcare.store.append.wrong_with", nothing_wrong),
                mock.patch("fleetcare.store.append.wrong_with_text", nothing_wrong),
            ):
                fleetcare(
                    "boat",
                    "add",
                    *at,
                    f"B {texts}",
                    "--use",
                    "hire",
                    "--water",
                    "salt",
                    "--place",
                    texts,
                    "--since",
                    "2026-04-01",
                )
                fleetcare("reading", *at, "Plover", "262", "--note", texts, "--by", texts)
                fleetcare("found", *at, "Plover", "swivel", "stiff", "--note", texts)
                fleetcare(
                    "put-off", *at, "Plover", "plugs", "--until", "2026-08-01", "--because", texts
                )
                fleetcare("parts", "delivered", *at, "thing", "2", "--new", "--note", texts)
        at = ("--fleet", folder / "formulas.db")
        fleet_at(folder / "formulas.db")
        since = ("--since", "2026-04-01")
        for text in FORMULAS:
            bare = text.strip()
            fleetcare("reading", *at, "Plover", "263", f"--note={text}", f"--by={bare}")
            fleetcare(
                "boat", "add", *at, "--use", "hire", "--water", "salt", *since, f"--place={bare}",
                "--", f"{bare} x",
            )  # fmt: skip
            fleetcare(
                "engine", "add", *at, f"--boat={bare} x", "--no-meter", f"--family={bare}", *since,
                "--", bare,
            )  # fmt: skip
            fleetcare(
                "put-off", *at, "--until", "2026-08-01", f"--because={text}", "--", bare, "impeller"
            )
        hostile(folder / "pages.db")
    return folder


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Path]:
    """A folder to type in."""
    found = tmp_path / "a" / "b" / "c"
    found.mkdir(parents=True)
    kept = tempfile.tempdir
    tempfile.tempdir = str(tmp_path)
    with typing_in(found), freeze_time(f"{TODAY} 08:00:00"):
        yield found
    tempfile.tempdir = kept


@pytest.fixture
def raw(made: Path, place: Path) -> Path:
    """The fleet with raw controls in it, as the one that commands use."""
    return Path(shutil.copy(made / "raw.db", place / "fleet.db"))


@pytest.fixture
def formulas(made: Path, place: Path) -> Path:
    """The fleet whose texts a spreadsheet would run."""
    return Path(shutil.copy(made / "formulas.db", place / "fleet.db"))


@pytest.fixture
def pages(made: Path, place: Path) -> Path:
    """The fleet whose names are mark-up, with the rule set they come from."""
    shutil.copytree(made / "intervals", place / "intervals")
    return Path(shutil.copy(made / "pages.db", place / "fleet.db"))


@pytest.fixture(autouse=True)
def _umask() -> Iterator[None]:
    before = os.umask(0o022)
    yield
    os.umask(before)
