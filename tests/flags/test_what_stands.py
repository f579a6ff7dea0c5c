"""Findings and incidents that wait for their jobs, and which of them hold an engine."""

from __future__ import annotations

import pytest

from fleetcare.flags.flag import held_engines
from tests.flags.small_fleets import BOOK, entry, seen

DAY = "2031-07-18"


def weak(on: str = "2031-07-10", engine: str = "Plover") -> dict[str, str]:
    return entry(on, "finding", engine, part="tell-tale", condition="weak")


def strong(on: str, engine: str = "Plover") -> dict[str, str]:
    """The job after a weak stream, with its proof."""
    return done(on, "tell-tale hose", engine, part="tell-tale", condition="strong cool")


def done(on: str, task: str, engine: str = "Plover", **cells: str) -> dict[str, str]:
    return entry(on, "job", engine, task=task, **cells)


def test_a_finding_of_weight_stop_holds_and_names_its_jobs() -> None:
    now = seen(DAY, weak())
    (item,) = now.stands["Plover"]
    assert (item.what, item.wanted, item.holds) == (
        "tell-tale weak", ("intakes look", "tell-tale hose"), True
    )  # fmt: skip
    assert item.words(now.as_of) == "tell-tale weak, 10 Jul"
    assert held_engines(now.stands) == {"Plover"}
    assert now.flags["Plover"].held


def test_each_job_takes_itself_off_and_the_last_one_lifts_the_hold() -> None:
    one = seen(DAY, weak(), done("2031-07-11", "intakes look"))
    assert one.stands["Plover"][0].wanted == ("tell-tale hose",)
    both = seen(DAY, weak(), done("2031-07-11", "intakes look"), strong(DAY))
    assert both.stands == {}


def test_without_its_proof_a_job_is_done_and_the_hold_stays() -> None:
    both = seen(DAY, weak(), done("2031-07-11", "intakes look"), done(DAY, "tell-tale hose"))
    (item,) = both.stands["Plover"]
    assert item.wanted == ("tell-tale hose",)
    assert item.proof == "tell-tale strong cool"
    assert both.flags["Plover"].held
    alone = entry(DAY, "finding", "Plover", part="tell-tale", condition="strong cool")
    assert seen(DAY, weak(), alone, done(DAY, "tell-tale hose")).stands["Plover"][0].wanted == (
        "intakes look",
    )


@pytest.mark.parametrize(("on", "stands"), [("2031-07-09", True), ("2031-07-10", False)])
def test_a_job_before_the_finding_answers_nothing_one_of_its_day_does(
    on: str, stands: bool
) -> None:
    now = seen(DAY, weak(), done(on, "intakes look"), strong(on))
    assert bool(now.stands) == stands


def test_another_job_lifts_no_hold() -> None:
    assert seen(DAY, weak(), done(DAY, "impeller")).flags["Plover"].held


def test_the_same_finding_again_waits_again() -> None:
    jobs = [done("2031-07-11", "intakes look"), strong("2031-07-11")]
    now = seen(DAY, weak(), *jobs, weak("2031-07-15"))
    assert [item.words(now.as_of) for item in now.stands["Plover"]] == ["tell-tale weak, 15 Jul"]


def test_a_finding_of_weight_act_asks_and_does_not_hold() -> None:
    now = seen(DAY, entry("2031-07-10", "finding", "Knot", part="swivel", condition="stiff"))
    (item,) = now.stands["Knot"]
    assert not item.holds
    assert item.wanted
    assert held_engines(now.stands) == set()


@pytest.mark.parametrize("word", ["clean", "dark", "not looked at"])
def test_fine_watch_and_not_looked_at_ask_for_nothing(word: str) -> None:
    found = entry("2031-07-10", "finding", "Plover", part="gear oil", condition=word)
    assert seen(DAY, found).stands == {}


def test_a_finding_made_at_a_job_counts_like_any_other() -> None:
    milky = done("2031-07-10", "gear oil", part="gear oil", condition="milky")
    now = seen(DAY, milky)
    assert now.flags["Plover"].held
    # the change of oil at which it was found cannot be the one that follows the leak's repair
    assert now.stands["Plover"][0].wanted == ("gearcase pressure", "gear oil")
    pressed = done("2031-07-11", "gearcase pressure", part="gearcase test", condition="holds")
    assert seen(DAY, milky, pressed).stands["Plover"][0].wanted == ("gear oil",)
    clean = done("2031-07-12", "gear oil", part="gear oil", condition="clean")
    assert seen(DAY, milky, pressed, clean).stands == {}


def test_pieces_missing_are_said_with_their_count() -> None:
    lost = entry("2031-07-10", "finding", "Plover", part="impeller vanes", condition="missing",
                 count="2")  # fmt: skip
    assert seen(DAY, lost).stands["Plover"][0].what == "impeller vanes missing (2)"
    halfway = seen(DAY, lost, done(DAY, "impeller"))
    assert halfway.stands["Plover"][0].wanted == ("water tube",)


def test_an_overheating_holds_until_its_jobs_are_logged() -> None:
    hot = entry("2031-07-10", "incident", "Plover", condition="overheated")
    wanted = BOOK.incidents["overheated"].holds_until
    assert seen(DAY, hot).stands["Plover"][0].wanted == wanted
    jobs = [done("2031-07-11", task) for task in wanted]
    assert seen(DAY, hot, *jobs[:-1]).flags["Plover"].held
    assert seen(DAY, hot, *jobs).stands == {}


def test_a_job_of_a_part_the_engine_has_not_is_not_waited_for() -> None:
    hot = entry("2031-07-10", "incident", "Knot", condition="overheated")
    assert "relief valve" not in seen(DAY, hot).stands["Knot"][0].wanted


def test_an_incident_that_holds_nothing_does_not_stand() -> None:
    assert BOOK.incidents["grounded"].holds_until == ()
    assert seen(DAY, entry(DAY, "incident", "Plover", condition="grounded")).stands == {}


def test_what_was_found_later_is_not_known_before() -> None:
    assert seen("2031-07-09", weak()).stands == {}


def test_a_retired_engine_holds_nobody_up() -> None:
    assert seen(DAY, weak(), entry("2031-07-12", "retire", "Plover")).stands == {}


def test_those_that_hold_stand_first() -> None:
    stiff = entry("2031-07-01", "finding", "Plover", part="swivel", condition="stiff")
    assert [item.holds for item in seen(DAY, stiff, weak()).stands["Plover"]] == [True, False]
