"""The help of every command, and its example, which runs as printed on the invented fleet."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from fleetcare.cli.commands import GROUPS
from fleetcare.cli.main import cli
from tests.cli.test_rules import HARBOUR
from tests.cli.typed import fleetcare, widest

ON_ITS_OWN = ("new", "demo")  # they make the fleet
# Their examples name a server that is not there; they stop before it, for want of a password.
WANT_A_SERVER = (("feed", "push"), ("feed", "collect"))


def commands(group: click.Group, *before: str) -> Iterator[tuple[str, ...]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, *before, name)
        else:
            yield (*before, name)


COMMANDS = sorted(commands(cli))


def example(words: tuple[str, ...]) -> list[str]:
    found = re.findall(r"^  Example: fleetcare (.*)$", fleetcare(*words, "--help").out, re.M)
    assert len(found) == 1, words
    return shlex.split(found[0])


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_the_example_of_every_command_runs_as_printed(
    words: tuple[str, ...], fleet: Path, request: pytest.FixtureRequest
) -> None:
    typed = example(words)
    assert tuple(typed[: len(words)]) == words
    if words[0] not in ON_ITS_OWN:
        request.getfixturevalue("ondrel")
        before(words)
    said = fleetcare(*typed, code=1 if words in WANT_A_SERVER else 0)
    assert words not in WANT_A_SERVER or "no password" in said.err


def before(words: tuple[str, ...]) -> None:
    """What an example takes for granted: a boat to retire, a copy to put back, files to read."""
    if words == ("boat", "retire"):
        fleetcare(*example(("boat", "add")))
    elif words == ("restore",):
        fleetcare(*example(("backup",)))
    elif words == ("import",):
        fleetcare(*example(("export",)))
    elif words in (("feed", "renew"), ("feed", "revoke")):
        fleetcare(*example(("feed", "add")))
    elif words == ("bookings",):
        Path("hires.ics").write_text("BEGIN:VCALENDAR\nEND:VCALENDAR\n", encoding="utf-8")
    elif words == ("evening",):
        Path("round.txt").write_text("OB-01 3\nOB-07 712\n", encoding="utf-8")
    elif words == ("rules", "test"):
        Path("intervals").mkdir()
        Path("intervals/harbour.toml").write_text(HARBOUR, encoding="utf-8")


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_help_says_what_it_does_within_80_columns(words: tuple[str, ...]) -> None:
    said = fleetcare(*words, "--help").lines
    assert said[0].startswith("Usage: fleetcare")
    assert widest(line for line in said if "Example: " not in line) <= 80
    assert all(not line.endswith(" ") for line in said if line.startswith("  --"))


def test_the_first_page_names_every_command_once_with_its_whole_sentence() -> None:
    said = fleetcare("--help").out
    assert sorted(name for _, rows in GROUPS for name, _, _ in rows) == sorted(cli.commands)
    for name in cli.commands:
        assert len(re.findall(rf"^  {name}  +\S.*\.$", said, re.M)) == 1, name
    assert not re.search(r"^  [a-z-]+  .*\.\.\.$", said, re.M)
    assert widest(said.splitlines()) <= 80
    assert "own handbook, local codes and licensed practice come before" in " ".join(said.split())


def test_the_version_is_said() -> None:
    from fleetcare import __version__

    assert fleetcare("--version").out == f"fleetcare {__version__}\n"
