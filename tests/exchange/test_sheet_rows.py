"""Rows as people keep them: totals, blanks, merged names, nicknames, doubles, meters that fall."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fleetcare.errors import RefusedError
from fleetcare.exchange.accounts import RowsRefusedError, row_of, source_of
from fleetcare.exchange.asked import UndecidedError
from fleetcare.log import entries as kinds
from fleetcare.store.append import add_entries, withdraw
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import AT, TODAY, digest
from tests.exchange.sheets import (
    bring,
    log_of,
    refusals,
    rows_of,
    said,
    tried,
    verdicts,
)

READINGS = "Date;Engine;Reading;Note"
RUNS = "Date;Engine;Hours run;Note"
JOBS = "Date;Engine;Job;Reading;Found;Note;By"


def skips(report: Any) -> dict[int, str]:
    return {
        int(item.place.split(":")[1]): item.what
        for item in report.accounts
        if item.verdict == "skipped"
    }


# -- rows that hold nothing to take -------------------------------------------------------------


def test_blanks_totals_and_headings_between_rows_are_skipped_and_said(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet(
        RUNS, "May 2026;;;", "2026-05-01;Knot;2;", ";;;", "2026-05-02;Knot;3,5;", ";;5,5;",
        "Total;;5,5;", ";Average;2,75;", "Summe Mai:;;5,5;", " ; ;\u00a0;",
        "Date;Engine;Hours run;",
        "2026-06-01;Knot;4;", "2026-06-02;Knot;;out of use", "2026-06-03;Knot;-;",
        "Durchschnitt;;4;", "2026-06-04;Knot;1;Total loss of the prop",
    )  # fmt: skip
    report = bring(fleet, path)
    assert skips(report) == {
        2: "a heading between rows", 4: "blank", 6: "a total", 7: "a total", 8: "a total",
        9: "a total", 10: "blank", 11: "the headings again", 13: "no figure and no job",
        14: "no figure and no job", 15: "a total",
    }  # fmt: skip
    assert [entry[3] for entry in said(log_of(fleet))] == [200, 350, 400, 100]


def test_subtotals_as_spreadsheet_programs_put_them_in_are_skipped_and_said(
    fleet: FleetFile, sheet: Any
) -> None:
    path = sheet(
        RUNS, "2026-05-01;Knot;2;", "2026-05-02;Knot;3;", ";Knot Total;5;", "2026-05-02 Total;;3;",
        "2026-05-03;Otter;4;", ";Otter Ergebnis;4;", ";Grand Total:;9;", ";Gesamtergebnis;9;",
        "2026-05-04;Knot Total;1;",
    )  # fmt: skip
    report = tried(fleet, path)
    assert skips(report) == dict.fromkeys((4, 5, 7, 8, 9), "a total")
    assert list(refusals(report)) == [10]  # it has its day, so it may be an engine's


def test_an_engine_that_is_called_total_is_an_engine(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(RUNS, "2026-05-01;Total;2;")
    assert skips(tried(fleet, path)) == {2: "a total"}
    report = bring(fleet, path, names=(("Total", "Knot"),))
    assert report.taken["runs"] == 1


def test_a_row_without_day_and_name_that_is_no_sum_is_refused(fleet: FleetFile, sheet: Any) -> None:
    report = tried(fleet, sheet(RUNS, "2026-05-01;Knot;2;", ";;2;", "2026-05-02;Knot;1;", ";;9;"))
    assert refusals(report).keys() == {3, 5}  # of one figure a sum says nothing
    assert "is empty, and every row needs its day" in refusals(report)[3]


def test_blanks_are_filled_down_only_when_told(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(RUNS, "2026-05-01;Knot;2;", ";;2;", "2026-05-02;;1;", ";Otter;3;")
    report = tried(fleet, path)
    assert list(refusals(report)) == [3, 4, 5]
    assert "--fill-down on" in refusals(report)[3]
    assert "--fill-down engine" in refusals(report)[4]
    bring(fleet, path, fill_down=("on", "engine"))
    assert said(log_of(fleet)) == [
        ("Run", "2026-05-01", "Knot", 200), ("Run", "2026-05-01", "Knot", 200),
        ("Run", "2026-05-02", "Knot", 100), ("Run", "2026-05-02", "Otter", 300),
    ]  # fmt: skip


def test_a_row_to_be_filled_down_is_no_sum_of_those_above_it(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(RUNS, "2026-05-01;Knot;1;", ";;1;a", ";;2;")
    bring(fleet, path, fill_down=("on", "engine"))
    assert [entry[3] for entry in said(log_of(fleet))] == [100, 100, 200]


def test_a_place_is_taken_apart_whatever_the_names_in_it() -> None:
    for place, source, row in (
        ("hours.csv:17", "hours.csv", 17), ("hours.xlsx:Hours 2026!7", "hours.xlsx:Hours 2026", 7),
        ("hours.csv:5: Boat:7", "hours.csv", 5), ("a.xlsx:3!7: Boat 9", "a.xlsx:3", 7),
        ("2026:3.csv:5", "2026:3.csv", 5),
    ):  # fmt: skip
        assert (source_of(place), row_of(place)) == (source, row)


# -- names --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["Otter", " otter ", "OTTER", "Ｏtter", "Ot\u200bter", "Otter\xa0"]
)
def test_a_name_is_the_same_whatever_its_case_and_blanks(
    fleet: FleetFile, sheet: Any, name: str
) -> None:
    bring(fleet, sheet(READINGS, f"2026-05-01;{name};120;"))
    assert said(log_of(fleet)) == [("Reading", "2026-05-01", "Otter", 12000)]


def test_a_name_that_is_nearly_right_is_never_acted_on(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(
        READINGS, "2026-05-01;Ottre;120;", "2026-05-02;Ottre;121;", "2026-05-02;Moor hen;5;"
    )
    before = digest(fleet.path)
    with pytest.raises(RowsRefusedError) as caught:
        bring(fleet, path)
    assert digest(fleet.path) == before
    told = refusals(caught.value.report)
    assert 'no engine "Ottre". Did you mean "Otter"? --as "Ottre=Otter" says so.' in told[2]
    assert '--as "Moor hen=NAME"' in told[4]
    names = (("ottre", "Otter"), ("Moor hen", "Heron"))
    with pytest.raises(RowsRefusedError, match="reads less"):
        bring(fleet, path, names=names)
    report = bring(fleet, path, names=names, keep_good=True)
    assert report.taken["readings"] == 2
    assert not fleet.fleet().has_engine("Ottre")  # used, not remembered


@pytest.mark.parametrize(
    "text", ["Otter/Heron", "Otter & Heron", "Otter und Heron", "Otter, Heron"]
)
def test_two_engines_in_one_cell_are_refused(fleet: FleetFile, sheet: Any, text: str) -> None:
    told = refusals(tried(fleet, sheet(READINGS, f"2026-05-01;{text};120;")))
    assert "names 2 engines. One row each." in told[2]


def test_a_boat_stands_for_the_one_engine_that_it_carried_that_day(
    fleet: FleetFile, sheet: Any
) -> None:
    with fleet.writing() as connection:
        add_entries(
            connection,
            [kinds.Store(on=date(2026, 5, 10), engine="Otter"),
             kinds.Mount(on=date(2026, 5, 12), engine="Heron", boat="Lapwing")],
            AT,
        )  # fmt: skip
    rows = ("2026-05-01;lapwing;120", "2026-05-11;Lapwing;121", "2026-05-13;Lapwing;130",
            "2026-05-13;Twin;120", "2026-05-13;Dunlin;120")  # fmt: skip
    report = tried(fleet, sheet("Date;Boat;Reading", *rows))
    told = refusals(report)
    assert 'no engine on boat "Lapwing" on 2026-05-11' in told[3]
    assert 'boat "Twin" carried "Port" and "Star". Name the engine.' in told[5]
    assert 'no engine on boat "Dunlin"' in told[6]
    taken = [entry for account in report.accounts for entry in account.entries]
    assert {entry.engine for entry in taken if isinstance(entry, kinds.Reading)} == {
        "Otter", "Heron"
    }  # fmt: skip


def test_an_engine_beside_a_boat_that_did_not_carry_it_is_worth_a_look(
    fleet: FleetFile, sheet: Any
) -> None:
    with fleet.writing() as connection:
        mount = kinds.Mount(on=date(2026, 5, 12), engine="Otter", boat="Twin")
        add_entries(connection, [mount], AT)
    report = tried(
        fleet,
        sheet(
            "Date;Engine;Boat;Job", "2026-05-11;Otter;lapwing;impeller",
            "2026-05-12;Otter;Lapwing;gear oil", "2026-05-13;Otter;Twin;plugs",
            "2026-05-13;Heron;Twin;plugs", "2026-05-13;Knot;;plugs", "2026-05-13;Star;Jetty;plugs",
            "2025-05-13;Port;Lapwing;plugs",
        ),
    )  # fmt: skip
    assert report.taken["jobs"] == 7
    assert report.doubts == {
        "rows whose engine the fleet had elsewhere than on their boat": [
            "hours.csv:3", "hours.csv:5"
        ]
    }  # fmt: skip


# -- days ---------------------------------------------------------------------------------------


def test_ambiguous_days_are_asked_about_unless_a_row_shows_it(fleet: FleetFile, sheet: Any) -> None:
    open_ = (READINGS, "03/04/2026;Otter;120;", "04/05/2026;Otter;121;")
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, sheet(*open_))
    text = str(caught.value)
    assert "--dates dmy  day first: 03/04/2026 is 2026-04-03" in text
    assert "--dates mdy  month first: 03/04/2026 is 2026-03-04" in text
    bring(fleet, sheet(*open_, "13/05/2026;Otter;122;"))
    assert [entry.on for entry in log_of(fleet)] == [
        date(2026, 4, 3), date(2026, 5, 4), date(2026, 5, 13)
    ]  # fmt: skip


def test_a_year_that_may_stand_in_front_is_asked_about(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(JOBS, "26-04-03;Otter;impeller;;;;", "26-04-05;Heron;impeller;;;;")
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, path)
    text = str(caught.value)
    assert "--dates dmy  day first: 26-04-03 is 2003-04-26" in text
    assert "--dates ymd  year first: 26-04-03 is 2026-04-03" in text
    assert "mdy" not in text
    bring(fleet, path, dates="ymd")
    assert [entry.on for entry in log_of(fleet)] == [date(2026, 4, 3), date(2026, 4, 5)]


def test_a_column_of_days_both_ways_is_refused_whole(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(READINGS, "13/05/2026;Otter;120;", "05/14/2026;Otter;121;")
    with pytest.raises(RefusedError, match=r"hours.csv:2 has the day first, hours.csv:3 the month"):
        bring(fleet, path)
    assert list(refusals(tried(fleet, path, dates="dmy"))) == [3]


def test_days_to_come_and_days_from_before_the_engine_are_refused(
    fleet: FleetFile, sheet: Any
) -> None:
    rows = ("2026-07-19;Otter;120;", "2026-07-18;Otter;121;", "2025-12-31;Otter;99;")
    told = refusals(tried(fleet, sheet(READINGS, *rows)))
    assert "2026-07-19 lies in the future. Is the clock right?" in told[2]
    assert '"Otter" is known since 2026-01-01 only, and this lies before' in told[4]
    assert list(told) == [2, 4]


def test_a_job_from_before_the_engine_was_known_is_taken(fleet: FleetFile, sheet: Any) -> None:
    bring(fleet, sheet(JOBS, "2025-10-01;Otter;impeller;90;;;"))
    assert said(log_of(fleet)) == [("Job", "2025-10-01", "Otter", "impeller", 9000)]


def test_texts_of_day_numbers_are_asked_about(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(READINGS, "46143;Otter;120;", "46144;Otter;121;")
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, path)
    assert "--serial-dates 1900  46143 is 2026-05-01" in str(caught.value)
    assert bring(fleet, path, serials="1900").taken["readings"] == 2
    mixed = sheet(READINGS, "2026-05-03;Otter;122;", "46146;Otter;123;", "2026-05-05;Otter;124;")
    assert "--serial-dates" in refusals(tried(fleet, mixed))[3]


# -- what the log cannot hold -------------------------------------------------------------------


def test_one_figure_too_high_is_the_one_that_is_named(fleet: FleetFile, sheet: Any) -> None:
    rows = [f"2026-05-{day:02};Otter;{100 + day};" for day in range(1, 29)]
    rows[4] = "2026-05-05;Otter;150;"
    told = refusals(tried(fleet, sheet(READINGS, *rows)))
    assert list(told) == [6]
    assert '"Otter" reads 150 here, but 106 on 2026-05-06 and after it' in told[6]


def test_a_meter_that_begins_again_is_named_with_the_three_ways_out(
    fleet: FleetFile, sheet: Any
) -> None:
    rows = [f"2026-05-{day:02};Otter;{100 + day};" for day in range(1, 20)]
    rows += [f"2026-05-{day:02};Otter;{day - 19};" for day in range(20, 29)]
    told = refusals(tried(fleet, sheet(READINGS, *rows)))
    assert list(told) == list(range(21, 30))
    assert {text.split(": ", 1)[1].split(". ")[0] for text in told.values()} == {
        '"Otter" reads less than the 119 it read on 2026-05-19'
    }
    assert "A slip now, or a slip before" in told[21]
    assert "fleetcare reading Otter 1 --on 2026-05-20 --old-meter 119" in told[21]


def test_a_figure_above_what_the_log_has_later_is_named_too(fleet: FleetFile, sheet: Any) -> None:
    with fleet.writing() as connection:
        reading = kinds.Reading(on=date(2026, 6, 1), engine="Otter", reading=13000)
        add_entries(connection, [reading], AT)
    rows = ("2026-05-01;Otter;140;", "2026-05-02;Otter;110;", "2026-06-02;Otter;129;")
    assert list(refusals(tried(fleet, sheet(READINGS, *rows)))) == [2, 4]


def test_more_than_24_hours_a_day_are_refused_and_more_than_14_worth_a_look(
    fleet: FleetFile, sheet: Any
) -> None:
    rows = ("2026-01-02;Otter;125;", "2026-01-03;Otter;140;", "2026-01-04;Otter;141;")
    report = tried(fleet, sheet(READINGS, *rows))
    assert list(refusals(report)) == [2]
    assert report.doubts == {"figures that rise by more than 14 hours a day": ["hours.csv:3"]}
    runs = ("2026-05-01;Knot;24,5;", "2026-05-02;Knot;15;", "2026-05-03;Knot;14;")
    report = tried(fleet, sheet(RUNS, *runs))
    assert "24.5 h on one day, which has 24" in refusals(report)[2]
    assert report.doubts == {"days of more than 14 hours": ["hours.csv:3"]}


def test_of_one_day_no_figure_is_more_than_24_hours_above_another(
    fleet: FleetFile, sheet: Any
) -> None:
    rows = ("2026-06-01;Otter;110;", "2026-06-01;Otter;1010;", "2026-06-02;Heron;102;")
    told = refusals(tried(fleet, sheet(READINGS, *rows)))
    assert list(told) == [3]
    assert "would have run more than 24 h a day from 110 on 2026-06-01" in told[3]
    rows = ("2026-06-01;Otter;134;", "2026-06-01;Otter;110;", "2026-06-02;Otter;135;")
    assert bring(fleet, sheet(READINGS, *rows)).taken["readings"] == 3
    told = refusals(tried(fleet, sheet(READINGS, "2026-06-02;Otter;160;")))
    assert "would have run more than 24 h a day from 135 on 2026-06-02" in told[2]


@pytest.mark.parametrize(
    ("rows", "row", "against"),
    [
        (("2026-01-02;Otter;190",), 2, "from 100 on 2026-01-01"),
        (("2026-01-02;Otter;190", "2026-01-20;Otter;195", "2026-01-21;Otter;196"), 2,
         "from 100 on 2026-01-01"),
        (("2026-01-10;Otter;120", "2026-01-11;Otter;160", "2026-01-12;Otter;180",
          "2026-01-13;Otter;200"), 2, "until 160 on 2026-01-11"),
    ],
)  # fmt: skip
def test_a_meter_that_rises_too_fast_is_told_from_which_figure_to_which(
    fleet: FleetFile, sheet: Any, rows: tuple[str, ...], row: int, against: str
) -> None:
    told = refusals(tried(fleet, sheet("Date;Engine;Reading", *rows)))
    assert list(told) == [row]
    assert f"would have run more than 24 h a day {against}" in told[row]


def test_figures_of_an_engine_without_a_meter_are_refused(fleet: FleetFile, sheet: Any) -> None:
    told = refusals(tried(fleet, sheet(READINGS, "2026-05-01;Knot;120;")))
    assert '"Knot" has no meter' in told[2]


# -- doubles ------------------------------------------------------------------------------------


def test_the_same_file_again_adds_nothing_and_next_weeks_copy_only_the_new_rows(
    fleet: FleetFile, sheet: Any
) -> None:
    rows = [f"2026-05-0{day};Otter;{110 + day};" for day in range(1, 5)]
    assert verdicts(bring(fleet, sheet(READINGS, *rows))) == ["taken"] * 4
    assert verdicts(bring(fleet, sheet(READINGS, *rows))) == ["there already"] * 4
    again = [rows[0].replace("2026-05-01", "1.5.26") + "and a word more", *rows[1:]]
    report = bring(fleet, sheet(READINGS, *again, "2026-05-08;Otter;120;"))
    assert verdicts(report) == ["there already"] * 4 + ["taken"]


def test_what_was_withdrawn_does_not_come_back(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(READINGS, "2026-05-01;Otter;120;")
    bring(fleet, path)
    with fleet.writing() as connection:
        withdraw(connection, [1], TODAY, "jetty", AT)
    report = bring(fleet, path)
    assert verdicts(report) == ["there already"]
    assert report.doubts == {"rows withdrawn since, which stay so": ["hours.csv:2"]}


def test_equal_runs_are_as_many_runs_unless_told_and_are_said(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(RUNS, *["2026-05-01;Knot;2;"] * 3)
    report = tried(fleet, path)
    assert report.taken["runs"] == 3
    assert report.doubts == {
        "runs that say just what another row says, each taken": ["hours.csv:3", "hours.csv:4"]
    }
    assert verdicts(bring(fleet, path, once=True)) == ["taken", "skipped", "skipped"]
    assert verdicts(bring(fleet, path)) == ["there already", "taken", "taken"]
    assert verdicts(bring(fleet, path)) == ["there already"] * 3


def test_equal_readings_and_jobs_are_one_and_said(fleet: FleetFile, sheet: Any) -> None:
    report = bring(fleet, sheet(READINGS, *["2026-05-01;Otter;120;"] * 2))
    assert skips(report) == {3: "says the same as hours.csv:2"}
    path = sheet(JOBS, *["2026-05-01;Otter;impeller;;;;"] * 2)
    assert verdicts(bring(fleet, path)) == ["taken", "skipped"]
    assert verdicts(bring(fleet, path)) == ["there already", "skipped"]


def test_a_job_within_a_day_in_other_words_is_refused_unless_it_was_done_again(
    fleet: FleetFile, sheet: Any
) -> None:
    with fleet.writing() as connection:
        job = kinds.Job(on=date(2026, 5, 1), engine="Otter", task="impeller", by="jetty")
        add_entries(connection, [job], AT)
    rows = ("2026-05-02;Otter;impeller;120;;;", "2026-05-04;Otter;impeller;;;;",
            "2026-05-05;Otter;impeller;121;;;")  # fmt: skip
    told = refusals(tried(fleet, sheet(JOBS, *rows)))
    assert "stands already on 2026-05-01 (entry 1). If it was done twice: --again." in told[2]
    assert "stands already on 2026-05-04 (hours.csv:3)" in told[4]
    assert verdicts(bring(fleet, sheet(JOBS, *rows), again=True)) == ["taken"] * 3


# -- kinds of sheets ----------------------------------------------------------------------------


def test_a_log_sheet_holds_readings_runs_and_jobs_row_by_row(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(
        "Date;Engine;Meter;Hours run;Job;Found;Notes;Who",
        "2026-05-01;Otter;120;;;;first;mate",
        "2026-05-02;Otter;122;2;;;;",
        "2026-05-03;Otter;123;;Impeller, gear oil;;both;",
        "2026-05-04;Otter;125;2;plugs;;;",
        "2026-05-05;Otter;;;impeller;SUPPLE;;",
    )
    report = bring(fleet, path, again=True)
    assert said(log_of(fleet)) == [
        ("Reading", "2026-05-01", "Otter", 12000),
        ("Run", "2026-05-02", "Otter", 12200, 200),
        ("Job", "2026-05-03", "Otter", "impeller", 12300),
        ("Job", "2026-05-03", "Otter", "gear oil", 12300),
        ("Job", "2026-05-04", "Otter", "plugs", 12500),
        ("Run", "2026-05-04", "Otter", 200),
        ("Job", "2026-05-05", "Otter", "impeller"),
    ]
    first, *_, last = log_of(fleet)
    assert (first.note, first.by) == ("first", "mate")
    assert isinstance(last, kinds.Job)
    assert (last.part, last.condition) == ("impeller vanes", "supple")
    assert dict(+report.taken) == {"readings": 1, "runs": 1, "jobs": 3}
    assert report.entries == 7


def test_a_row_of_several_entries_is_taken_whole_or_not_at_all(
    fleet: FleetFile, sheet: Any
) -> None:
    head = "Date;Engine;Meter;Hours run;Job"
    rows = ("2026-05-02;Knot;;20;plugs", "2026-05-02;Knot;;5;impeller", "2026-05-03;Knot;;1;")
    report = bring(fleet, sheet(head, *rows), keep_good=True)
    assert verdicts(report) == ["taken", "refused", "taken"]
    assert {entry[3] for entry in said(log_of(fleet))} == {"plugs", 2000, 100}


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2026-05-01;Otter;impelller;;;;", '"propeller"? --as "impelller=impeller"'),
        ("2026-05-01;Otter;impeller, plugz;;;;", '--as "plugz=plugs"'),
        ("2026-05-01;Otter;impeller;;worn;;", "One of: supple"),
        ("2026-05-01;Otter;impeller;;worn;;", '--map note="Found"'),
        ("2026-05-01;Otter;impeller;;missing;;", "needs how many"),
        ("2026-05-01;Otter;linkage grease;;supple;;", "has no part to judge"),
        ("2026-05-01;Otter;;;supple;;", "a finding without a part or a job"),
    ],
)
def test_jobs_and_findings_that_are_not_known_are_refused_with_what_is(
    fleet: FleetFile, sheet: Any, row: str, words: str
) -> None:
    assert words in refusals(tried(fleet, sheet(JOBS, row)))[2]


def test_a_job_may_be_said_in_other_words(fleet: FleetFile, sheet: Any) -> None:
    path = sheet(JOBS, "2026-05-01;Otter;Impeller gewechselt;;wie neu;;")
    bring(fleet, path, names=(("impeller gewechselt", "impeller"), ("wie neu", "supple")))
    assert said(log_of(fleet)) == [("Job", "2026-05-01", "Otter", "impeller")]


def test_findings_have_their_part(fleet: FleetFile, sheet: Any) -> None:
    path = sheet("Date;Engine;Part;Found;Count", "2026-05-01;Otter;impeller vanes;missing;2")
    bring(fleet, path)
    (found,) = log_of(fleet)
    assert isinstance(found, kinds.Finding)
    assert (found.part, found.condition, found.count) == ("impeller vanes", "missing", 2)


def test_hires_out_and_in_count_as_hire_time(fleet: FleetFile, sheet: Any) -> None:
    bring(fleet, sheet("Date;Engine;Out;In", "2026-05-01;Knot;9:30;12:15", "2026-05-02;Knot;;"))
    bring(fleet, sheet(RUNS, "2026-05-03;Knot;9:30-12:15;", "2026-05-04;Knot;2,5;"))
    runs = [entry for entry in log_of(fleet) if isinstance(entry, kinds.Run)]
    assert [(run.hours, run.hire_time) for run in runs] == [
        (275, True), (275, True), (250, False)
    ]  # fmt: skip
    report = tried(fleet, sheet("Date;Engine;Out;In", "2026-05-05;Knot;12:00;9:00"))
    assert "comes back before it goes out" in refusals(report)[2]


def test_hires_may_be_parted_by_the_dash_that_spreadsheets_put_there(
    fleet: FleetFile, sheet: Any
) -> None:
    bring(fleet, sheet(RUNS, "2026-05-03;Knot;9:30\u201312:15;", "2026-05-04;Knot;9 – 10:30;"))
    bring(
        fleet, sheet("Date;Engine;Out", "2026-05-05;Knot;9–12", "2026-05-06;Knot;13h00\u201214h30")
    )
    assert [entry[3] for entry in said(log_of(fleet))] == [275, 150, 300, 150]


@pytest.mark.parametrize("text", ["2-3", "8 - 12", "2–3"])
def test_bare_figures_with_a_dash_are_hours_not_sure_or_times_and_refused(
    fleet: FleetFile, sheet: Any, text: str
) -> None:
    told = refusals(tried(fleet, sheet(RUNS, f"2026-05-03;Knot;{text};")))
    assert "o'clock, or" in told[2]
    assert ":00, or the one figure known" in told[2]


def test_fuel_counts_in_its_unit_and_not_beside_hours(fleet: FleetFile, sheet: Any) -> None:
    bring(fleet, sheet("Date;Engine;Fuel (gal)", "2026-05-01;Knot;1"))
    report = bring(fleet, sheet("Date;Engine;Hours run;Litres", "2026-05-02;Knot;2;3", ";;;"))
    first, second = log_of(fleet)
    assert isinstance(first, kinds.Run) and isinstance(second, kinds.Run)
    assert (first.fuel, second.hours, second.fuel) == (379, 200, None)
    assert report.doubts == {"rows with hours and fuel, of which the hours count": ["hours.csv:2"]}


@pytest.mark.parametrize(
    ("text", "water"),
    [("salt", 2), ("Salzwasser", 2), ("fresh", 0), ("Süßwasser", 0), ("BRACKISH", 1), ("", None)],
)
def test_waters_are_understood(fleet: FleetFile, sheet: Any, text: str, water: int | None) -> None:
    bring(fleet, sheet("Date;Engine;Hours run;Water", f"2026-05-01;Knot;1;{text}"))
    (run,) = log_of(fleet)
    assert isinstance(run, kinds.Run)
    assert run.water == water


def test_an_unknown_water_is_refused(fleet: FleetFile, sheet: Any) -> None:
    told = refusals(tried(fleet, sheet("Date;Engine;Hours run;Water", "2026-05-01;Knot;1;tea")))
    assert '"tea" is no water. One of fresh, brackish, salt.' in told[2]


def test_figures_rounded_to_hundredths_are_worth_a_look(fleet: FleetFile, sheet: Any) -> None:
    report = bring(fleet, sheet(RUNS, "2026-05-01;Knot;2.33333;", "2026-05-02;Knot;2.33;"))
    assert report.doubts == {"figures with more than two decimals, rounded": ["hours.csv:2"]}
    assert [entry[3] for entry in said(log_of(fleet))] == [233, 233]


def test_decimals_beside_times_are_worth_a_look(fleet: FleetFile, sheet: Any) -> None:
    rows = ("2026-05-01;Knot;2.30;", "2026-05-02;Knot;2.75;", "2026-05-03;Knot;2,5;")
    assert tried(fleet, sheet(RUNS, *rows)).doubts == {}
    report = tried(fleet, sheet(RUNS, *rows, "2026-05-04;Knot;2:30;"))
    assert report.doubts == {
        "figures like 12.30, read as 12.3 h, beside times like 12:30": ["hours.csv:2"]
    }


@pytest.mark.parametrize("text", ["#REF!", "#n/a", "(formula)"])
def test_an_error_that_a_sheet_shows_is_no_text_in_a_csv_either(
    fleet: FleetFile, sheet: Any, text: str
) -> None:
    report = tried(fleet, sheet(READINGS, f"2026-05-01;Otter;120;{text}", f"2026-05-02;{text};9;"))
    assert list(refusals(report)) == [2, 3]
    assert all(f'"{text}" is no text: the sheet shows' in why for why in refusals(report).values())


def test_every_fault_of_a_row_is_kept(fleet: FleetFile, sheet: Any) -> None:
    report = tried(fleet, sheet(READINGS, "soon;Otter;much;"))
    (account,) = rows_of(report)
    assert account.what == '"soon" is not a day'
    assert [fault.where for fault in account.more] == ["Reading"]
