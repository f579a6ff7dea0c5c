"""A fleet of one engine alone: the same rows to the last digit, by the product and the oracle."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from fleetcare.due.rows import due_and_standing, due_list
from fleetcare.exchange.alone import alone
from fleetcare.exchange.csvfile import by_column
from fleetcare.exchange.take_out import tables as tables_of
from fleetcare.flags.standing import standing
from fleetcare.fleet.settings import Settings, as_pairs
from fleetcare.log.entries import Delivery, Retire
from fleetcare.log.faults import faults
from fleetcare.log.history import history
from fleetcare.rules.shipped import examples_folder
from fleetcare.show.log_text import entry_words
from fleetcare.show.values import due_values
from fleetcare.store.fetch import live_entries
from tests.built import book_of, fleet_of
from tests.exchange.bring import SHIPPED, TODAY, new, take
from tests.oracle.cases import tables
from tests.oracle.oracle import due_rows
from tests.oracle.rule_texts import toml
from tests.oracle.sample import Drawn, sample
from tests.oracle.strategies import USES

FLEETS, PARTS = 80, 4


def engines_of(drawn: Drawn) -> list[str]:
    """The engines known on the day and not retired."""
    given, _, as_of = drawn
    return [row["engine"] for row in given["engines"] if row["since"] <= as_of.isoformat()]


def cut(drawn: Drawn, name: str) -> Any:
    given, texts, as_of = drawn
    fleet, entries = fleet_of(given)
    book = book_of(texts, USES)
    ruleset = book.set_of(fleet.engines[name].rules or fleet.settings.rules)
    return alone(fleet, entries, ruleset, name, as_of), book


def back_in_tables(made: Any) -> dict[str, list[dict[str, str]]]:
    """The cut as tables, read back with the reader of tables."""
    import csv
    import io

    found = {}
    for name, text in tables_of(made.fleet, made.entries).items():
        head, *rows = csv.reader(io.StringIO(text, newline=""))
        placed, wrong = by_column(name, head, list(enumerate(rows, 2)))
        assert wrong == []
        found[name.removesuffix(".csv")] = [row for _, row in placed]
    return found


def different(drawn: Drawn) -> Iterator[str]:
    """What differs between an engine's rows in the whole fleet and alone."""
    given, _, as_of = drawn
    fleet, entries = fleet_of(given)
    for name in engines_of(drawn):
        made, book = cut(drawn, name)
        past = history(made.entries, as_of)
        assert faults(made.fleet, past, sorted(made.fleet.engines)) == []
        before = due_list(fleet, history(entries, as_of), book, as_of, name)
        after = due_list(made.fleet, past, book, as_of, name)
        for one, other in zip(before, after, strict=True):
            was, now = due_values(one, False), due_values(other, False)
            yield from (f"{name}/{one.task}: {key} {was[key]!r}, alone {now[key]!r}"
                        for key in was if was[key] != now[key])  # fmt: skip


@pytest.mark.parametrize("part", range(PARTS))
def test_every_row_of_an_engine_alone_is_that_of_the_whole_fleet(part: int) -> None:
    drawn = sample(FLEETS)[part::PARTS]
    assert [list(different(item)) for item in drawn] == [[]] * len(drawn)


@pytest.mark.parametrize("part", range(PARTS))
def test_the_oracle_finds_the_same_rows_in_the_tables_of_the_engine_alone(part: int) -> None:
    swapped = [
        item for item in sample(FLEETS) if any(row["event"] == "swap" for row in item[0]["log"])
    ]
    assert len(swapped) > 15
    for drawn in swapped[part::PARTS][:6]:
        given, texts, as_of = drawn
        sets = {name: tomllib.loads(text) for name, text in texts.items()}
        whole = due_rows(given, sets, USES, as_of)
        for name in engines_of(drawn):
            made, _ = cut(drawn, name)
            found = due_rows(back_in_tables(made), sets, USES, as_of)
            mine = [row for row in found if row["engine"] == name]
            assert mine == [row for row in whole if row["engine"] == name]


def test_an_engine_alone_brings_its_donors_retired_and_no_other() -> None:
    swaps = [
        item for item in sample(FLEETS) if any(row["event"] == "swap" for row in item[0]["log"])
    ]
    for drawn in swaps:
        for name in engines_of(drawn):
            made, _ = cut(drawn, name)
            others = set(made.fleet.engines) - {name}
            past = history(made.entries, drawn[2])
            assert all(past.of(other).retired is not None for other in others)
            told = {row["engine"] for row in back_in_tables(made)["log"] if row["engine"]}
            assert told <= set(made.fleet.engines)


def test_an_engine_that_was_in_no_swap_comes_without_any_other() -> None:
    plain = [
        item for item in sample(FLEETS) if all(row["event"] != "swap" for row in item[0]["log"])
    ]
    assert plain
    for drawn in plain:
        for name in engines_of(drawn):
            made, _ = cut(drawn, name)
            assert list(made.fleet.engines) == [name]


def test_the_same_engine_gets_the_same_fleet_id_and_another_another() -> None:
    drawn = sample(FLEETS)[0]
    names = engines_of(drawn)
    ids = [cut(drawn, name)[0].fleet.id for name in names]
    assert len(set(ids)) == len(names)
    assert ids == [cut(drawn, name)[0].fleet.id for name in names]
    assert fleet_of(drawn[0])[0].id not in ids


# -- by hand, with the shipped rules --------------------------------------------------------------

YARD = """
boat Otter, hire, lies in fresh from 2031-01-01
boat Heron, hire, lies in salt from 2031-01-01
engine Plover on Otter since 2031-05-01, reading 100, 6 hp, 4 stroke
engine Teal on Heron since 2031-05-01, reading 40, 6 hp, 4 stroke
engine Snipe in store since 2031-05-01, reading 7, 6 hp, 4 stroke
"""
DAY = date(2031, 9, 1)


def alone_of(lines: str, name: str = "Plover", texts: dict[str, str] | None = None) -> Any:
    fleet, entries = fleet_of(tables(YARD + lines))
    book = SHIPPED if texts is None else book_of(texts, USES)
    return alone(fleet, entries, book.set_of("small-petrol"), name, DAY), fleet, entries, book


def lines_of(made: Any, engine: str) -> list[str]:
    """What the log alone says of an engine, without its retirement."""
    return [
        f"{entry.on} {entry_words(entry)}" for entry in made.entries
        if engine in (getattr(entry, "engine", ""), getattr(entry, "other", ""))
        and not isinstance(entry, Retire)
    ]  # fmt: skip


def test_of_a_donor_goes_along_what_tells_of_its_component_and_no_more() -> None:
    made, *_ = alone_of(
        """
        Teal impeller done at 44 on 2031-06-01
        Teal plugs done at 48 on 2031-06-10
        Teal thermostat found opens in range at 49 on 2031-06-11
        Teal impellerish found odd on 2031-06-12   # nobody knows of what
        Teal impeller done at 50 on 2031-06-30   # the day before: still its own gearcase
        Plover swaps gearcase with Teal on 2031-07-01
        Teal gear oil done at 50 on 2031-07-01   # the swap comes first: Plover's gearcase by now
        Teal reads 61 on 2031-07-20
        Teal reads 70 on 2031-08-20
        Snipe reads 9 on 2031-08-20
        """
    )
    assert lines_of(made, "Teal") == [
        "2031-06-01 Teal: impeller done at 44 h",
        "2031-06-10 Teal reads 48",
        "2031-06-11 Teal reads 49",
        "2031-06-12 Teal: found impellerish odd",
        "2031-06-30 Teal: impeller done at 50 h",
        "2031-07-01 Plover and Teal exchanged their gearcase",
        "2031-07-01 Teal reads 50",
    ]
    assert sorted(made.fleet.engines) == ["Plover", "Teal"]
    retired = [entry for entry in made.entries if isinstance(entry, Retire)]
    assert [(entry.engine, entry.on, entry.note) for entry in retired] == [
        ("Teal", date(2031, 7, 1), "in this fleet only for what came from it to Plover")
    ]


def test_the_first_figure_after_a_donor_parted_goes_along_since_it_tells_the_hours() -> None:
    made, _, _, book = alone_of(
        """
        Teal reads 44 on 2031-06-01
        Plover swaps gearcase with Teal on 2031-07-01
        Teal reads 64 on 2031-07-21
        Teal reads 99 on 2031-08-20
        """
    )
    assert lines_of(made, "Teal")[-1] == "2031-07-21 Teal reads 64"
    (row,) = (row for row in due_list(made.fleet, history(made.entries, DAY), book, DAY, "Plover")
              if row.task == "gear oil")  # fmt: skip
    # Teal ran 4 h to 1 June, and of the 20 h over the 50 days to 21 July those of 29 days
    assert row.hours_since == 400 + Fraction(2000 * 29, 50)


def test_a_job_that_restarts_the_clock_of_another_component_goes_along() -> None:
    text = toml("small-petrol", "", [
        {"name": "leg off", "title": "t", "component": "mid-section", "source": "s",
         "limits": {"hours": 100}, "restarts": ["gear oil"]},
        {"name": "gear oil", "title": "t", "component": "gearcase", "source": "s",
         "limits": {"hours": 50}},
    ])  # fmt: skip
    made, _, _, book = alone_of(
        """
        Teal leg off done at 44 on 2031-06-01
        Plover swaps gearcase with Teal on 2031-07-01
        """,
        texts={"small-petrol": text},
    )
    assert "2031-06-01 Teal: leg off done at 44 h" in lines_of(made, "Teal")
    (row,) = (row for row in due_list(made.fleet, history(made.entries, DAY), book, DAY, "Plover")
              if row.task == "gear oil")  # fmt: skip
    assert row.last_done_on == date(2031, 6, 1).toordinal()


def test_a_hold_that_came_with_a_component_holds_alone_too() -> None:
    made, fleet, entries, book = alone_of(
        """
        Teal impeller found vanes missing on 2031-06-01
        Teal overheated on 2031-06-02
        Plover swaps gearcase with Teal on 2031-07-01
        """
    )
    whole = standing(fleet, history(entries, DAY), book, DAY)["Plover"]
    assert whole and whole[0].holds
    assert standing(made.fleet, history(made.entries, DAY), book, DAY) == {"Plover": whole}


def test_a_component_is_followed_through_every_engine_to_the_last_time_it_was_here() -> None:
    made, *_ = alone_of(
        """
        Snipe swaps gearcase with Teal on 2031-06-01
        Plover swaps gearcase with Teal on 2031-07-01     # Snipe's gearcase is here now
        Plover swaps carburettor with Snipe on 2031-07-02
        Teal swaps gearcase with Snipe on 2031-08-01      # no longer of anything of Plover's
        """
    )
    assert [line for line in lines_of(made, "Teal") if "exchanged" in line] == [
        "2031-06-01 Snipe and Teal exchanged their gearcase",
        "2031-07-01 Plover and Teal exchanged their gearcase",
    ]
    assert sorted(made.fleet.engines) == ["Plover", "Snipe", "Teal"]
    assert (
        "its own gearcase is under Snipe now; what happened to it there stays behind" in made.left
    )


def test_what_stays_behind_is_said() -> None:
    fleet, _ = fleet_of(tables(YARD))
    shelf = Delivery(on=date(2031, 6, 1), number=1, item="impeller", count=2)
    made = alone(fleet, [shelf], SHIPPED.set_of("small-petrol"), "Plover", DAY, withdrawn=2)
    assert made.entries == ()
    assert made.left == (
        "2 withdrawn entries stay behind; --html and --pdf print them",
        "parts on the shelf stay behind",
        "dates may differ by some days: forecasts borrow from the other engines of a fleet",
    )


def test_settings_of_the_workshop_and_its_feeds_stay_behind() -> None:
    fleet, _ = fleet_of(tables(YARD + "set hemisphere to southern"))
    full = replace(
        fleet.settings, feed_address="https://boats.example/f/", publish_folder="/srv", by="jetty",
        money="EUR", language="de", rules_folder="/srv/rules",
    )  # fmt: skip
    made = alone(replace(fleet, settings=full), [], SHIPPED.set_of("small-petrol"), "Plover", DAY)
    kept = {name: value for name, value in as_pairs(made.fleet.settings)
            if value != dict(as_pairs(Settings()))[name]}  # fmt: skip
    assert kept == {"hemisphere": "southern", "language": "de"}


@pytest.mark.parametrize("which", ["ondrel", "tavvik", "pim"])
def test_every_engine_of_an_example_stands_alone_as_in_its_fleet(
    which: str, tmp_path: Path
) -> None:
    with new(tmp_path / "whole.db") as file:
        take(file, examples_folder() / which)
        fleet, entries = file.fleet(), live_entries(file.log())
    past = history(entries, TODAY)
    rows, stands = due_and_standing(fleet, past, SHIPPED, TODAY)
    for name, engine in fleet.engines.items():
        ruleset = SHIPPED.set_of(engine.rules or fleet.settings.rules)
        made = alone(fleet, entries, ruleset, name, TODAY)
        alone_past = history(made.entries, TODAY)
        found, stand = due_and_standing(made.fleet, alone_past, SHIPPED, TODAY, name)
        assert [due_values(row, False) for row in found] == [
            due_values(row, False) for row in rows if row.engine == name
        ]
        assert stand.get(name) == stands.get(name)
