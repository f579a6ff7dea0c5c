"""In which order jobs done together are worked through, against the order said another way."""

from __future__ import annotations

import random
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.rules.rule import RuleSet
from fleetcare.rules.shipped import read_book, shipped_folder, word_table
from fleetcare.rules.working_order import Order, jobs_in_order, read_order, steps_in_order

SETS = read_book(None, {"small-petrol", "hire", "salt-mooring"}).sets
BASE = SETS["small-petrol"]
SAID = tomllib.loads((shipped_folder() / "order.toml").read_text(encoding="utf-8"))
steady = settings(deadline=None, derandomize=True, database=None, max_examples=60)
some_jobs = st.lists(st.sampled_from(sorted(BASE.rules)), unique=True, min_size=1)


def shipped() -> Order:
    order = read_order(word_table("order"), "intervals/order.toml")
    assert isinstance(order, Order), order
    return order


ORDER = shipped()


@pytest.mark.parametrize("ruleset", SETS.values(), ids=lambda item: item.name)
def test_every_name_in_the_shipped_order_is_a_step_or_a_task(ruleset: RuleSet) -> None:
    assert set(SAID["steps"]) == set(ruleset.access)
    assert set(SAID["last"]) <= set(ruleset.rules)
    assert {name for pair in SAID["before"] for name in pair} <= set(ruleset.rules)


def opened_by(tasks: list[str]) -> set[str]:
    """The steps that tasks need and those beneath them, found without the product."""
    wanted = {name for task in tasks for name in BASE.rules[task].access}
    while True:
        more = wanted | {inner for name in wanted for inner in BASE.access[name].includes}
        if more == wanted:
            return wanted
        wanted = more


@steady
@given(some_jobs)
def test_each_step_stands_once_and_after_those_that_it_includes(tasks: list[str]) -> None:
    names = [step.name for step in steps_in_order(BASE, tasks, ORDER)]
    assert sorted(names) == sorted(opened_by(tasks))
    for at, name in enumerate(names):
        assert set(BASE.access[name].includes) <= set(names[:at])


@steady
@given(some_jobs)
def test_each_job_stands_once_every_pair_holds_and_what_runs_it_comes_last(
    tasks: list[str],
) -> None:
    found = jobs_in_order(BASE, tasks, ORDER)
    assert sorted(found) == sorted(tasks)
    place = {task: at for at, task in enumerate(found)}
    for first, then in SAID["before"]:
        if first in place and then in place:
            assert place[first] < place[then]
    ending = [task for task in SAID["last"] if task in place]
    assert found[len(found) - len(ending) :] == ending


@steady
@given(some_jobs, st.integers(0, 9))
def test_the_order_they_are_given_in_does_not_matter(tasks: list[str], seed: int) -> None:
    mixed = list(tasks)
    random.Random(seed).shuffle(mixed)
    assert jobs_in_order(BASE, mixed, ORDER) == jobs_in_order(BASE, tasks, ORDER)
    assert steps_in_order(BASE, mixed, ORDER) == steps_in_order(BASE, tasks, ORDER)


def test_a_visit_as_a_mechanic_would_work_through_it() -> None:
    jobs = ["gear oil", "impeller", "flush", "thermostat", "propeller", "gearcase pressure",
            "swivel grease", "swing test", "water tube"]  # fmt: skip
    assert jobs_in_order(BASE, jobs, ORDER) == [
        "swing test", "swivel grease", "propeller", "gearcase pressure", "gear oil", "water tube",
        "impeller", "thermostat", "flush",
    ]  # fmt: skip
    assert [step.name for step in steps_in_order(BASE, jobs, ORDER)] == [
        "tilted up", "cowl off", "propeller off", "gearcase drained", "leg off", "pump open",
        "thermostat cover off",
    ]  # fmt: skip


def test_what_the_order_does_not_name_keeps_the_order_of_its_set() -> None:
    names = list(BASE.rules)
    bare = jobs_in_order(BASE, names, Order())
    outside = [task for task in names if not BASE.rules[task].access]
    assert bare[: len(outside)] == outside
    steps = [step.name for step in steps_in_order(BASE, names, Order())]
    assert steps[:2] == ["cowl off", "plugs out"]


@pytest.mark.parametrize(
    ("change", "wrong"),
    [
        ({"stepps": []}, 'order: stepps: is not a key. Did you mean "steps"?'),
        ({"steps": ["cowl off", "cowl off"]}, "order: steps: takes a list of names, each once"),
        ({"last": "flush"}, "order: last: takes a list of names, each once"),
        ({"before": [["a"]]}, 'order: before: takes pairs, such as ["thermostat", "passages"]'),
        ({"before": [["a", "b"], ["b", "c"], ["c", "a"]]}, "order: before: goes round"),
        ({"source": ""}, "order: source: is missing"),
    ],
)
def test_what_is_wrong_in_the_file_is_named(change: dict[str, Any], wrong: str) -> None:
    found = read_order({**SAID, **change}, "order")
    assert isinstance(found, list)
    assert str(found[0]).startswith(wrong)
