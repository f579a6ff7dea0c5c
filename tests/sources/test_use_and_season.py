"""How much boats are used, and when: uses.toml."""

from decimal import Decimal
from typing import Any

import pytest

Table = dict[str, Any]

USES = ["hire", "club", "owner"]


def test_an_owner_runs_35_hours_a_year(uses: Table) -> None:
    # California Air Resources Board, MSC 98-22 (8 Sep 1998): useful life 350 h or 10 years
    assert uses["owner"]["hours_a_year"] == 350 / 10


def test_the_other_printed_figure_for_owners_is_named(uses: Table) -> None:
    # Yachting Monthly, 2007: about 50 h a year
    assert "about 50" in uses["owner"]["source"]


def test_a_club_boat_stands_between_owner_and_hire(uses: Table) -> None:
    # Our design choice: 60 to 150 h a year
    assert 60 <= uses["club"]["hours_a_year"] <= 150
    assert "our design choice" in uses["club"]["source"]


@pytest.mark.parametrize("use", USES)
def test_the_southern_season_runs_october_to_april(uses: Table, use: str) -> None:
    # Transport Safety Victoria, 2015 Boating Behaviour Report, quoted in an insurer's magazine:
    # October to April; the days are our design choice
    season = uses[use]["season"]["southern"]
    assert (season["from"][:2], season["to"][:2]) == ("10", "04")


@pytest.mark.parametrize("use", USES)
def test_new_years_day_lies_in_the_southern_season_only(uses: Table, use: str) -> None:
    # October to April crosses 31 December; April to October does not
    assert _contains(uses[use]["season"]["southern"], "01-01")
    assert not _contains(uses[use]["season"]["northern"], "01-01")


@pytest.mark.parametrize("use", USES)
def test_the_northern_season_mirrors_the_southern(uses: Table, use: str) -> None:
    # April to October: common practice, no source
    season = uses[use]["season"]["northern"]
    assert (season["from"][:2], season["to"][:2]) == ("04", "10")


@pytest.mark.parametrize("use", USES)
def test_the_shares_of_the_week_add_up_to_one(uses: Table, use: str) -> None:
    # By arithmetic, in decimals, exactly; the shares are our design choice
    week = uses[use]["weekday"]
    assert len(week) == 7
    assert sum(week) == Decimal(1)
    assert "weekday: our design choice" in uses[use]["source"]


def _contains(season: Table, day: str) -> bool:
    """Whether a month-day lies in a season that may cross the year's end."""
    first, last = season["from"], season["to"]
    if first <= last:
        return bool(first <= day <= last)
    return bool(day >= first or day <= last)
