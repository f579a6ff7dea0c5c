"""The forecast of use: what it promises whatever the log says, and how well it is calibrated."""

from __future__ import annotations

import math
import random
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.usage.forecast import (
    Block,
    Booked,
    Learned,
    Outlook,
    Profile,
    borrowed,
    is_old,
    learn,
    outlook,
    profile_of,
)
from fleetcare.usage.gamma import chance_below, points_of, quantile, share_of_mean, updated

CHANCES = (0.1, 0.5, 0.9)
SINCE = date(2031, 3, 1).toordinal()
SUMMER = ((4, 1), (10, 31))
WEEK = (0.12, 0.12, 0.12, 0.12, 0.12, 0.20, 0.20)
HIRE = profile_of(240.0, SUMMER, WEEK)
OWNER = profile_of(35.0, SUMMER, WEEK)


def blocks(hours: list[float], days: int = 14, since: int = SINCE) -> list[Block]:
    return [Block(since + days * k + 1, since + days * (k + 1), ran) for k, ran in enumerate(hours)]


def seen(log: list[Block], profile: Profile = HIRE, **more: object) -> Outlook:
    return outlook(learn(log, profile, SINCE), profile, **more)  # type: ignore[arg-type]


logs = st.lists(st.floats(0.0, 60.0), max_size=80).map(blocks)
profiles = st.sampled_from((HIRE, OWNER, profile_of(400.0, None, (1.0,) * 7)))


# -- what holds for every log ---------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(logs, profiles)
def test_points_of_use_never_cross_and_never_fall(log: list[Block], profile: Profile) -> None:
    coming = seen(log, profile)
    before = (0.0, 0.0, 0.0)
    for day in range(coming.start, coming.start + 4000, 13):
        low, middle, high = (coming.hours_by(day, chance) for chance in CHANCES)
        assert 0.0 <= low <= middle <= high
        assert all(now >= then for now, then in zip((low, middle, high), before, strict=True))
        before = (low, middle, high)


@settings(max_examples=25, deadline=None)
@given(logs, profiles, st.floats(0.5, 300.0))
def test_the_day_asked_by_hours_and_the_hours_asked_by_day_agree(
    log: list[Block], profile: Profile, hours: float
) -> None:
    coming = seen(log, profile)
    for chance in CHANCES:
        day = coming.day_when(hours, chance)
        if day is None:
            assert coming.hours_by(coming.start + 5000, 1.0 - chance) < hours
        else:
            assert coming.hours_by(day, 1.0 - chance) >= hours * (1 - 1e-6)
            assert coming.hours_by(day - 1, 1.0 - chance) < hours * (1 + 1e-6)


@settings(max_examples=25, deadline=None)
@given(logs, st.lists(st.floats(0.0, 400.0), min_size=2, max_size=6))
def test_more_hours_left_never_give_an_earlier_day(log: list[Block], left: list[float]) -> None:
    coming = seen(log)
    for chance in CHANCES:
        days = [coming.day_when(hours, chance) or 10**7 for hours in sorted(left)]
        assert days == sorted(days)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(st.floats(0.0, 60.0), min_size=13, max_size=80), st.floats(1.1, 4.0))
def test_a_busier_past_of_half_a_year_puts_no_early_date_off_by_more_than_two_days(
    ran: list[float], times: float
) -> None:
    quiet, busy = seen(blocks(ran)), seen(blocks([hours * times for hours in ran]))
    for hours in (10.0, 50.0, 200.0):
        later = quiet.day_when(hours, 0.1) or 10**7
        # More hours also make wilder ones likely: of 750 such cases one came a day later.
        assert (busy.day_when(hours, 0.1) or 10**7) <= later + 2


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(st.floats(4.0, 16.0), min_size=27, max_size=80), st.floats(1.1, 4.0))
def test_a_busier_past_of_a_year_or_more_never_gives_a_later_date(
    hours: list[float], times: float
) -> None:
    quiet, busy = seen(blocks(hours)), seen(blocks([ran * times for ran in hours]))
    for left in (10.0, 50.0, 200.0):
        for chance in CHANCES:
            later = quiet.day_when(left, chance) or 10**7
            assert (busy.day_when(left, chance) or 10**7) <= later


def test_the_early_date_comes_first_and_the_late_one_last() -> None:
    coming = seen(blocks([12.0] * 30))
    early, middle, late = (coming.day_when(50.0, chance) for chance in CHANCES)
    assert early is not None and middle is not None and late is not None
    assert coming.start < early < middle < late


def test_nothing_left_is_today_and_what_never_comes_is_none() -> None:
    coming = seen(blocks([12.0] * 30))
    assert coming.day_when(0.0, 0.5) == coming.start == SINCE + 30 * 14
    assert coming.day_when(1e6, 0.1) is None


@settings(max_examples=10, deadline=None)
@given(logs, profiles)
def test_the_same_log_gives_the_same_bytes_and_they_read_back(
    log: list[Block], profile: Profile
) -> None:
    data = seen(log, profile).packed()
    assert seen(list(log), profile).packed() == data
    again = Outlook.unpacked(data)
    assert again.packed() == data
    assert again.start == seen(log, profile).start
    assert again.day_when(40.0, 0.5) == seen(log, profile).day_when(40.0, 0.5)


# -- days on which it will not run ----------------------------------------------------------------


def test_days_away_add_nothing() -> None:
    log = blocks([12.0] * 60)
    start = log[-1].last
    coming = seen(log, away=[(start + 5, start + 100), (start + 200, start + 230)])
    for chance in CHANCES:
        assert coming.hours_by(start + 100, chance) == coming.hours_by(start + 4, chance)
        assert coming.hours_by(start + 230, chance) == coming.hours_by(start + 199, chance)
    assert coming.hours_by(start + 110, 0.9) > coming.hours_by(start + 100, 0.9)


def test_an_engine_in_store_for_good_is_never_due_by_hours() -> None:
    log = blocks([12.0] * 60)
    coming = seen(log, away=[(log[-1].last + 1, 9_999_999)])
    assert [coming.day_when(1.0, chance) for chance in CHANCES] == [None, None, None]


# -- months, and no past --------------------------------------------------------------------------


def test_a_boat_laid_up_each_winter_is_not_expected_to_run_in_winter() -> None:
    log = []
    for block in blocks([0.0] * 104):
        month = date.fromordinal(block.first).month
        log.append(block._replace(hours=20.0 if 4 <= month <= 9 else 0.0))
    flat = profile_of(240.0, None, WEEK)
    coming = seen(log, flat)
    assert log[-1].last > date(2035, 1, 1).toordinal()
    december = date(2035, 12, 1).toordinal()
    winter = coming.hours_by(december + 60, 0.5) - coming.hours_by(december, 0.5)
    summer = coming.hours_by(december - 120, 0.5) - coming.hours_by(december - 180, 0.5)
    assert winter < 0.15 * summer


def test_an_engine_not_logged_yet_runs_as_its_profile_says() -> None:
    coming = outlook(learn([], HIRE, SINCE), HIRE)
    assert coming.start == SINCE
    low, middle, high = (coming.hours_by(SINCE + 365, chance) for chance in CHANCES)
    assert low < 120.0 < middle < 260.0 < high


def test_an_engine_never_used_is_expected_to_run_little_but_not_never() -> None:
    new = outlook(learn([], OWNER, SINCE), OWNER)
    idle = seen(blocks([0.0] * 130), OWNER)
    year = idle.hours_by(idle.start + 365, 0.9)
    assert 0.0 < year < 0.5 * new.hours_by(SINCE + 365, 0.9)
    assert idle.day_when(5.0, 0.1) is not None


def test_what_is_known_narrows_the_interval() -> None:
    few, many = seen(blocks([12.0] * 2)), seen(blocks([12.0] * 52))
    spreads = [
        coming.hours_by(coming.start + 365, 0.9) / coming.hours_by(coming.start + 365, 0.1)
        for coming in (few, many)
    ]
    assert spreads[1] < 0.7 * spreads[0]


# -- borrowing ------------------------------------------------------------------------------------


def likes(hours: float, count: int) -> list[Learned]:
    return [learn(blocks([hours + k] * 52), HIRE, SINCE) for k in range(count)]


def test_a_new_engine_borrows_the_level_of_its_like() -> None:
    assert borrowed([], HIRE) == HIRE
    busy, quiet = borrowed(likes(30.0, 4), HIRE), borrowed(likes(2.0, 4), HIRE)
    assert quiet.hours_a_year < HIRE.hours_a_year < busy.hours_a_year
    assert math.isclose(sum(busy.weekdays), 7.0)


def test_borrowing_does_not_hang_on_the_order_of_the_fleet() -> None:
    fleet = likes(7.3, 6)
    assert borrowed(fleet[::-1], HIRE) == borrowed(fleet, HIRE)


def test_a_year_of_its_own_makes_an_engine_old() -> None:
    assert not is_old(learn([], HIRE, SINCE))
    assert not is_old(learn(blocks([10.0] * 8), HIRE, SINCE))
    assert is_old(learn(blocks([10.0] * 27), HIRE, SINCE))


# -- bookings -------------------------------------------------------------------------------------


def booked(days: range, first: int, last: int) -> Booked:
    return Booked(frozenset(days), first, last)


def test_booked_days_bring_the_date_forward_and_empty_ones_put_it_off() -> None:
    log = blocks([12.0] * 60)
    start = log[-1].last
    full = seen(log, booked=booked(range(start + 1, start + 31), start + 1, start + 30))
    empty = seen(log, booked=booked(range(0), start + 1, start + 30))
    for chance in CHANCES:
        early = full.day_when(60.0, chance)
        usual = seen(log).day_when(60.0, chance)
        late = empty.day_when(60.0, chance)
        assert early is not None and usual is not None and late is not None
        assert early < usual < late


def test_bookings_change_nothing_after_their_window() -> None:
    log = blocks([12.0] * 60)
    start = log[-1].last
    known, learned = learn(log, HIRE, SINCE), learn(log, HIRE, SINCE)
    assert known == learned
    with_them = outlook(known, HIRE, (), booked(range(0), start + 1, start + 28))
    without = outlook(known, HIRE)
    gone = without.hours_by(start + 28, 0.5) - with_them.hours_by(start + 28, 0.5)
    later = without.hours_by(start + 700, 0.5) - with_them.hours_by(start + 700, 0.5)
    assert gone > 0.0
    assert math.isclose(gone, later, rel_tol=0.35)


def test_the_hours_of_a_booked_day_are_learned_from_booked_days_logged() -> None:
    dice = random.Random(5)
    days, log = set(), []
    for block in blocks([0.0] * 80):
        taken = dice.sample(range(block.first, block.last + 1), dice.randrange(0, 9))
        days.update(taken)
        log.append(block._replace(hours=3.0 * len(taken)))
    told = learn(log, HIRE, SINCE, Booked(frozenset(days), SINCE, log[-1].last))
    seen_days, each, other = told.booked
    assert seen_days == len(days)
    assert each == pytest.approx(3.0, rel=0.1)
    assert other < 0.1


# -- against published figures --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "value"), [(1, 2.706), (2, 4.605), (3, 6.251), (10, 15.987), (20, 28.412)]
)
def test_gamma_quantiles_are_those_of_the_chi_square_table(degrees: int, value: float) -> None:
    # Upper critical values at 0.90: NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.4.
    # A chi-square is a gamma with half the degrees of freedom as its shape, and scale 2.
    assert 2.0 * quantile(degrees / 2, 0.9) == pytest.approx(value, abs=6e-4)
    assert degrees * share_of_mean(degrees / 2, 0.9) == pytest.approx(value, rel=1e-3)


def test_gamma_chances_are_those_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook, R code of its Bayesian gamma prior example: shape 2.863, scale
    # 1/1522.46; pgamma(.001667) prints 0.5001232, pgamma(.004) prints 0.9499963.
    assert chance_below(2.863, 0.001667 * 1522.46) == pytest.approx(0.5001232, abs=1e-7)
    assert chance_below(2.863, 0.004 * 1522.46) == pytest.approx(0.9499963, abs=1e-7)


def test_counts_teach_a_rate_as_the_handbook_says() -> None:
    # NIST/SEMATECH e-Handbook 8.4.6: after r failures in a test of T hours, a' = a + r and
    # b' = b + T; with the prior of the line above, 2 failures in 1000 hours (ours, to try it).
    shape, rate = updated(2.863, 1522.46, 2, 1000.0)
    assert (shape, rate) == pytest.approx((4.863, 2522.46))


@pytest.mark.parametrize("shape", [0.02, 0.3, 1.0, 4.0, 40.0])
@pytest.mark.parametrize("chance", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_quantile_and_chance_undo_each_other(shape: float, chance: float) -> None:
    assert chance_below(shape, quantile(shape, chance)) == pytest.approx(chance, rel=1e-7)


def test_a_chance_of_no_outing_holds_the_low_point_at_nothing() -> None:
    # With no straying to speak of the number of outings is Poisson: P(none) = e^-mean.
    low, middle, high = points_of(2.0, 1.0, 1e-6)
    assert math.exp(-2.0) > 0.1
    assert low == 0.0 < middle < high
    assert points_of(2.5, 1.0, 1e-6)[0] > 0.0  # e^-2.5 is 0.08


# -- shapes, and a gross check of calibration -----------------------------------------------------


def test_factors_of_a_profile_have_a_mean_of_one() -> None:
    for season in (SUMMER, ((10, 1), (4, 30)), None):
        profile = profile_of(100.0, season, (0.0, 0.0, 0.0, 0.0, 0.1, 0.5, 0.4))
        lengths = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
        assert sum(map(lambda f, n: f * n, profile.months, lengths)) == pytest.approx(365.25)
        assert sum(profile.weekdays) == pytest.approx(7.0)
    south = profile_of(100.0, ((10, 1), (4, 30)), WEEK).months
    assert min(south[m] for m in (0, 11)) > 5 * max(south[m] for m in (5, 6))


def test_eighty_in_a_hundred_dates_lie_in_their_interval_give_or_take() -> None:
    """Engines that go out by chance at a level of their own, in a season of their own."""
    dice = random.Random(77)
    inside = []
    for _ in range(70):
        level, warm = dice.lognormvariate(0.0, 0.4) * 0.22, dice.uniform(0.2, 1.0)
        hours = []
        for day in range(SINCE + 1, SINCE + 7 * 365):
            turn = math.cos(2 * math.pi * (date.fromordinal(day).timetuple().tm_yday - 200) / 365)
            out = dice.random() < level * max(0.0, 1.0 + 2.0 * warm * turn) / (1.0 + warm)
            hours.append(dice.uniform(1.0, 5.0) if out else 0.0)
        known = 365 * 3 + dice.randrange(365)
        log = [
            Block(SINCE + 1 + at, SINCE + at + 14, sum(hours[at : at + 14]))
            for at in range(known % 14, known, 14)
        ]
        coming = seen(log)
        for left in (20.0, 50.0, 90.0):
            early, late = coming.day_when(left, 0.1), coming.day_when(left, 0.9)
            total, day = 0.0, coming.start
            while total < left:
                total += hours[day - SINCE]
                day += 1
            assert early is not None
            inside.append(early <= day <= (late or 10**7))
    assert 0.68 < sum(inside) / len(inside) < 0.97


def test_no_grid_day_is_told_twice() -> None:
    start = SINCE
    coming = outlook(
        learn([], HIRE, start), HIRE, [(start + 7, start + 13), (start + 8, start + 9)]
    )
    values = [coming.hours_by(start + day, 0.9) for day in range(40)]
    assert all(one <= two for one, two in pairwise(values))
