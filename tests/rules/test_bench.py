"""Minutes and parts of jobs done together, worked by hand on a set of four tasks."""

from __future__ import annotations

from fleetcare.rules.bench import access_steps, minutes_of_visit, parts_of_visit
from fleetcare.rules.sets import RuleBook, read_set

TEXT = """
[set]
name = "four"
[access."cowl off"]
minutes = 2
source = "invented for this test"
[access."leg off"]
minutes = 25
source = "invented for this test"
consumes = [{ item = "screw", count = 2 }]
[access."powerhead off"]
minutes = 180
source = "invented for this test"
includes = ["leg off", "cowl off"]
consumes = [{ item = "base gasket" }]
[[task]]
name = "impeller"
title = "Fit an impeller"
component = "gearcase"
access = ["leg off"]
minutes = 20
parts = [{ item = "impeller kit" }]
leads_to = ["overheating"]
chain = "vanes shed, it overheats"
limits = { hours = 100, months = 12 }
source = "invented for this test"
[[task]]
name = "water tube"
title = "Clear the water tube"
component = "gearcase"
access = ["leg off", "cowl off"]
minutes = 10
limits = { hours = 100, months = 12 }
source = "invented for this test"
[[task]]
name = "exhaust"
title = "Clear the exhaust"
component = "powerhead"
access = ["powerhead off"]
minutes = 60
limits = { hours = 900, months = 60 }
source = "invented for this test"
[[task]]
name = "oil"
title = "Change the oil"
component = "powerhead"
minutes = 15
parts = [{ item = "oil", count = 2 }]
limits = { hours = 100, months = 12 }
source = "invented for this test"
"""
FOUR = read_set("four", {"four": (TEXT, "four.toml")})
BOOK = RuleBook({"four": FOUR}, {}, {}, {})


def test_an_access_step_is_made_once_however_many_jobs_need_it() -> None:
    assert minutes_of_visit(FOUR, ["impeller"]) == 25 + 20
    assert minutes_of_visit(FOUR, ["water tube"]) == 25 + 2 + 10
    assert minutes_of_visit(FOUR, ["impeller", "water tube"]) == 25 + 2 + 20 + 10


def test_a_step_that_includes_another_counts_both_once() -> None:
    assert minutes_of_visit(FOUR, ["exhaust"]) == 180 + 25 + 2 + 60
    assert minutes_of_visit(FOUR, ["exhaust", "impeller"]) == 180 + 25 + 2 + 60 + 20
    assert list(access_steps(FOUR, ["exhaust"])) == ["leg off", "cowl off", "powerhead off"]


def test_a_job_without_access_takes_its_own_minutes() -> None:
    assert minutes_of_visit(FOUR, ["oil", "oil"]) == 30
    assert minutes_of_visit(FOUR, []) == 0


def test_each_opening_uses_up_its_own_parts_once() -> None:
    assert parts_of_visit(FOUR, ["impeller", "water tube"]) == {"impeller kit": 1, "screw": 2}
    assert parts_of_visit(FOUR, ["exhaust", "oil"]) == {"base gasket": 1, "screw": 2, "oil": 2}
