"""Every field of the due list that the day-by-day oracle has, on random fleets."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from fleetcare.show.values import due_values
from tests.built import rows_of
from tests.oracle.oracle import due_rows
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

Drawn = Any  # (tables, rule set texts, as_of)
FLEETS = 360


def in_product(drawn: Drawn) -> list[dict[str, Any]]:
    tables, texts, as_of = drawn
    rows = [due_values(row, held=False) for row in rows_of(tables, texts, USES, as_of)]
    return sorted(rows, key=lambda row: (row["engine"], row["task"]))


def in_oracle(drawn: Drawn) -> list[dict[str, Any]]:
    tables, texts, as_of = drawn
    sets = {name: tomllib.loads(text) for name, text in texts.items()}
    return due_rows(tables, sets, USES, as_of)


def differences(drawn: Drawn) -> list[str]:
    ours, theirs = in_product(drawn), in_oracle(drawn)
    names = [(row["engine"], row["task"]) for row in theirs]
    if [(row["engine"], row["task"]) for row in ours] != names:
        return [f"rows: {[(row['engine'], row['task']) for row in ours]} for {names}"]
    return [
        f"{row['engine']}/{row['task']}: {key}: {mine[key]!r}, oracle {value!r}"
        for mine, row in zip(ours, theirs, strict=True)
        for key, value in row.items()
        if mine[key] != value
    ]


@pytest.mark.parametrize("part", range(6))
def test_the_due_list_equals_the_oracle_in_every_field(part: int) -> None:
    drawn = sample(FLEETS)[part::6]
    assert drawn
    assert [differences(fleet) for fleet in drawn] == [[]] * len(drawn)


def test_the_fleets_drawn_have_thousands_of_rows_in_log_and_list() -> None:
    drawn = sample(FLEETS)
    assert sum(len(tables["log"]) for tables, _, _ in drawn) > 5000
    assert sum(len(in_product(fleet)) for fleet in drawn) > 2000
