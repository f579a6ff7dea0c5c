"""Every figure of the due list is on the board: all of them read back out of the page."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from fleetcare.show.board import board
from fleetcare.show.values import due_rows
from tests.benchmarks.fleets import build
from tests.oracle.sample import sample
from tests.oracle.strategies import USES
from tests.show.board_fleets import (
    TODAY,
    demo,
    facts_in_memory,
    listed,
    ondrel,
    ondrel_page,
    page,
)
from tests.show.board_reader import Board, Row, day

Json = dict[str, Any]
# A clear row leaves these to `why`: it says its life, its days, and what ran since.
IN_FULL = (
    "governed_by", "hours_left", "water", "last_done_on", "last_done_hours", "leads_to",
)  # fmt: skip


def ordinal(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def percent(life: float) -> str:
    """Whole per cent, half up, but 100 only when it is reached and never when passed."""
    whole = int(Fraction(str(life)) * 100 + Fraction(1, 2))
    if whole == 100 and life != 1:
        whole = 99 if life < 1 else 101
    return f"{whole}\N{NO-BREAK SPACE}%"


def whisker(row: Json, as_of: date) -> tuple[float, float] | None:
    """The way from the bar's end to the limit is the way from today to the middle day."""
    life, early, on, late = (row[name] for name in ("life_used", "due_early", "due_on", "due_late"))
    if None in (life, early, on) or early == late or life >= 1:
        return None
    a_day = (1 - life) / max(1, ordinal(on) - as_of.toordinal())
    begin = 1 - a_day * (ordinal(on) - ordinal(early))
    end = 2.2 if late is None else 1 + a_day * (ordinal(late) - ordinal(on))
    return max(life, begin), min(2.2, end)


def wrong_with(mine: Row, row: Json, as_of: date) -> list[str]:
    """What of a row differs from the due list."""
    told, out = mine.told, []

    def same(what: str, here: object, there: object) -> None:
        if here != there:
            out.append(f"{row['engine']}/{row['task']} {what}: page {here!r}, due {there!r}")

    same("status", mine.status, row["status"])
    life = row["life_used"] if row["life_used"] is not None else row["life_floor"]
    same("bar", mine.bar, None if life is None else Fraction(str(life)))
    same("cut", mine.is_cut, life is not None and life > 2)
    for name in ("due_early", "due_on", "due_late"):
        same(name, told.get(name), row[name])
    for name in ("hours_since", "days_since"):
        same(name, told[name], row[name])
    for name in ("put_off_until", "because"):
        same(name, told.get(name), row[name])
    same("put_off_times", told.get("put_off_times", 0), row["put_off_times"])
    drawn, meant = mine.whisker, whisker(row, as_of)
    if (drawn is None) != (meant is None):
        same("whisker", drawn, meant)
    elif drawn is not None and meant is not None:
        close = all(abs(a - b) < 0.0003 for a, b in zip(drawn, meant, strict=True))
        same("whisker", drawn if not close else None, meant if not close else None)
    shown = "" if life is None else percent(life)
    if row["status"] == "clear":
        return [*out, *([] if told.get("percent", "") == shown else [f"{told} {shown}"])]
    if row["life_used"] is None and life is not None:
        shown = f"≥{shown}"
    same("percent", told["percent"], shown)
    return out + wrong_in_full(mine, row, as_of)


def wrong_in_full(mine: Row, row: Json, as_of: date) -> list[str]:
    """What of a row that asks for something differs, in the figures that it has beside."""
    told, out = mine.told, []
    for name in IN_FULL:
        there = ", ".join(row[name]) or None if name == "leads_to" else row[name]
        if told.get(name) != there:
            out.append(f"{row['engine']}/{row['task']} {name}: {told.get(name)!r}, {there!r}")
    if told.get("likely_hours", 0.0) != row["likely_hours"]:
        out.append(f"{row['engine']}/{row['task']} likely {told} {row['likely_hours']}")
    if told["title"] != row["title"] or told["chip"] != row["status"]:
        out.append(f"{told['title']}, {told['chip']}")
    if ("take a reading" in told["said"]) is not row["raised_by_likely_hours"]:
        out.append(f"{told['said']} {row['raised_by_likely_hours']}")
    if row["overdue_since"] is not None:
        said = told["said"].removeprefix("overdue since ")
        if day(said, as_of.year) != row["overdue_since"]:
            out.append(f"{told['said']} {row['overdue_since']}")
    return out


def differences(text: str, rows: list[Json], as_of: date) -> list[str]:
    """Everything in which a page and the due list differ."""
    read = Board(text)
    assert read.as_of == as_of
    mine = {(row.engine, row.task): row for row in read.rows()}
    there = {(row["engine"], row["task"]): row for row in rows}
    out = [f"only in one: {key}" for key in sorted(mine.keys() ^ there.keys())]
    for key in sorted(mine.keys() & there.keys()):
        out += wrong_with(mine[key], there[key], as_of)
    held = {row["engine"] for row in rows if row["held"]}
    if read.held() != held:
        out.append(f"held: {read.held()}, {held}")
    return out


@pytest.fixture(scope="module")
def hire() -> tuple[str, list[Json]]:
    """The board of the invented hire fleet, and its due list."""
    return ondrel_page(), listed(ondrel(), "due")["rows"]


def test_every_figure_of_the_hire_fleet_is_read_back(hire: tuple[str, list[Json]]) -> None:
    text, rows = hire
    assert len(rows) > 900
    assert differences(text, rows, TODAY) == []


@pytest.mark.parametrize("which", ["tavvik", "pim"])
def test_every_figure_of_the_club_and_of_an_owner_is_read_back(which: str, tmp_path: Path) -> None:
    path = demo(tmp_path, which)
    rows = listed(path, "due")["rows"]
    assert len(rows) > 20
    assert differences(page(path), rows, TODAY) == []


def test_every_figure_of_a_board_in_the_past_is_read_back() -> None:
    then = date(2025, 12, 31)
    rows = listed(ondrel(), "due", as_of=then)["rows"]
    assert any(row["status"] == "overdue" for row in rows)
    assert differences(page(ondrel(), then), rows, then) == []


def test_every_figure_of_sixty_engines_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    as_of = build(path, 60, 2)
    rows = listed(path, "due", as_of=as_of)["rows"]
    assert len(rows) == 60 * 12
    assert differences(page(path, as_of), rows, as_of) == []


def test_every_figure_of_random_fleets_is_read_back() -> None:
    told = 0
    for tables, texts, as_of in sample(60):
        facts = facts_in_memory(tables, texts, USES, as_of)
        rows = due_rows(facts.rows, facts.held)
        assert differences(board(facts), rows, as_of) == []
        told += len(rows)
    assert told > 300


def test_a_bar_beyond_two_limits_is_marked_as_cut(hire: tuple[str, list[Json]]) -> None:
    text, rows = hire
    lives = {(row["engine"], row["task"]): row["life_used"] for row in rows}
    cut = {(row.engine, row.task) for row in Board(text).rows() if row.is_cut}
    assert ("OB-21", "swivel grease") in cut  # 787 % of its life
    assert ("OB-12", "tank flush") not in cut  # 152 %
    assert all((lives[key] or 3) > 2 for key in cut)


def test_rows_stand_in_the_order_of_lists_and_engines_by_their_worst(
    hire: tuple[str, list[Json]],
) -> None:
    text, rows = hire
    engines = list(dict.fromkeys(row["engine"] for row in rows))
    by_engine = [
        (row["engine"], row["task"]) for engine in engines for row in rows
        if row["engine"] == engine
    ]  # fmt: skip
    assert [(row.engine, row.task) for row in Board(text).rows()] == by_engine
