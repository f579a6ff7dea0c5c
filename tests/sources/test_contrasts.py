"""Which limit bites first for whom: worked from the shipped figures by plain arithmetic.

A steady use of u hours a year reaches H hours after 12 H / u months; at the crossover
u = 12 H / M both come together (closed form, by hand)."""

from fractions import Fraction
from typing import Any

import pytest

Table = dict[str, Any]

HIRE = 240  # h a year: 20 h a month, Proficiency in Survival Craft and Rescue Boats, par. 9.9
OWNER = 35  # h a year: 350 h in 10 years, California Air Resources Board, MSC 98-22


def _crossover(pair: Table) -> Fraction:
    """Hours a year above which hours come before months."""
    return Fraction(12 * pair["hours"], pair["months"])


@pytest.mark.parametrize(
    ("task", "water", "hours_a_year"),
    [
        ("gear oil", None, 100),  # 100 h / 12 months
        ("impeller", "salt", 200),  # 200 h / 12 months
        ("impeller", "fresh", 100),  # 300 h / 36 months
    ],
)
def test_hours_come_before_months_only_above_the_crossover(
    base: Table, task: str, water: str | None, hours_a_year: int
) -> None:
    limits = base[task]["limits"]
    pair = limits if water is None else limits[water]
    assert _crossover(pair) == hours_a_year
    assert OWNER < _crossover(pair) < HIRE


def test_an_owners_salt_impeller_is_due_by_the_calendar_at_35_hours(
    base: Table, uses: Table
) -> None:
    # After 12 months an owner has run 35 of 200 h: 0.175 by hours, 1 by calendar
    pair = base["impeller"]["limits"]["salt"]
    assert Fraction(uses["owner"]["hours_a_year"], pair["hours"]) == Fraction(7, 40)
    assert pair["months"] == 12


def test_a_hirers_salt_impeller_is_due_by_hours_on_day_304(base: Table, uses: Table) -> None:
    # 200 h at 240 h a year: 200 * 365 / 240 = 304.17 days, before the year is out
    hours = base["impeller"]["limits"]["salt"]["hours"]
    days = Fraction(hours * 365, uses["hire"]["hours_a_year"])
    assert int(days) == 304


def test_a_hirers_gear_oil_is_due_by_hours_after_five_months(base: Table, uses: Table) -> None:
    # 100 h at 20 h a month
    months = Fraction(base["gear oil"]["limits"]["hours"] * 12, uses["hire"]["hours_a_year"])
    assert months == 5


def test_grease_goes_by_days_whatever_the_hours(base: Table, hire: Table) -> None:
    # A maker's handbook for the 4-10 hp class prints days only
    for name in ("swivel grease", "tilt grease", "steering grease", "linkage grease"):
        assert all(set(pair) == {"days"} for pair in base[name]["limits"].values()), name
    assert "swivel grease" not in hire  # "more often" in hire is printed without a figure


def test_salt_and_hire_are_figures_of_their_own_and_no_multiple(
    base: Table, hire: Table, mooring: Table
) -> None:
    # No published factor was found; the printed figures do not share one
    salt = {
        name: Fraction(task["limits"]["salt"][unit], task["limits"]["fresh"][unit])
        for name, task, unit in (
            ("swivel grease", base["swivel grease"], "days"),  # 30 / 60
            ("impeller", base["impeller"], "hours"),  # 200 / 300
        )
    }
    assert salt == {"swivel grease": Fraction(1, 2), "impeller": Fraction(2, 3)}
    assert Fraction(hire["gear oil"]["limits"]["months"], 12) == Fraction(1, 4)
    assert Fraction(mooring["impeller"]["limits"]["salt"]["months"], 12) == 1


def test_a_set_that_extends_the_base_never_laxes_it(
    base: Table, hire: Table, mooring: Table
) -> None:
    for other in (hire, mooring):
        for name, task in other.items():
            for water in ("fresh", "salt"):
                own, whole = _pair(task["limits"], water), _pair(base[name]["limits"], water)
                for unit in own.keys() & whole.keys():
                    assert own[unit] <= whole[unit], (name, water, unit)
                if own:
                    assert whole.keys() <= own.keys(), (name, water)


def _pair(limits: Table, water: str) -> Table:
    if {"fresh", "brackish", "salt"} & set(limits):
        return dict(limits.get(water, {}))
    return limits


def test_a_new_impeller_alone_does_not_answer_missing_vanes(words: Table) -> None:
    # "Cooling system repair tips": the old pieces stay in the tube
    assert words["impeller vanes"]["missing"]["follow_up"] != ["impeller"]


def test_a_weak_stream_is_not_answered_by_a_look(words: Table) -> None:
    # A strong stream proves neither thermostat nor block: workshop column, Texas saltwater
    # magazine; "DIY descaling", Boating NZ, May 2024
    weak = words["tell-tale"]["weak"]
    assert weak["weight"] == "stop"
    assert weak["follow_up"] == ["intakes look", "tell-tale hose"]
    assert "strong stream" in weak["lifts"]


def test_no_stream_is_never_answered_without_the_pump(words: Table) -> None:
    # A crew that learns to ignore a blocked outlet misses the real failure: common practice, no
    # source; what blocks one (salt, rubber, paint): AMSA Marine Notice 12/2017
    assert "impeller" in words["tell-tale"]["none"]["follow_up"]
