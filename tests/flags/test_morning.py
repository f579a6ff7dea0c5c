"""The verdict on every boat, and what is said with it."""

from __future__ import annotations

from fleetcare.flags.morning import Verdict, morning
from tests.flags.small_fleets import Seen, entry, seen

DAY = "2031-07-18"


def verdicts(now: Seen) -> dict[str, Verdict]:
    found = morning(now.rows, now.flags, now.fleet, now.history, now.as_of)
    return {item.boat: item for item in found}


def fresh(*but: str) -> list[dict[str, str]]:
    """The jobs after which Knot, in salt water, goes without a word; some left out."""
    tasks = (
        "flush", "intakes look", "proof run", "kill cord", "gear oil peek", "swing test",
        "swivel grease", "tilt grease", "linkage grease", "steering grease", "tell-tale hose",
        "tank flush", "gear oil", "propeller", "anodes", "engine oil",
    )  # fmt: skip
    return [entry(DAY, "job", "Knot", task=task) for task in tasks if task not in but]


def test_a_boat_with_nothing_pressing_goes() -> None:
    now = seen(DAY, *fresh(), engines="Knot")
    boat = verdicts(now)["Dunlin"]
    assert (boat.verdict, boat.reason) == ("go", "")


def test_a_hold_says_what_was_found_and_every_job_wanted() -> None:
    hot = entry(DAY, "incident", "Knot", condition="overheated")
    boat = verdicts(seen(DAY, *fresh(), hot, engines="Knot"))["Dunlin"]
    assert boat.verdict == "held"
    # the jobs that an overheating makes due are due on its day and no precursors yet
    assert boat.reason.startswith("overheated, 18 Jul; wanted: impeller, thermostat, head gasket; ")


def test_what_leads_to_overheating_is_said_to() -> None:
    boat = verdicts(seen(DAY, engines="Teal"))["Lapwing"]
    assert boat.verdict == "go, but"
    assert "(leads to overheating)" in boat.reason
    assert boat.reason.endswith(" more")


def test_a_boat_is_as_bad_as_its_worst_engine() -> None:
    weak = entry(DAY, "finding", "Plover", part="tell-tale", condition="weak")
    both = verdicts(seen(DAY, weak))["Lapwing"]
    assert (both.engine, both.verdict) == ("Plover", "held")


def test_the_worst_boat_stands_first() -> None:
    weak = entry(DAY, "finding", "Knot", part="tell-tale", condition="weak")
    assert list(verdicts(seen(DAY, weak))) == ["Dunlin", "Lapwing"]


def test_engines_laid_up_or_in_store_have_no_verdict() -> None:
    away = [entry("2031-07-01", "lay-up", "Knot"), entry("2031-07-01", "store", "Teal")]
    assert list(verdicts(seen(DAY, *away, engines="Knot Teal"))) == []


def test_a_precursor_put_off_is_still_named_and_another_job_is_not() -> None:
    tasks = ("swivel grease", "linkage grease")
    plain = verdicts(seen(DAY, *fresh(*tasks), engines="Knot"))["Dunlin"]
    assert all(f"{task} overdue since" in plain.reason for task in tasks)
    later = {"until": "2031-08-01", "note": "no gun"}
    put_off = [entry(DAY, "put-off", "Knot", task=task, **later) for task in tasks]
    boat = verdicts(seen(DAY, *fresh(*tasks), *put_off, engines="Knot"))["Dunlin"]
    assert boat.verdict == "go, but"
    assert boat.reason.endswith("(leads to seized swivel), put off to 1 Aug")
    assert "linkage grease" not in boat.reason


def test_the_age_of_the_figures_counts_readings_runs_and_the_first_figure() -> None:
    assert verdicts(seen(DAY, engines="Plover"))["Lapwing"].reading_age_days == 108
    read = entry("2031-07-08", "reading", "Plover", reading="20")
    assert verdicts(seen(DAY, read, engines="Plover"))["Lapwing"].reading_age_days == 10
    assert verdicts(seen(DAY, engines="Knot"))["Dunlin"].reading_age_days is None
    for cells in ({"hours": "2"}, {"fuel": "3"}):
        ran = entry("2031-07-17", "run", "Knot", **cells)
        assert verdicts(seen(DAY, ran, engines="Knot"))["Dunlin"].reading_age_days == 1


def test_a_job_known_from_the_past_is_no_figure_of_today() -> None:
    past = entry("2031-01-01", "job", "Teal", task="plugs", reading="280")
    assert verdicts(seen(DAY, past, engines="Teal"))["Lapwing"].reading_age_days == 108
