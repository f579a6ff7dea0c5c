"""The daily words: readings, runs, jobs, findings, incidents, swaps, jobs put off."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import fleetcare, one_line, refused, row, rows, written


def hours_of(engine: str, task: str = "plugs") -> float:
    hours: float = row(engine, task)["hours_since"]
    return hours


# -- readings -----------------------------------------------------------------------------------


def test_a_reading_says_its_number_and_how_to_take_it_back(small: Path) -> None:
    said = fleetcare("reading", "Plover", "262.5", "--by", "jetty", "--note", "wet")
    assert said.lines[0] == (
        "stored entry 3: 2026-07-18 Plover reads 262.5 (fleetcare undo 3 takes it back)"
    )
    assert fleetcare("log", "Plover").lines[-1].endswith("Plover reads 262.5 (jetty) - wet")
    assert hours_of("Plover") == 12.5


def test_a_figure_below_another_of_its_day_says_that_the_higher_one_counts(small: Path) -> None:
    fleetcare("reading", "Plover", 2620)  # a slip
    said = fleetcare("reading", "Plover", 262)
    assert "too, and the highest of a day counts" not in fleetcare("reading", "Plover", 2621).out
    assert said.lines[-1] == (
        "  Plover read 2620 on 18 Jul too, and the highest of a day counts. If that was a slip: "
        "fleetcare log Plover shows the entry to undo"
    )
    told = fleetcare("done", "Plover", "plugs", "--reading", 262).out
    assert "Plover read 2621 on 18 Jul too" in told
    fleetcare("undo", 3)
    fleetcare("undo", 5)
    assert "too, and" not in fleetcare("reading", "Plover", 263).out


def test_the_first_figure_of_a_new_meter_is_not_below_the_old_ones_last(small: Path) -> None:
    fleetcare("reading", "Plover", 260)
    assert "counts" not in fleetcare("reading", "Plover", 0, "--old-meter", 260).out
    assert "counts" not in fleetcare("reading", "Plover", 1).out


@pytest.mark.parametrize("typed", ["262.5", "262,5", "262:30", "262h30", "262.50 h"])
def test_a_figure_is_typed_in_any_of_these_ways(small: Path, typed: str) -> None:
    fleetcare("reading", "Plover", typed)
    assert hours_of("Plover") == 12.5


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("yesterday", "2026-07-17"),
        ("1 day ago", "2026-07-17"),
        ("16 days ago", "2026-07-02"),
        ("2026-07-04", "2026-07-04"),
        ("20260704", "2026-07-04"),
    ],
)
def test_a_day_is_typed_in_any_of_these_ways(small: Path, typed: str, day: str) -> None:
    assert f": {day} Plover" in fleetcare("reading", "Plover", 251, "--on", typed).out


def test_a_falling_meter_names_the_three_possibilities(small: Path) -> None:
    fleetcare("reading", "Plover", 300, "--on", "2026-05-02")
    said = one_line(refused(small, "reading", "Plover", 30))
    assert said == (
        'fleetcare: reading: engine "Plover" reads 30.0 on 2026-07-18 but read 300.0 on '
        "2026-05-02. A slip now: give the right figure. A slip before: fleetcare log Plover shows "
        "the entry to undo. Another meter: fleetcare reading Plover 30.0 --on 2026-07-18 "
        "--old-meter 300.0"
    )
    fleetcare(*said.split("Another meter: fleetcare ")[1].split())
    assert hours_of("Plover") == 50.0


def test_a_replaced_meter_runs_on_without_a_step(small: Path) -> None:
    fleetcare("reading", "Plover", "0.5", "--old-meter", 260, "--on", "2026-07-01")
    fleetcare("reading", "Plover", "7.5")
    assert hours_of("Plover") == 17.0


def test_a_meter_that_rolled_over_runs_on(small: Path) -> None:
    fleetcare("engine", "add", "Teal", "--reading", 9990, "--digits", 4, "--boat", "Lapwing",
              "--since", "2026-07-01")  # fmt: skip
    said = fleetcare("reading", "Teal", 5, "--rolled-over")
    assert said.out.count("stored entry") == 2
    assert hours_of("Teal") == 15.0


def test_a_stopped_meter_leaves_the_runs(small: Path) -> None:
    fleetcare("reading", "Plover", 260, "--stopped", "--on", "2026-07-01")
    fleetcare("run", "Plover", 3, "--on", "2026-07-02")
    assert hours_of("Plover") == 13.0
    assert "has no meter" in one_line(refused(small, "reading", "Plover", 265))


def test_a_meter_fitted_counts_from_its_first_figure(small: Path) -> None:
    fleetcare("run", "Knot", 3, "--on", "2026-07-02")
    assert "--fitted" in one_line(refused(small, "reading", "Knot", 0))
    fleetcare("reading", "Knot", 10, "--fitted", "--on", "2026-07-10")
    fleetcare("reading", "Knot", 14)
    assert hours_of("Knot") == 7.0


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("Plover", "-5"), "below 0"),
        (("Plover", "--", "-5"), "is negative"),
        (("Plover", "1,234"), "could be 1.234 or 1234"),
        (("Plover", "9999999"), "absurdly large"),
        (("Plover", "26o"), "takes a number such as 12.5"),
        (("Plover", "260:75"), "more than 59 minutes"),
        (("Plover", "nan"), "takes a number"),
        (("Plover", "3000"), "more than 24 h a day"),
        (("Plover",), "what does the meter show?"),
        (("Plover", "260", "--old-meter", "270", "--fitted"), "one of them"),
        (("Plover", "240", "--on", "2026-03-01"), "before the fleet knew it"),
        (("Plovr", "260"), 'no engine "Plovr". Did you mean "Plover"?'),
        (("Plover", "260", "--on", "2026-07-19"), "lies in the future (today is 2026-07-18)"),
        (("Plover", "260", "--on", "03/04/2026"), "could be 2026-04-03 or 2026-03-04"),
        (("Plover", "260", "--on", "3.4.26"), "could be 2026-04-03 or 2026-03-04"),
        (("Plover", "260", "--on", "2026-02-30"), "is no day of the calendar"),
        (("Plover", "260", "--on", "last week"), "is not a day. Write it as YYYY-MM-DD"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(
    small: Path, words: tuple[str, ...], hint: str
) -> None:
    assert hint in one_line(refused(small, "reading", *words))


# -- runs ---------------------------------------------------------------------------------------


def test_a_run_of_hours_in_a_named_water(small: Path) -> None:
    fleetcare("run", "Knot", "3.5", "--water", "fresh")
    fleetcare("run", "Knot", "1:30", "--on", "yesterday", "--hire-time")
    assert hours_of("Knot") == 5.0
    assert "ran 3.5 h in fresh" in fleetcare("log").out
    assert "ran 1.5 h (hire time)" in fleetcare("log").out


def test_fuel_stands_for_hours(small: Path) -> None:
    # 6 hp at half of 0.31 l per hp and hour burns 0.93 l/h: our design choice, see engines.py
    fleetcare("run", "Knot", "--fuel", "9.3")
    assert hours_of("Knot") == 10.0


def test_fuel_is_taken_in_us_gallons_where_that_is_set(small: Path) -> None:
    # 1 US gallon = 231 cubic inches = 3.785411784 l: NIST Handbook 44, appendix C
    fleetcare("settings", "fuel_unit", "US gallons")
    fleetcare("run", "Knot", "--fuel", 2)
    assert written(small)["log"][-1][11] == 757  # hundredths of a litre
    assert hours_of("Knot") == round(7.57 / 0.93, 2)


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("Knot", "25"), "cannot have run 25 h on 2026-07-18: a day has 24"),
        (("Knot",), "how long did it run?"),
        (("Knot", "3", "--fuel", "2"), "how long did it run?"),
        (("Knot", "--fuel", "900"), "burned more on 2026-07-18 than a day allows"),
        (("Knot", "--fuel", "999999"), "cannot have burned so much"),
        (("Knot", "-3"), "below 0"),
        (("Kno", "3"), 'Did you mean "Knot"?'),
    ],
)
def test_a_run_that_cannot_be_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "run", *words))


def test_two_runs_of_more_than_a_day_are_refused(small: Path) -> None:
    fleetcare("run", "Knot", 20)
    assert "more than a day" in one_line(refused(small, "run", "Knot", 5))


# -- jobs ---------------------------------------------------------------------------------------


def test_a_job_says_when_it_is_next_due(small: Path) -> None:
    said = fleetcare("done", "Plover", "gear oil", "--reading", 255, "--found", "clean")
    assert said.lines[0].startswith(
        "stored entry 3: 2026-07-18 Plover: gear oil done at 255 h, found gear oil clean"
    )
    assert any(line.startswith("  Plover: gear oil next due ") for line in said.lines)
    assert row("Plover", "gear oil")["last_done_hours"] == 255.0


def test_several_jobs_share_a_command_and_a_finding_goes_where_its_word_fits(small: Path) -> None:
    fleetcare("done", "Plover", "Gear Oil", "impeller", "plugs", "--found", "supple")
    log = "\n".join(fleetcare("log").lines[-3:])
    assert "impeller done, found impeller vanes supple" in log
    assert log.count("found") == 1
    assert log.count("done") == 3


def test_a_job_named_twice_in_one_command_is_logged_once(small: Path) -> None:
    assert fleetcare("done", "Plover", "plugs", "PLUGS").out.count("stored entry") == 1


@pytest.mark.parametrize("day", ["2026-07-17", "2026-07-18"])
def test_the_same_job_within_a_day_is_refused_in_a_script(small: Path, day: str) -> None:
    fleetcare("done", "Plover", "plugs", "--by", "workshop", "--on", "2026-07-17")
    said = one_line(refused(small, "done", "Plover", "plugs", "--on", day))
    assert said == (
        "fleetcare: done: Plover: plugs is logged already by workshop on 2026-07-17 (entry 3). "
        "If it was done twice: --again"
    )
    fleetcare("done", "Plover", "plugs", "--on", day, "--again")


def test_two_days_later_the_same_job_is_taken(small: Path) -> None:
    fleetcare("done", "Plover", "plugs", "--on", "2026-07-16")
    fleetcare("done", "Plover", "plugs", "--on", "2026-07-18")


def test_a_withdrawn_job_is_no_double(small: Path) -> None:
    fleetcare("done", "Plover", "plugs")
    fleetcare("undo")
    fleetcare("done", "Plover", "plugs")


@pytest.mark.parametrize(("answer", "kept"), [("y\n", 2), ("n\n", 1)])
def test_on_a_terminal_a_double_is_asked_about(
    small: Path, monkeypatch: pytest.MonkeyPatch, answer: str, kept: int
) -> None:
    fleetcare("done", "Plover", "plugs")
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    said = fleetcare("done", "Plover", "plugs", stdin=answer, code=0 if kept == 2 else 1)
    assert "Log it again?" in said.out
    assert sum(event[7] == "plugs" for event in written(small)["log"]) == kept


def test_a_job_that_does_not_fit_is_taken_and_said(ondrel: Path) -> None:
    said = fleetcare("done", "OB-14", "relief valve")  # it is listed without one
    assert said.err == (
        "relief valve does not fit OB-14; kept all the same. Was it another engine?\n"
    )


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("Plover", "impellr"), 'task "impellr" is not in the rule set "small-petrol". Did you'),
        (("Plover", "impeller", "--found", "suple"), 'condition "suple" is not one of the words'),
        (("Plover", "plugs", "gear oil", "--found", "suple"), 'condition "suple"'),
        (("Plover", "impeller", "--found", "missing"), "how many? --count N goes with impeller"),
        (("Plover", "impeller", "--count", "2"), "--count goes with --found"),
        (("Plover", "plugs", "--found", "tight"), "has no part to judge"),
        (("Plover", "impeller", "--reading", "200"), "reads 200.0 on 2026-07-18 but read 250.0"),
        (("Plovr", "impeller"), 'Did you mean "Plover"?'),
    ],
)
def test_a_job_that_cannot_be_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "done", *words))


# -- findings and incidents ---------------------------------------------------------------------


def test_a_weak_tell_tale_holds_until_its_jobs_and_a_strong_stream(
    small: Path,
) -> None:
    said = fleetcare("found", "Plover", "Tell-Tale", "WEAK", "--by", "jetty")
    assert said.lines[1:] == [
        "  Plover is held: tell-tale weak, 18 Jul; wanted: intakes look, tell-tale hose",
        "    until intakes and outlet cleared and a strong stream seen; still weak: the impeller",
    ]
    assert rows("morning")[0]["verdict"] == "held"
    assert "wanted: tell-tale hose" in fleetcare("done", "Plover", "intakes look").out
    blind = fleetcare("done", "Plover", "tell-tale hose").out
    assert "Plover is still held" in blind and "to be seen: tell-tale strong cool" in blind
    proved = fleetcare("found", "Plover", "tell-tale", "strong cool")
    assert "  Plover is no longer held" in proved.lines


def test_missing_vanes_are_counted(small: Path) -> None:
    assert "how many? --count N" in one_line(
        refused(small, "found", "Plover", "impeller vanes", "missing")
    )
    said = fleetcare("found", "Plover", "impeller vanes", "missing", "--count", 2)
    assert "impeller vanes missing (2), 18 Jul; wanted: impeller, water tube" in said.out


def test_not_looked_at_is_an_answer(small: Path) -> None:
    assert "not looked at" in fleetcare("found", "Plover", "gear oil", "not looked at").out


def test_an_incident_says_what_it_holds_and_cautions(small: Path) -> None:
    said = fleetcare("incident", "Plover", "overheated", "--on", "2 days ago")
    assert "Plover is held: overheated, 16 Jul; wanted: impeller, thermostat" in said.out
    assert said.err.startswith("Caution: ")
    assert row("Plover", "impeller")["status"] == "overdue"


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("found", "Plover", "teltale", "weak"), 'part "teltale" is not a part conditions are'),
        (("found", "Plover", "teltale", "weak"), 'Did you mean "tell-tale"?'),
        (("found", "Plover", "tell-tale", "week"), "One of: strong cool, weak, pulsing"),
        (("found", "Plovr", "tell-tale", "weak"), 'Did you mean "Plover"?'),
        (("incident", "Plover", "overheatd"), 'is no incident. Did you mean "overheated"?'),
        (("incident", "Plover", "sank"), "One of: overheated, hot at speed"),
    ],
)
def test_a_word_nobody_knows_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, *words))


# -- swaps --------------------------------------------------------------------------------------


def test_a_swapped_gearcase_brings_its_clock(small: Path) -> None:
    said = fleetcare("swap", "Plover", "Spare", "gearcase", "--by", "workshop")
    assert "Plover and Spare exchanged their gearcase" in said.out
    assert row("Plover", "impeller")["status"] == "no record"
    assert row("Spare", "impeller")["last_done_on"] == "2026-03-20"
    assert "it carries that of Spare now" in fleetcare("engine", "show", "Plover").out


def test_several_components_go_in_one_command(small: Path) -> None:
    assert fleetcare("swap", "Plover", "Spare", "gearcase", "powerhead").out.count("stored") == 2


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("Plover", "Spare", "gearcas"), 'is no component. Did you mean "gearcase"?'),
        (("Plover", "Spare", "sail"), "One of: powerhead, mid-section, gearcase"),
        (("Plover", "Spar", "gearcase"), 'Did you mean "Spare"?'),
        (("Plover", "Plover", "gearcase"), "cannot swap with itself"),
    ],
)
def test_a_swap_that_cannot_be_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "swap", *words))


# -- jobs put off -------------------------------------------------------------------------------


def test_a_job_put_off_comes_back_by_itself_and_is_counted(small: Path) -> None:
    # gear oil of Plover has no record: it stays so, and is only put off
    words = ("put-off", "Plover", "gear oil", "--because", "parts on order")
    fleetcare(*words, "--on", "2026-07-01", "--until", "2026-07-10")
    fleetcare(*words, "--until", "2026-07-27")
    now = row("Plover", "gear oil")
    assert (now["put_off_until"], now["put_off_times"]) == ("2026-07-27", 2)
    assert now["because"] == "parts on order"
    assert row("Plover", "gear oil", "--as-of", "2026-07-05")["put_off_times"] == 1
    back = row("Plover", "gear oil", "--as-of", "2026-07-27")
    assert (back["put_off_until"], back["because"]) == (None, None)
    shown = " ".join(fleetcare("due", "--engine", "Plover").out.split())
    assert "put off to 27 Jul (2 times): parts on order" in shown


def test_a_precursor_put_off_stays_flagged(small: Path) -> None:
    fleetcare("incident", "Plover", "overheated", "--on", "2026-07-10")
    said = fleetcare(
        "put-off", "Plover", "passages", "--until", "2026-07-27", "--because", "no gun"
    )
    assert said.err == (
        "passages leads to overheating: overdue, or without a record, it is flagged all the same.\n"
    )
    assert fleetcare("due", "--check", code=3)
    assert row("Plover", "passages")["status"] == "overdue"


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("Plover", "gear oil", "--until", "2026-07-18"), "must lie after 2026-07-18"),
        (("Plover", "gear ol", "--until", "2026-07-27"), 'Did you mean "gear oil"'),
        (("Teal", "thermostat", "--until", "2026-07-27"), 'so "Teal" has no row of it'),
    ],
)
def test_what_cannot_be_put_off_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    fleetcare("engine", "add", "Teal", "--new", "--without", "thermostat")
    assert hint in one_line(refused(small, "put-off", *words, "--because", "x"))
