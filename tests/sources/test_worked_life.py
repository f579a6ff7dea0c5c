"""Life used and hours by water, as fractions worked elsewhere, asked of the product.

The twenty rows of life used (fresh 100 h / 12 months, brackish 75 h / 9 months, salt 50 h /
6 months) were worked three ways, all alike: fractions by hand; dateutil.relativedelta; a loop over
the days on the standard calendar module. The rule of adding shares is linear accumulation
(Palmgren 1924; Miner 1945). Hours by water were worked by hand. The engines, days and limits are
inventions for the sum's sake.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

import pytest

from fleetcare.due.working import Working, working
from fleetcare.log.history import history
from tests.built import book_of, fleet_of, rows_of
from tests.oracle.by_hand import GRADED, rules
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES
from tests.oracle.test_oracle_by_hand import TWENTY, Worked

ONE_WATER = {"limits": {"hours": 100}}


def set_text(**keys: object) -> dict[str, str]:
    tasks = [
        {"title": "See to it", "leads_to": ["a worn part"], "source": "invented", **task}
        for task in rules(**keys)["small-petrol"]["task"]
    ]
    return {"small-petrol": toml("small-petrol", "", tasks)}


def worked_out(text: str, as_of: str, **keys: object) -> Working:
    fleet, entries = fleet_of(tables(text))
    book = book_of(set_text(**keys), USES)
    day = date.fromisoformat(as_of)
    ruleset = book.set_of("small-petrol")
    return working(fleet, history(entries, day), ruleset, "Plover", "impeller", day)


@pytest.mark.parametrize("worked", [w for w in TWENTY if w.lines], ids=lambda w: w.as_of)
def test_the_product_gives_each_worked_row_exactly(worked: Worked) -> None:
    out = worked_out(worked.fleet, worked.as_of, limits=GRADED, **worked.more)
    assert (out.by_hours, out.by_calendar) == (worked.by_hours, worked.by_calendar)


@pytest.mark.parametrize("worked", [w for w in TWENTY if w.lines], ids=lambda w: w.as_of)
def test_exactly_1_is_due_and_only_above_it_overdue(worked: Worked) -> None:
    texts = set_text(limits=GRADED, **worked.more)
    day = date.fromisoformat(worked.as_of)
    (row,) = rows_of(tables(worked.fleet), texts, USES, day)
    life = max(worked.by_hours, worked.by_calendar)
    assert row.life_used == life
    assert (row.status == "overdue") == (life > 1)
    assert row.status == "due" or life != 1


def hours(text: str, as_of: str) -> dict[str, tuple[F, F]]:
    shares = worked_out(text, as_of, **ONE_WATER).shares
    return {share.water: (share.hours / 100, share.likely / 100) for share in shares}


FRESH = "boat Otter lies in fresh from 2031-01-01\nengine Plover on Otter since 2031-06-01, "
SALT = FRESH.replace("fresh", "salt")


def test_10_01_hours_over_twenty_days_with_a_move_on_the_tenth() -> None:
    # worked by hand: 10.01 x 9/20 and 10.01 x 11/20
    text = "reading 0\nOtter moves to salt on 2031-06-11\nPlover reads 10.01 on 2031-06-21"
    out = hours(FRESH + text, "2031-06-21")
    assert out == {"fresh": (F("4.5045"), 0), "salt": (F("5.5055"), 0)}


def test_runs_of_10_hours_where_the_meter_rose_by_9() -> None:
    # worked by hand: k = 0.9, the lost hour likely in the same shares
    text = """reading 0
        Plover runs 6 on 2031-06-03
        Plover runs 4 in salt on 2031-06-04
        Plover reads 9 on 2031-06-05
        Plover runs 2.5 in salt on 2031-06-06"""
    out = hours(FRESH + text, "2031-06-07")
    assert out == {"fresh": (F("5.4"), F("0.6")), "salt": (F("6.1"), F("0.4"))}


def test_runs_of_3_hours_where_the_meter_rose_by_9_in_salt() -> None:
    # worked by hand: the 6 hours more take the home water
    text = """reading 0
        Plover runs 2 in fresh on 2031-06-03
        Plover runs 1 in salt on 2031-06-04
        Plover reads 9 on 2031-06-05"""
    out = hours(SALT + text, "2031-06-05")
    assert out == {"fresh": (F(2), 0), "salt": (F(7), 0)}


def test_a_gap_of_ten_days_and_ten_hours_cut_on_the_sixth() -> None:
    # worked by hand: days 6 to 11 are six
    text = "reading 0\nPlover impeller done on 2031-06-06\nPlover reads 10 on 2031-06-11"
    assert hours(FRESH + text, "2031-06-11") == {"fresh": (F(6), 0)}


def test_30_litres_at_2_5_an_hour() -> None:
    # worked by hand: 12 h, and two fifths of them likely; the consumption is an example
    text = "no meter, burns 2.5\nPlover burns 30 l on 2031-06-06"
    assert hours(FRESH + text, "2031-06-11") == {"fresh": (F(12), F("4.8"))}


def test_a_meter_replaced_at_310_by_one_that_begins_at_2() -> None:
    # worked by hand: 300, 310, then 7 on the new one: 315
    text = """reading 300
        Plover meter 310 then 2 on 2031-06-05
        Plover reads 7 on 2031-06-09"""
    out = worked_out(FRESH + text, "2031-06-09", **ONE_WATER)
    assert out.readings[-1][1] == 31500


def test_a_meter_of_four_figures_rolls_over() -> None:
    # worked by hand: 9990 to 5 is 15 hours
    text = """reading 9990
        Plover meter 10000 then 0 on 2031-06-05
        Plover reads 5 on 2031-06-05"""
    assert hours(FRESH + text, "2031-06-09") == {"fresh": (F(15), 0)}


def test_a_thousand_tenths_are_a_hundred_hours_and_no_float() -> None:
    # worked by hand; the same sum in floats is 99.9999999999986
    assert sum([0.1] * 1000) != 100
    row = TWENTY[5]
    assert worked_out(row.fleet, row.as_of, limits=GRADED).by_hours == 1
