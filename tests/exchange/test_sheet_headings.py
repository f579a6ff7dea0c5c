"""Headings by their meaning: found below titles, in several languages, said or remembered."""

from __future__ import annotations

from typing import Any

import pytest

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import Asked, UndecidedError
from fleetcare.exchange.headings import key_of, meaning_of
from fleetcare.exchange.sources import read_found
from fleetcare.exchange.synonyms import _WORDS, BY_WORD, MEANINGS
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.sheets import bring, log_of, refusals, said, tried

Rows = list[str]


@pytest.mark.parametrize(
    "head",
    [
        "Date;Engine;Meter reading", "DATUM;Motor;Zählerstand", "datum;Motor-Nr.;Zaehlerstand",
        "Jour;Moteur;Compteur horaire", "Fecha;Motor;Horómetro", "Data;Motore;Contaore",
        "Datum;Buitenboordmotor;Urenteller", "Dato;Påhengsmotor;Timeteller",
        "Datum;Utombordare;Mätarställning", " date : ;\u200bEngine;Total hours (h)",
        "Date_;ENGINE_NAME;Hour meter [h]",
    ],
)  # fmt: skip
def test_headings_of_many_tongues_mean_the_same(fleet: FleetFile, sheet: Any, head: str) -> None:
    bring(fleet, sheet(head, "2026-05-01;Otter;120"))
    assert said(log_of(fleet)) == [("Reading", "2026-05-01", "Otter", 12000)]


def test_no_word_is_in_the_table_twice() -> None:
    words = [word.strip() for words in _WORDS.values() for word in words.split(";")]
    spaced = [" ".join(word.split()) for word in words]
    assert sorted(spaced) == sorted(set(spaced))
    assert all(key_of(word) == word for word in BY_WORD), "words stand as they are compared"
    assert {*BY_WORD.values()} - {"figure"} <= set(MEANINGS)


@pytest.mark.parametrize(
    ("heading", "meaning"),
    [
        ("Laufzeit (min)", "minutes"), ("Hours run [h]", "hours"), ("Hours (total)", "reading"),
        ("Hours", "figure"), ("Betriebsstunden", "figure"), ("Fuel (gal)", "fuel"),
        ("Weather", ""), ("", ""),
    ],
)  # fmt: skip
def test_units_and_brackets_are_understood(heading: str, meaning: str) -> None:
    assert meaning_of(heading, {}) == meaning


def test_titles_above_the_headings_are_passed_over(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(
        "Boat hire on the lake", "", "Boat: all;Season: 2026", "Date;Engine;Reading",
        "2026-05-01;Otter;120",
    )  # fmt: skip
    tables = read_found([path], Asked(), {}, fleet.fleet())
    assert tables.sheets[0].layout.header == 4
    assert bring(fleet, path).taken["readings"] == 1


def test_what_a_heading_means_may_be_said(fleet: FleetFile, sheet: Any) -> None:
    path = sheet("when it was;which;clock", "2026-05-01;Otter;120")
    with pytest.raises(RefusedError, match="no row holds two headings that are known") as caught:
        bring(fleet, path)
    assert "when it was | which | clock" in str(caught.value)
    maps = (("day", "When it was"), ("engine", "which"), ("reading", "CLOCK"))
    assert bring(fleet, path, maps=maps).taken["readings"] == 1


def test_what_is_missing_is_named_with_what_is_known(fleet: FleetFile, sheet: Any) -> None:
    with pytest.raises(RefusedError) as caught:
        bring(
            fleet, sheet("Date;Engine;hrs", "2026-05-01;Otter;120", ""), maps=(("ignore", "hrs"),)
        )
    text = str(caught.value)
    assert "no heading for a figure or a job" in text
    assert '"Date" is the day' in text
    assert '--map reading="HEADING"' in text


def test_what_was_said_goes_before_the_table(fleet: FleetFile, sheet: Any) -> None:
    path = sheet("Date;Engine;Reading;Clock", "2026-05-01;Otter;7;120")
    bring(fleet, path, maps=(("reading", "Clock"),))
    assert said(log_of(fleet)) == [("Reading", "2026-05-01", "Otter", 12000)]


def test_what_was_remembered_goes_before_the_table_and_what_is_said_before_that(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet("Date;Engine;Clock;Other", "2026-05-01;Otter;120;130")
    kept = {"clock": "reading", "a heading of another sheet": "on"}
    bring(fleet, path, kept=kept)
    bring(fleet, path, kept=kept, maps=(("ignore", "Clock"), ("reading", "Other")))
    assert [entry[3] for entry in said(log_of(fleet))] == [12000, 13000]


@pytest.mark.parametrize(
    ("head", "maps", "words"),
    [
        ("Date;Engine;Reading;Reading", (), 'columns C ("Reading") and D ("Reading") both mean'),
        ("Date;Engine;Date;Reading", (), 'A ("Date") and C ("Date") both mean the day'),
        ("Date;Datum;Engine;Reading", (), '--map on="Date"'),
        ("Date;Engine;Hours;Std", (), 'C ("Hours") and D ("Std") both mean hours'),
        ("Date;Engine;Reading;reading", (), "the same heading. Give one of them another"),
        ("Date;Engine;Clock;Clock", (("reading", "clock"),), "have the same heading"),
        ("Date;Engine;Reading", (("note", "Remark"),), 'no heading "Remark" for --map note'),
        ("Date;Engine;Reading", (("readng", "Reading"),), 'Did you mean "reading"'),
        ("Date;Engine;Reading", (("reading", "Date"), ("on", "date")), "given two meanings"),
        ("Date;Engine;Reading", (("reading", "--"),), "names no heading"),
    ],
)  # fmt: skip
def test_headings_that_could_be_taken_for_each_other_are_refused(
    fleet: FleetFile, sheet: Any, head: str, maps: Any, words: str
) -> None:
    with pytest.raises(RefusedError) as caught:
        bring(fleet, sheet(head, "2026-05-01;Otter;120;1"), maps=maps)
    assert words in str(caught.value)


def test_a_double_that_is_not_used_does_not_matter(fleet: FleetFile, sheet: Any) -> None:
    path = sheet("Date;Engine;Reading;Guest;Guest", "2026-05-01;Otter;120;a;b")
    assert bring(fleet, path).taken["readings"] == 1


def test_a_column_of_ours_too_many_is_named(fleet: FleetFile, sheet: Any) -> None:
    with pytest.raises(RefusedError, match='the table log, which has no heading "colour"'):
        bring(fleet, sheet("on,event,engine,hours,colour", "2026-05-01,run,Otter,1,red"))


def test_headings_that_a_terminal_would_obey_are_made_harmless(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet("Date;Engine;Reading;\x1b[31mGuest", "2026-05-01;Otter;120;a")
    heads = read_found([path], Asked(), {}, fleet.fleet()).sheets[0].layout.heads
    assert "\x1b" not in "".join(heads)


# -- the meter's figure, or a day's hours -------------------------------------------------------


def test_a_column_that_never_falls_and_passes_24_is_the_meters(
    fleet: FleetFile, sheet: Any
) -> None:
    bring(fleet, sheet("Datum;Motor;Std", "1.5.26;Otter;101", "2.5.26;Otter;103,5"))
    assert [entry[0] for entry in said(log_of(fleet))] == ["Reading", "Reading"]


def test_a_column_that_falls_and_stays_below_24_is_a_days(fleet: FleetFile, sheet: Any) -> None:
    bring(fleet, sheet("Datum;Motor;Std", "1.5.26;Knot;5", "2.5.26;Knot;3,5"))
    assert said(log_of(fleet)) == [
        ("Run", "2026-05-01", "Knot", 500), ("Run", "2026-05-02", "Knot", 350)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (("1.5.26;Knot;2", "2.5.26;Knot;3"), "none falls, none is above 24"),
        (("1.5.26;Otter;101", "2.5.26;Otter;100"), "is neither the meter's figure throughout"),
        ((), "none falls, none is above 24"),
    ],
)
def test_a_column_that_could_be_both_or_neither_is_asked_about(
    fleet: FleetFile, sheet: Any, rows: tuple[str, ...], words: str
) -> None:
    path = sheet("Datum;Motor;Std", *rows)
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, path)
    assert caught.value.option == "hours"
    assert words in str(caught.value)
    assert "--hours total" in str(caught.value)


def test_of_one_day_figures_may_come_in_any_order(fleet: FleetFile, sheet: Any) -> None:
    rows = ("1.5.26;Otter;103", "1.5.26;Otter;101", "2.5.26;Otter;104")
    assert bring(fleet, sheet("Datum;Motor;Std", *rows)).taken["readings"] == 3


def test_beside_a_meter_a_column_of_hours_is_the_days(fleet: FleetFile, sheet: Any) -> None:
    bring(fleet, sheet("Date;Engine;Hours;Reading", "2026-05-01;Otter;2;102"))
    assert said(log_of(fleet)) == [("Run", "2026-05-01", "Otter", 10200, 200)]


def test_what_a_heading_says_by_itself_is_not_changed_by_the_way(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet("Date;Engine;Hours run", "2026-05-01;Knot;2")
    with pytest.raises(RefusedError, match='--map reading="Hours run" does'):
        bring(fleet, path, hours="total")
    assert bring(fleet, path, hours="daily").taken["runs"] == 1


# -- a column an engine -------------------------------------------------------------------------


def test_a_column_an_engine_is_read_cell_by_cell(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(
        "Week of;Otter;Heron;Total;Remarks", "Date;Otter;Heron;Total;Remarks",
        "2026-05-01;101;102;203;", "2026-05-08;103,5;–;;rain", "2026-05-15;ca. 105;104;209;",
        "Total;;;;", "soon;106;;;",
    )  # fmt: skip
    report = tried(fleet, path)
    assert report.taken["readings"] == 4
    assert {account.place: account.what for account in report.accounts if account.what} == {
        "hours.csv:5: Otter": '"ca. 105" is not sure',
        "hours.csv:6": "a total",
        "hours.csv:7: Otter": '"soon" is not a day',
    }
    assert report.rows == 7


def test_a_sheet_of_one_engine_says_it_once(fleet: FleetFile, sheet: Any) -> None:
    path = sheet("Date;Reading", "2026-05-01;120")
    with pytest.raises(RefusedError, match=r"(?s)no heading for the engine.*or --engine NAME"):
        bring(fleet, path)
    assert bring(fleet, path, engine="otter").taken["readings"] == 1


def test_the_figure_that_a_cell_of_another_column_holds_is_not_taken(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet("Date;Engine;Reading;Weather", "2026-05-01;Otter;;12")
    assert refusals(tried(fleet, path)) == {}
    assert tried(fleet, path).skipped == 1
