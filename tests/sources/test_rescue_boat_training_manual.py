"""Training manual "Proficiency in Survival Craft and Rescue Boats other than Fast Rescue Boats",
ch. 9, outboard engines. Its schedule is written for an engine that runs 20 h a month."""

from typing import Any

Table = dict[str, Any]


def test_a_salt_impeller_is_renewed_at_200_hours_or_a_year(base: Table) -> None:
    # p. 9-11: impeller, 200 hours or 1 year, whichever first
    assert base["impeller"]["limits"]["salt"] == {"hours": 200, "months": 12}


def test_a_hire_impeller_keeps_the_hard_worked_pair_in_every_water(hire: Table) -> None:
    # p. 9-11, the same pair; par. 9.9: the schedule is for 20 h a month
    assert hire["impeller"]["limits"] == {"hours": 200, "months": 12}


def test_the_propeller_comes_off_every_three_months_in_salt(base: Table, hire: Table) -> None:
    # p. 9-12: propeller off, shaft greased, 3 months
    assert base["propeller"]["limits"]["salt"] == {"months": 3}
    assert hire["propeller"]["limits"] == {"months": 3}


def test_anodes_come_off_every_three_months_in_salt(base: Table, hire: Table) -> None:
    # p. 9-12: anode off and scrubbed, 3 months
    assert base["anodes"]["limits"]["salt"] == {"months": 3}
    assert hire["anodes"]["limits"] == {"months": 3}


def test_a_tank_flush_is_never_more_than_a_month_ago_in_salt(base: Table) -> None:
    # ch. 9: flush in a tank at least once a month
    assert base["tank flush"]["limits"] == {"salt": {"months": 1}}


def test_salt_is_flushed_out_after_each_run(base: Table) -> None:
    # ch. 9, and a maker's schedule: flush after every use in salt water
    assert "salt" in base["flush"]["each_run"]
    # Brackish water counts as salt. Our design choice.
    assert "brackish" in base["flush"]["each_run"]


def test_a_hire_boat_runs_240_hours_a_year(uses: Table) -> None:
    # par. 9.9: 20 h a month, and so 12 x 20 a year
    assert uses["hire"]["hours_a_year"] == 12 * 20


def test_intakes_and_tell_tale_are_looked_at_on_every_run(base: Table) -> None:
    # p. 9-11: tell-tale and its causes; AMSA Marine Notice 12/2017 asks for the same
    assert set(base["intakes look"]["each_run"]) == {"fresh", "brackish", "salt"}
