"""A rule file says what its rules mean: limits by water, triggers, fit, what restarts what."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.rules.rule import Access, Fits, Limit, Part, Rule, RuleSet
from fleetcare.rules.sets import read_set, task_of

steady = settings(deadline=None, derandomize=True, database=None)

FRESH, BRACKISH, SALT = Water


def read(*tasks: str, more: str = "") -> RuleSet:
    """A set of tasks, each given by its inside."""
    text = '[set]\nname = "s"\n' + more
    for at, inside in enumerate(tasks):
        named = "" if "name =" in inside else f'name = "task {at}"\n'
        placed = "" if "component =" in inside else 'component = "gearcase"\n'
        text += f'[[task]]\n{named}{placed}source = "x"\n{inside}\n'
    return read_set("s", {"s": (text, "s.toml")})


def rule(inside: str) -> Rule:
    return next(iter(read(inside).rules.values()))


# --- limits -----------------------------------------------------------------------------------


def test_hours_are_kept_as_whole_hundredths() -> None:
    found = rule("limits = { hours = 12.25, months = 36 }")
    assert found.limits == (Limit(1225, 36), Limit(1225, 36), Limit(1225, 36))
    assert found.one_for_all
    assert rule("limits = { hours = 100 }").limits == (Limit(10000),) * 3


@steady
@given(st.integers(1, 10_000_000))
def test_any_hundredths_of_an_hour_can_be_a_limit(hundredths: int) -> None:
    whole, rest = divmod(hundredths, 100)
    found = rule(f"limits = {{ hours = {whole}.{rest:02} }}").limits
    assert found is not None and found[SALT] == Limit(hundredths)


def test_brackish_water_counts_as_salt_unless_it_is_given() -> None:
    found = rule("limits.fresh = { hours = 300, months = 36 }\nlimits.salt = { hours = 200 }")
    assert found.limits == (Limit(30000, 36), Limit(20000), Limit(20000))
    assert not found.one_for_all
    own = rule("limits.brackish = { hours = 250 }\nlimits.salt = { days = 30 }")
    assert own.limits == (None, Limit(25000), Limit(None, None, 30))


def test_a_water_without_limits_adds_nothing() -> None:
    assert rule("limits.salt = { months = 1 }").limits == (None, Limit(None, 1), Limit(None, 1))


def test_time_alone_wears_a_part_only_where_the_limit_says_so() -> None:
    assert Limit(None, 1).has_calendar and Limit(None, None, 30).has_calendar
    assert not Limit(100).has_calendar


@pytest.mark.parametrize(
    ("first", "fresh", "salt"),
    [
        ("hours = 20, months = 1", Limit(2000, 1), Limit(2000, 1)),
        ("hours = 20", Limit(2000, 36), Limit(2000, None, 30)),
        ("months = 1", Limit(30000, 1), Limit(20000, 1)),
        ("days = 30", Limit(30000, None, 30), Limit(20000, None, 30)),
    ],
)
def test_the_first_service_lies_over_the_limits_key_by_key(
    first: str, fresh: Limit, salt: Limit
) -> None:
    # Months and days are one key: either takes the other's place.
    found = rule(
        "limits.fresh = { hours = 300, months = 36 }\nlimits.salt = { hours = 200, days = 30 }\n"
        f"first = {{ {first} }}"
    )
    assert found.first == (fresh, salt, salt)


def test_the_first_service_holds_in_every_water() -> None:
    found = rule("limits.salt = { months = 6 }\nfirst = { hours = 20 }")
    assert found.first == (Limit(2000), Limit(2000, 6), Limit(2000, 6))
    assert rule("limits.salt = { months = 6 }").first is None


# --- triggers ---------------------------------------------------------------------------------


def test_the_triggers_are_read_as_they_are_written() -> None:
    found = rule(
        'each_run = ["salt", "brackish"]\nmisses = 2\nafter = ["overheated", "ran dry"]\n'
        'idle = { months = 12 }\nseason = "lay-up"\nlimits = { days = 30 }\nmixing = "strictest"'
    )
    assert found.each_run == frozenset({int(BRACKISH), int(SALT)})
    assert (found.misses, found.after) == (2, ("overheated", "ran dry"))
    assert (found.idle_months, found.season, found.strictest) == (12, "lay-up", True)
    plain = rule('season = "launch"')
    assert (plain.each_run, plain.misses, plain.idle_months) == (None, 3, None)
    assert (plain.after, plain.limits, plain.strictest) == ((), None, False)


@pytest.mark.parametrize(
    ("inside", "every_start", "has_row"),
    [
        ('each_run = ["fresh", "brackish", "salt"]', True, False),
        ('each_run = ["fresh", "brackish", "salt"]\nseason = "launch"', True, True),
        ('each_run = ["fresh", "brackish", "salt"]\nlimits = { months = 1 }', True, True),
        ('each_run = ["fresh", "brackish", "salt"]\nafter = ["grounded"]', True, True),
        ('each_run = ["fresh", "brackish", "salt"]\nidle = { months = 1 }', True, True),
        ('each_run = ["salt", "brackish"]', False, True),
        ('each_run = ["salt", "salt"]', False, True),
        ("limits = { hours = 1 }", False, True),
        ('after = ["grounded"]', False, True),
    ],
)
def test_a_look_made_at_every_start_alone_is_never_listed(
    inside: str, every_start: bool, has_row: bool
) -> None:
    found = rule(inside)
    assert (found.every_start, found.has_row) == (every_start, has_row)


@pytest.mark.parametrize(
    ("leads_to", "is_precursor"),
    [
        ('["overheating"]', True),
        ('["a false alarm", "seized swivel"]', True),
        ('["a leg that will not drop"]', False),
        ("[]", False),
    ],
)
def test_a_precursor_leads_to_overheating_or_a_seized_swivel(
    leads_to: str, is_precursor: bool
) -> None:
    found = rule(f'season = "launch"\nleads_to = {leads_to}\nchain = "Vanes crack."')
    assert found.is_precursor is is_precursor


# --- everything else a rule says --------------------------------------------------------------


def test_a_rule_says_what_it_needs_and_who_may_do_it() -> None:
    found = read(
        'name = "impeller"\ntitle = "Renew the impeller"\npart = "impeller vanes"\n'
        'limits = { hours = 100 }\naccess = ["powerhead off"]\nminutes = 25\nwho = "trained"\n'
        'parts = [{ item = "impeller kit", price = 35.5 }, { item = "screw", count = 4 }]\n'
        'cautions = ["Kill cord out."]\nrestarts = ["impeller"]',
        more='[access."leg off"]\nminutes = 25\nsource = "x"\n'
        '[access."powerhead off"]\nminutes = 180\nincludes = ["leg off"]\nsource = "x"\n'
        'consumes = [{ item = "base gasket" }]\ncautions = ["Hoist it."]\n',
    )
    impeller = found.rules["impeller"]
    assert impeller.title == "Renew the impeller"
    assert (impeller.part, impeller.minutes, impeller.who) == ("impeller vanes", 25, "trained")
    assert impeller.parts == (Part("impeller kit", 1, Fraction("35.5")), Part("screw", 4, None))
    assert impeller.cautions == ("Kill cord out.",)
    assert found.access["powerhead off"] == Access(
        "powerhead off", 180, ("leg off",), (Part("base gasket"),), ("Hoist it.",), "x"
    )


def test_what_is_not_said_has_a_plain_default() -> None:
    found = read('name = "plugs"\nseason = "launch"')
    plugs = found.rules["plugs"]
    assert (plugs.title, plugs.who, plugs.minutes, plugs.parts) == ("plugs", "anyone", 0, ())
    assert (found.title, found.basis, found.extends) == ("s", "", "")


def test_the_rules_stand_in_the_order_of_the_file() -> None:
    names = ["water tube", "impeller", "anodes"]
    assert list(read(*(f'name = "{n}"\nseason = "launch"' for n in names)).rules) == names


# --- fit --------------------------------------------------------------------------------------

BARE = Engine("Plover", date(2031, 5, 1))


@pytest.mark.parametrize(
    ("only", "hp", "stroke", "steering", "fits"),
    [
        ("hp = [2, 6]", "2", None, "", True),
        ("hp = [2, 6]", "6", None, "", True),
        ("hp = [2, 6]", "6.01", None, "", False),
        ("hp = [2.5, 6]", "2.4", None, "", False),
        ("hp = [6, 6]", "6", 2, "remote", True),
        ("stroke = 4", None, 4, "", True),
        ("stroke = 4", None, 2, "", False),
        ('steering = "remote"', None, None, "remote", True),
        ('steering = "remote"', None, None, "tiller", False),
        ('hp = [2, 6], stroke = 4, steering = "tiller"', "4", 4, "tiller", True),
        ('hp = [2, 6], stroke = 4, steering = "tiller"', "4", 2, "tiller", False),
        ('hp = [2, 6], stroke = 4, steering = "tiller"', "9.9", 4, "tiller", False),
        ('hp = [2, 6], stroke = 4, steering = "tiller"', "4", 4, "remote", False),
    ],
)
def test_a_rule_fits_the_engines_it_is_for(
    only: str, hp: str | None, stroke: int | None, steering: str, fits: bool
) -> None:
    engine = replace(BARE, hp=None if hp is None else Fraction(hp), stroke=stroke,
                     steering=steering)  # fmt: skip
    assert rule(f"season = 'launch'\nonly = {{ {only} }}").fits.engine(engine) is fits


@steady
@given(
    st.builds(
        Fits,
        st.one_of(st.none(), st.just((Fraction(2), Fraction(6)))),
        st.sampled_from([None, 2, 4]),
        st.sampled_from([None, "tiller", "remote"]),
    )
)
def test_what_an_engine_does_not_say_counts_as_fitting(fits: Fits) -> None:
    assert fits.engine(BARE)
    assert fits.engine(replace(BARE, hp=Fraction(4)))
    assert fits.engine(replace(BARE, stroke=fits.stroke))
    assert fits.engine(replace(BARE, steering=fits.steering or ""))


def test_a_rule_without_only_fits_every_engine() -> None:
    any_engine = replace(BARE, hp=Fraction(400), stroke=2, steering="remote")
    assert rule("season = 'launch'").fits.engine(any_engine)
    assert rule("season = 'launch'\nonly = {}").fits.engine(any_engine)


# --- what restarts what, and finding a task ---------------------------------------------------


def test_a_clock_is_started_by_its_own_job_first_and_by_those_that_restart_it() -> None:
    found = read(
        'name = "tank flush"\nseason = "lay-up"\nrestarts = ["flush", "tank flush"]',
        'name = "flush"\neach_run = ["salt"]',
        'name = "descale"\nafter = ["salted"]\nrestarts = ["flush"]',
    )
    assert found.restarted_by("flush") == ("flush", "tank flush", "descale")
    assert found.restarted_by("tank flush") == ("tank flush",)
    assert found.restarted_by("descale") == ("descale",)


def test_restarting_goes_one_step() -> None:
    found = read(
        'name = "a"\nseason = "launch"\nrestarts = ["b"]',
        'name = "b"\nseason = "launch"\nrestarts = ["c"]',
        'name = "c"\nseason = "launch"',
    )
    assert found.restarted_by("c") == ("c", "b")


def test_a_task_is_found_however_it_is_typed() -> None:
    found = read('name = "gear oil"\nseason = "launch"')
    assert task_of(found, " Gear  OIL ") == "gear oil"
    near = task_of(found, "gearoil")
    assert isinstance(near, Fault)
    assert str(near) == (
        'task "gearoil": is not in the rule set "s". Did you mean "gear oil"?'
    )  # fmt: skip
    some = read('name = "gear oil"\nseason = "launch"', 'name = "engine oil"\nseason = "launch"')
    assert str(task_of(some, "OIL")).endswith("Tasks with that word: engine oil, gear oil.")
    far = task_of(found, "repaint")
    assert "fleetcare rules show s lists the tasks" in str(far)
