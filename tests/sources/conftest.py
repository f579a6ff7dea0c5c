"""The shipped rule files as plain data, read without any code of the project."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

INTERVALS = Path(__file__).resolve().parents[2] / "intervals"

Table = dict[str, Any]


def _file(name: str) -> Table:
    return tomllib.loads((INTERVALS / name).read_text("utf-8"), parse_float=Decimal)


def _tasks(name: str) -> Table:
    return {task["name"]: task for task in _file(name)["task"]}


@pytest.fixture(scope="session")
def files() -> Table:
    """Every set by its file's stem: small-petrol, hire, salt-mooring."""
    return {name: _file(f"{name}.toml") for name in ("small-petrol", "hire", "salt-mooring")}


@pytest.fixture(scope="session")
def base() -> Table:
    """The tasks of small-petrol by name."""
    return _tasks("small-petrol.toml")


@pytest.fixture(scope="session")
def hire() -> Table:
    """What hire.toml says of its tasks, by name, not overlaid."""
    return _tasks("hire.toml")


@pytest.fixture(scope="session")
def mooring() -> Table:
    """What salt-mooring.toml says of its tasks, by name, not overlaid."""
    return _tasks("salt-mooring.toml")


@pytest.fixture(scope="session")
def access(files: Table) -> Table:
    """The access steps of small-petrol by name."""
    return dict(files["small-petrol"]["access"])


@pytest.fixture(scope="session")
def parts() -> Table:
    """The parts of conditions.toml by name."""
    return dict(_file("conditions.toml")["part"])


@pytest.fixture(scope="session")
def words(parts: Table) -> dict[str, Table]:
    """Per part, its condition words with what stands beside each."""
    return {
        part: {entry["word"]: entry for entry in table["conditions"]}
        for part, table in parts.items()
    }


@pytest.fixture(scope="session")
def incidents() -> Table:
    """The incidents by kind."""
    return dict(_file("incidents.toml")["incident"])


@pytest.fixture(scope="session")
def uses() -> Table:
    """The uses by name."""
    return dict(_file("uses.toml")["use"])
