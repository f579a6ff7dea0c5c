"""The README: its two commands, and its tour, run as printed."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
README = ROOT / "README.md"
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```$", README.read_text("utf-8"), re.M | re.S)


def test_the_first_two_blocks_are_the_two_commands_of_one_line_each() -> None:
    (kind1, first), (kind2, second) = BLOCKS[:2]
    assert (kind1, kind2) == ("sh", "sh")
    assert first.count("\n") == second.count("\n") == 1
    assert first.strip().endswith("fleetcare demo")
    assert second.strip().endswith("tests/run")


def test_ci_calls_the_second_command() -> None:
    assert BLOCKS[1][1].strip() in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


def test_every_command_is_named() -> None:
    from fleetcare.cli.main import cli

    text = README.read_text("utf-8")
    assert [
        name for name in cli.commands if f"`{name}" not in text and f" {name}" not in text
    ] == []


@pytest.fixture(scope="module")
def shell(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """An empty home with `fleetcare` on the path."""
    home = tmp_path_factory.mktemp("home")
    bin_ = home / "bin"
    bin_.mkdir()
    script = bin_ / "fleetcare"
    script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m fleetcare "$@"\n')
    script.chmod(0o755)
    kept = {key: value for key, value in os.environ.items() if not key.startswith("FLEETCARE")}
    return home, {
        **kept, "HOME": str(home), "PATH": f"{bin_}:{os.environ['PATH']}", "LOGNAME": "jetty",
        "PYTHONPATH": str(ROOT), "XDG_DATA_HOME": str(home / "data"),
    }  # fmt: skip


def test_every_block_of_the_tour_prints_what_stands_below_it(
    shell: tuple[Path, dict[str, str]],
) -> None:
    home, environ = shell
    for at, (kind, text) in enumerate(BLOCKS[2:], 2):
        if kind != "sh":
            continue
        done = subprocess.run(
            ["bash", "-euc", text], cwd=home, env=environ, capture_output=True, text=True,
            check=False,
        )  # fmt: skip
        assert done.returncode == 0, f"{text}\n{done.stdout}{done.stderr}"
        if at + 1 < len(BLOCKS) and BLOCKS[at + 1][0] == "text":
            assert done.stdout == BLOCKS[at + 1][1], text
