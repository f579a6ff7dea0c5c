"""The evening round: whose turn it is, the last figure, and what is to be expected."""

from __future__ import annotations

from datetime import date

import pytest

from fleetcare.errors import Fault
from fleetcare.flags.round import Answer, Turn, turns
from tests.flags.small_fleets import BOOK, entry, seen

DAY = "2031-07-18"


def round_of(*log: dict[str, str]) -> dict[str, Turn]:
    now = seen(DAY, *log)
    found = turns(now.fleet, now.history, BOOK, date.fromisoformat(DAY))
    return {turn.engine: turn for turn in found}


def test_every_engine_that_can_run_has_a_turn_in_the_order_of_names() -> None:
    assert list(round_of()) == ["Knot", "Plover", "Teal"]
    away = [entry("2031-07-01", "store", "Teal"), entry("2031-07-01", "lay-up", "Knot")]
    assert list(round_of(*away)) == ["Plover"]
    assert "Plover" not in round_of(entry("2031-07-01", "retire", "Plover"))


def said(turn: Turn, text: str) -> Answer:
    answer = turn.answer(text)
    assert isinstance(answer, Answer), answer
    return answer


def test_a_turn_shows_the_last_figure_its_age_and_what_to_expect() -> None:
    turn = round_of(entry("2031-07-17", "reading", "Plover", reading="20.5"))["Plover"]
    assert turn.lines() == [
        "Plover (Lapwing)", "last 20.5, 17 Jul, yesterday", "expect 20.5–32.5",
    ]  # fmt: skip
    assert turn.expects(said(turn, "32.5"))
    assert not turn.expects(said(turn, "32.51"))
    assert turn.falls(said(turn, "20.4"))
    assert not turn.falls(said(turn, "20.5"))


def test_what_the_forecast_expects_stands_in_whole_tenths_that_hold_it() -> None:
    now = seen(DAY, entry("2031-07-17", "reading", "Plover", reading="58.9"))
    known = {"Plover": (6104, 6596), "Knot": (51, 333)}
    found = turns(now.fleet, now.history, BOOK, date.fromisoformat(DAY), known.get)
    by_engine = {turn.engine: turn for turn in found}
    plover, knot, teal = by_engine["Plover"], by_engine["Knot"], by_engine["Teal"]
    assert plover.lines()[-1] == "expect 61–66"
    assert [plover.expects(said(plover, text)) for text in ("60.9", "61", "66", "66.1")] == [
        False, True, True, False,
    ]  # fmt: skip
    assert knot.range == "0.5–3.4"
    assert not knot.expects(said(knot, "4"))
    assert teal.least == teal.last  # nothing known of it: the use's pace


def test_what_a_doubtful_figure_may_be_comes_with_its_command() -> None:
    turn = round_of(entry("2031-07-17", "reading", "Plover", reading="58.9"))["Plover"]
    ways = turn.doubt(said(turn, "80"))
    assert [command for _, command in ways] == [
        "", "fleetcare log Plover",
        "fleetcare reading Plover 80 --on 2031-07-18 --old-meter 58.9",
    ]  # fmt: skip
    assert ways[1][0] == "a slip before: 58.9 on 17 Jul was wrong, undo it"


@pytest.mark.parametrize("text", ["=", "0", " = "])
def test_an_engine_that_did_not_go_out_reads_as_before(text: str) -> None:
    found = round_of(entry("2031-07-17", "reading", "Plover", reading="20.5"))
    assert said(found["Plover"], text) == Answer(2050, is_reading=True, stayed=True)
    assert said(found["Knot"], text) == Answer(0, is_reading=False, stayed=True)
    assert found["Plover"].expects(said(found["Plover"], text))


def test_hires_are_taken_where_a_meter_is_owed_as_hours() -> None:
    turn = round_of()["Plover"]
    answer = said(turn, "9:30-12:15")
    assert (answer.value, answer.is_reading, answer.hire_time) == (275, False, True)
    assert turn.expects(answer)
    assert not turn.falls(answer)


def test_an_owners_hours_are_hire_time_only_when_times_are_given() -> None:
    turn = round_of()["Knot"]  # Dunlin is an owner's
    assert not said(turn, "2.75").hire_time
    assert said(turn, "9:30-12:15").hire_time
    assert isinstance(turn.answer("23:00-1:00"), Fault)


def test_what_the_day_has_already_stands_below_the_last_of_an_earlier_day() -> None:
    log = [entry("2031-07-10", "reading", "Plover", reading="20"),
           entry(DAY, "reading", "Plover", reading="24")]  # fmt: skip
    turn = round_of(*log)["Plover"]
    assert turn.done
    assert turn.lines()[1:] == ["last 20, 10 Jul, 8 days ago", "expect 20–35.8", "today already 24"]
    knot = round_of(
        entry("2031-07-10", "run", "Knot", hours="1"),
        entry(DAY, "run", "Knot", hours="2"),
        entry(DAY, "run", "Knot", hours="1.5"),
    )
    assert knot["Knot"].lines()[-1] == "today already 3.5 h"


def test_hours_logged_where_a_reading_is_owed_are_shown() -> None:
    turn = round_of(entry(DAY, "run", "Plover", hours="2"))["Plover"]
    assert turn.lines()[-1] == "2 h logged today, no reading"


def test_the_longer_ago_the_more_is_to_be_expected() -> None:
    near = round_of(entry("2031-07-17", "reading", "Plover", reading="20"))["Plover"]
    far = round_of(entry("2031-05-17", "reading", "Plover", reading="20"))["Plover"]
    assert far.most > near.most


def test_without_a_meter_hours_are_asked_for() -> None:
    turn = round_of(entry("2031-07-16", "run", "Knot", hours="2.5"))["Knot"]
    assert turn.lines() == ["Knot (Dunlin)", "last 2.5 h, 16 Jul, 2 days ago", "expect 0–12 h"]
    assert turn.asks == "hours run"
    assert not turn.metered
    assert not turn.hire  # Dunlin is an owner's


def test_an_engine_whose_meter_stopped_is_asked_for_hours_and_a_hire_boat_for_hire_time() -> None:
    stopped = entry("2031-07-01", "meter", "Plover", old_reading="20")
    turn = round_of(stopped)["Plover"]
    assert not turn.metered
    assert turn.hire


def test_a_meter_replaced_goes_on_from_its_first_figure() -> None:
    log = [
        entry("2031-07-10", "reading", "Plover", reading="20"),
        entry("2031-07-12", "meter", "Plover", old_reading="21", reading="0.5"),
    ]
    assert "last 0.5, 12 Jul, 6 days ago" in round_of(*log)["Plover"].lines()
    log.append(entry("2031-07-15", "reading", "Plover", reading="4"))
    assert "last 4, 15 Jul, 3 days ago" in round_of(*log)["Plover"].lines()


def test_a_figure_of_a_job_before_it_was_known_is_not_the_last() -> None:
    past = entry("2031-01-01", "job", "Teal", task="plugs", reading="280")
    assert "last 300, 1 Apr, 108 days ago" in round_of(past)["Teal"].lines()


@pytest.mark.parametrize(
    ("log", "engine"),
    [
        (entry(DAY, "reading", "Plover", reading="20"), "Plover"),
        (entry(DAY, "job", "Plover", task="plugs", reading="20"), "Plover"),
        (entry(DAY, "run", "Knot", hours="2"), "Knot"),
        (entry(DAY, "run", "Knot", fuel="2"), "Knot"),
    ],
)
def test_who_has_a_figure_of_the_day_is_done(log: dict[str, str], engine: str) -> None:
    assert not round_of()[engine].done
    assert round_of(log)[engine].done


def test_a_run_is_not_the_figure_that_a_meter_owes() -> None:
    assert not round_of(entry(DAY, "run", "Plover", hours="2"))["Plover"].done
