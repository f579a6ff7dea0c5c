"""Days of sheets: one reading or none, against a reference that tries every way to read one."""

from __future__ import annotations

import itertools
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.exchange.cell import Cell
from fleetcare.exchange.day_cells import (
    EPOCHS,
    MONTH_OF,
    DayRules,
    Vote,
    day_of,
    vote,
    year_in_front,
)

DMY, MDY, NONE = DayRules("dmy"), DayRules("mdy"), DayRules()
APRIL = date(2026, 4, 3)
QUICK = settings(deadline=None, derandomize=True, database=None, max_examples=300)


@pytest.mark.parametrize(
    "cell",
    [
        "2026-04-03", "20260403", "2026/04/03", "2026.4.3", " 2026-04-03 ", "2026-04-03 14:30",
        "2026-04-03T14:30:00", "2026-04-03T14:30:00.123Z", "3.4.26", "03.04.2026", "3. 4. 2026",
        "3.4.'26", "Fr 3.4.26", "Fri, 3 Apr 2026", "Friday 3 April 2026", "3 Apr 2026",
        "3. April 2026", "3-Apr-2026", "3-Apr-26", "April 3, 2026", "Apr 3 2026", "3rd Apr 2026",
        "3 avril 2026", "3 de abril de 2026", "3 aprile 2026", "2026-04-03 2:30 pm",
        "２０２６-04-03", "2026\u201304\u201303", "\u200e2026-04-03",
        datetime(2026, 4, 3), datetime(2026, 4, 3, 23, 59), date(2026, 4, 3), 46115, 46115.75,
        20260403,
    ],
)  # fmt: skip
def test_days_as_people_write_them_have_one_reading(cell: Cell) -> None:
    assert day_of(cell, "Day", NONE) == APRIL


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("03/04/2026", "could be 2026-04-03 or 2026-03-04"),
        ("3-4-26", "could be 2026-04-03 or 2026-03-04"),
        ("31/02/2026", "no day of the calendar"), ("2026-02-30", "no day of the calendar"),
        ("0000-00-00", "no day of the calendar"), ("1900-01-00", "no day of the calendar"),
        ("29.2.2025", "no day of the calendar"), ("45/45/2026", "no day of the calendar"),
        ("1900-01-01", "before there were such engines"), (12, "before there were"),
        ("3 Apr", "has no year"), ("3.4.", "has no year"), ("3/4", "has no year"),
        ("Apr 3", "has no year"),
        ("46115", "a spreadsheet's day number, then 2026-04-03"),
        ("Sa 3.4.26", "another day of the week"), ("Apr-26", "is not a day"),
        ("today", "is not a day"), ("soon", "is not a day"), ("12,5", "is not a day"),
        ("٣.٤.٢٠٢٦", "is not a day"), ("3 Abc 2026", "is not a day"), ("", "is empty"),
        (time(3, 4), "is a time"), (timedelta(hours=3), "is a time"), (-1, "is no day"),
        (1e12, "is no day"), (float("nan"), "is no day"), (20261303, "no day of the calendar"),
    ],
)  # fmt: skip
def test_days_with_two_readings_or_none_are_refused_in_words(cell: Cell, said: str) -> None:
    assert said in str(day_of(cell, "Day", NONE))


def test_what_a_person_says_of_a_column_decides() -> None:
    assert day_of("03/04/2026", "", DMY) == APRIL
    assert day_of("04/03/2026", "", MDY) == APRIL
    assert isinstance(day_of("13/04/2026", "", MDY), Fault)
    assert isinstance(day_of("04/13/2026", "", DMY), Fault)
    assert day_of("3 Apr", "", DayRules(year=2026)) == APRIL
    assert day_of("3.4.", "", DayRules(year=2026)) == APRIL
    assert day_of("3/4", "", DayRules("dmy", 2026)) == APRIL
    assert day_of("46115", "", DayRules(serials="1900")) == APRIL
    assert "put the day first" in str(day_of("3.4.26", "", MDY))
    assert day_of("13.4.26", "", MDY) == date(2026, 4, 13)


def test_a_workbook_that_counts_from_1904_is_1462_days_ahead() -> None:
    """Office Open XML, 18.17.4.1: the two date systems are 1,462 days apart."""
    late = DayRules(epoch=EPOCHS["1904"])
    assert day_of(46115 - 1462, "", late) == day_of(46115, "", NONE) == APRIL
    assert day_of("44653", "", DayRules(serials="1904")) == APRIL


def test_the_column_votes_and_says_which_row_proved_it() -> None:
    open_ = [(2, "03/04/2026"), (3, "04/04/2026")]
    assert vote(open_) == Vote(None, None, 1, "03/04/2026")
    assert vote([*open_, (4, "13/04/2026")]).dmy == 4
    assert vote([*open_, (4, "04-13-2026"), (5, "4/14/26")]).mdy == 4
    both = vote([(2, "13/04/2026"), (3, "04/13/2026")])
    assert (both.dmy, both.mdy) == (2, 3)
    assert vote([(2, "2026-04-03"), (3, "3.4.26"), (4, APRIL), (5, 46115)]).open == 0


@pytest.mark.parametrize(
    ("days", "asked"),
    [
        (("26-04-03",), True), (("26-04-03", "26-04-05", "26-05-01"), True),
        (("26.04.03", "26.04.04"), True), (("26/04/03", "25/11/02", "25/11/09"), True),
        (("13-04-26",), False), (("13-04-26", "14-04-26"), False), (("3.4.26",), False),
        (("26.04.24", "25.04.24"), False), (("26-04-26",), False), (("26-04-2003",), False),
        (("2026-04-03",), False), (("26-04-03", "26-04-31", "26-05-01"), False),
        (("26-04-03", "27-04-03"), False), (("31-12-25",), False), (("26-Apr-03",), False),
    ],
)  # fmt: skip
def test_years_of_two_figures_are_asked_about_where_they_may_stand_in_front(
    days: tuple[str, ...], asked: bool
) -> None:
    """ISO 8601:1988 allowed 26-04-03 for a day of 2026, and sheets are still kept so."""
    column = list(enumerate(days, 2))
    assert bool(year_in_front(column, date(2026, 7, 18))) == asked


def test_the_year_once_said_to_stand_in_front_is_read_there() -> None:
    front = DayRules("ymd")
    assert {day_of(cell, "", front) for cell in ("26-04-03", "26/4/3", "26.04.03")} == {APRIL}
    assert day_of("2026-04-03", "", front) == day_of("3.4.2026", "", front) == APRIL
    assert "no day of the calendar" in str(day_of("26-13-03", "", front))
    assert "could be" in str(day_of("03/04/2026", "", front))


def test_no_beginning_of_a_month_means_two_months() -> None:
    for word, month in MONTH_OF.items():
        longer = {MONTH_OF[other] for other in MONTH_OF if other.startswith(word)}
        assert longer == {month}, word
    assert "jui" not in MONTH_OF


# -- every way to read one ---------------------------------------------------------------------


def ways(first: int, second: int, year: int) -> set[date]:
    found = set()
    for day, month in ((first, second), (second, first)):
        try:
            found.add(date(year, month, day))
        except ValueError:
            continue
    return found


def test_every_slashed_day_of_two_years_is_read_in_its_one_way_or_refused() -> None:
    counts = {0: 0, 1: 0, 2: 0}
    for first, second, year in itertools.product(range(34), range(34), (2024, 2025)):
        text, expected = f"{first}/{second}/{year}", ways(first, second, year)
        found = day_of(text, "", NONE)
        counts[len(expected)] += 1
        if len(expected) == 1:
            assert found == next(iter(expected)), text
        else:
            assert isinstance(found, Fault), text
            assert all(day.isoformat() in found.what for day in expected)
        for rules, day, month in ((DMY, first, second), (MDY, second, first)):
            whole = day_of(text, "", rules)
            assert isinstance(whole, Fault) or (whole.day, whole.month) == (day, month)
            assert isinstance(whole, Fault) == (
                date(year, month, day) not in expected if _is_day(year, month, day) else True
            )
    assert min(counts.values()) > 100


def _is_day(year: int, month: int, day: int) -> bool:
    try:
        date(year, month, day)
    except ValueError:
        return False
    return True


@QUICK
@given(st.dates(date(1950, 1, 1), date(2099, 12, 31)))
def test_every_day_is_read_from_every_writing_that_has_one_reading(on: date) -> None:
    writings: list[Cell] = [
        on.isoformat(), f"{on:%Y%m%d}", f"{on:%Y/%m/%d}", f"{on.day}.{on.month}.{on.year}",
        f"{on:%d.%m.%Y}", f"{on.day} {on:%B} {on.year}", f"{on:%B} {on.day}, {on.year}",
        f"{on:%a} {on.day} {on:%b} {on.year}", (on - date(1899, 12, 30)).days,
        datetime(on.year, on.month, on.day, 8, 15), int(f"{on:%Y%m%d}"),
    ]  # fmt: skip
    assert {day_of(cell, "", NONE) for cell in writings} == {on}
    assert day_of(f"{on:%d/%m/%Y}", "", DMY) == day_of(f"{on:%m/%d/%Y}", "", MDY) == on
    if on.year >= 2000:
        assert day_of(f"{on:%d.%m.%y}", "", NONE) == on


@QUICK
@given(
    st.text(max_size=14) | st.text("0123456789./- aprilMonday,:T", max_size=16) | st.floats()
    | st.integers() | st.times() | st.timedeltas() | st.datetimes()
)  # fmt: skip
def test_no_cell_at_all_is_more_than_a_day_or_a_refusal(cell: Cell) -> None:
    for rules in (NONE, DMY, MDY, DayRules("dmy", 2026, "1900")):
        assert isinstance(day_of(cell, "Day", rules), date | Fault)
