"""The evening round: whose turn it is, the last figure, and what is to be expected."""

from __future__ import annotations

from datetime import date

import pytest

from fleetcare.flags.round import Turn, turns
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


def test_the_question_names_the_last_figure_and_the_most_to_expect() -> None:
    yesterday = entry("2031-07-17", "reading", "Plover", reading="20.5")
    turn = round_of(yesterday)["Plover"]
    assert turn.question() == "Plover (Lapwing): was 20.5 on 17 Jul, up to 32.5"
    assert turn.expects(3250)
    assert not turn.expects(3251)
    assert turn.doubt(4000) == "40 is more than expected, 32.5 at most. Keep it?"


def test_the_longer_ago_the_more_is_to_be_expected() -> None:
    near = round_of(entry("2031-07-17", "reading", "Plover", reading="20"))["Plover"]
    far = round_of(entry("2031-05-17", "reading", "Plover", reading="20"))["Plover"]
    assert far.most > near.most


def test_without_a_meter_hours_are_asked_for() -> None:
    turn = round_of(entry("2031-07-16", "run", "Knot", hours="2.5"))["Knot"]
    assert turn.question() == "Knot (Dunlin): hours run, was 2.5 on 16 Jul, up to 12"
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
    assert "was 0.5 on 12 Jul" in round_of(*log)["Plover"].question()
    log.append(entry("2031-07-15", "reading", "Plover", reading="4"))
    assert "was 4 on 15 Jul" in round_of(*log)["Plover"].question()


def test_a_figure_of_a_job_before_it_was_known_is_not_the_last() -> None:
    past = entry("2031-01-01", "job", "Teal", task="plugs", reading="280")
    assert "was 300 on 1 Apr" in round_of(past)["Teal"].question()


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
