"""What the trade says of overheating and of stiff steering, held against the shipped table.

Each saying has its source beside it; the chances themselves are a judgement, so that what is
checked is which way they move and what comes first, never a figure.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from fleetcare.repair.trace_bayes import chances
from fleetcare.repair.trace_order import next_look
from fleetcare.rules.symptoms import OTHER, Symptom
from tests.repair.fault_tables import OVERHEATING, SHIPPED, STEPS, STIFF, shares

PUMP_SIDE = ("blocked intakes", "worn pump", "choked water tube")
BLOCK_SIDE = ("thermostat", "salted passages", "head gasket", "lean running", "relief valve")
CHEAP = {"hot when", "intakes", "outlet"}


def given(symptom: Symptom, **answers: str) -> dict[str, Fraction]:
    """The chances after answers, written tell_tale="none"."""
    named = {name.replace("_", " "): word for name, word in answers.items()}
    told = {
        look.name: named[look.name.replace("-", " ")]
        for look in symptom.looks
        if look.name.replace("-", " ") in named
    }
    assert len(told) == len(answers)
    return chances(symptom, shares(symptom), told)


def side(found: dict[str, Fraction], names: tuple[str, ...]) -> Fraction:
    return sum((found[name] for name in names), Fraction(0))


NOTHING = given(OVERHEATING)


def test_strong_flow_proves_the_pump_and_not_the_block() -> None:
    # A strong stream leaves thermostat, salted block, gasket and lean fuel: workshop column, Texas
    # saltwater magazine; Boating NZ, May 2024, "DIY descaling" (overheats with good flow)
    found = given(OVERHEATING, tell_tale="strong cool")
    assert found["worn pump"] < NOTHING["worn pump"] / 3
    for name in ("thermostat", "salted passages", "lean running"):
        assert found[name] > 2 * NOTHING[name], name
    assert found["head gasket"] > NOTHING["head gasket"] / 2  # not ruled out
    assert side(found, BLOCK_SIDE) > 3 * side(found, PUMP_SIDE)


def test_a_pulsing_tell_tale_points_at_combustion_gas_in_the_cooling_water() -> None:
    # Pulsing or bubbling: gas past the head gasket: a forum's knowledge page
    found = given(OVERHEATING, tell_tale="pulsing")
    assert max(found, key=found.__getitem__) == "head gasket"
    assert found["head gasket"] > 8 * NOTHING["head gasket"]
    assert "combustion gas" in OVERHEATING.look("tell-tale").outcome("pulsing").means


def test_a_blocked_tell_tale_can_look_like_no_flow() -> None:
    # Salt, rubber, paint in the outlet: AMSA Marine Notice 12/2017; a nest though the impeller is
    # new: mechanics' forum threads (opinion)
    found = given(OVERHEATING, tell_tale="none")
    assert found["blocked tell-tale"] > NOTHING["blocked tell-tale"]
    assert found["blocked tell-tale"] > found["worn pump"]
    never_hot = given(OVERHEATING, tell_tale="none", hot_when="never hot")
    assert max(never_hot, key=never_hot.__getitem__) == "blocked tell-tale"


def test_no_flow_is_looked_into_at_intakes_and_outlet_before_anything_is_opened() -> None:
    # First poke the tell-tale, second the intake screens: a water-circulation page for small
    # two-strokes (either order: both take minutes)
    for tell_tale in ("none", "weak"):
        made = {"tell-tale": tell_tale}
        for _ in range(3):
            look = _next(made)
            assert look in CHEAP, (tell_tale, made)
            made[look] = "at speed" if look == "hot when" else "clear"
        assert made.keys() == {"tell-tale", *CHEAP}


def _next(made: dict[str, str], *without: str) -> str:
    opened = {step for name in made for step in OVERHEATING.look(name).access}
    looks = [
        look
        for look in OVERHEATING.looks
        if look.offered and not look.first and look.name not in made and look.name not in without
    ]
    choice = next_look(looks, chances(OVERHEATING, shares(OVERHEATING), made), opened, STEPS)
    assert choice is not None
    return choice.look.name


def test_the_thermostat_comes_before_the_leg_where_the_stream_is_strong() -> None:
    # Thermostat before dropping the leg when the stream is strong: common practice, no source
    made = {"tell-tale": "strong cool", "hot when": "at speed", "intakes": "clear"}
    order = []
    while len(order) < 5:
        look = _next(made)
        order.append(look)
        made[look] = OVERHEATING.look(look).outcomes[0].word
    assert {"thermostat", "passages"} <= set(order)
    assert "pump" not in order and "water tube" not in order


def test_the_leg_comes_off_before_the_head_where_the_stream_is_weak() -> None:
    # Weak or none: pump side: common practice, no source
    made = {"tell-tale": "weak", "hot when": "at idle", "intakes": "clear", "outlet": "clear"}
    assert _next(made) == "pump"


def test_water_pumped_well_and_still_hot_points_past_pump_and_thermostat() -> None:
    # At salted passages or the head gasket: workshop column, Texas saltwater magazine; common
    # practice, no source, for the gasket
    found = given(
        OVERHEATING, tell_tale="strong cool", hot_when="at speed", tank_run="strong",
        thermostat="opens in range",
    )  # fmt: skip
    named = {name: chance for name, chance in found.items() if name != OTHER}
    likeliest = sorted(named, key=named.__getitem__, reverse=True)
    assert "salted passages" in likeliest[:3]
    assert found["salted passages"] > found["worn pump"]
    assert found["head gasket"] > found["worn pump"]
    assert found["salted passages"] > found["thermostat"]


def test_a_hose_run_does_not_prove_the_pump() -> None:
    # AMSA Marine Notice 12/2017: run it submerged, a hose does not prove the pump. So a strong
    # stream on a hose leaves pump against thermostat, and against intakes, exactly as it was.
    before, after = NOTHING, given(OVERHEATING, hose_run="strong")
    for name in ("thermostat", "blocked intakes", "head gasket", "salted passages"):
        assert after["worn pump"] / after[name] == before["worn pump"] / before[name]
    tank = given(OVERHEATING, tank_run="strong")
    assert tank["worn pump"] < before["worn pump"] / 2
    assert not OVERHEATING.look("hose run").offered
    assert "not on a hose" in OVERHEATING.look("tank run").asks


def test_alarm_at_idle_speaks_of_the_pump_and_only_at_high_revs_of_the_block() -> None:
    # At idle first: the pump; only above about 4500 rpm with a strong stream: salt insulates the
    # block: workshop column, Texas saltwater magazine
    idle = given(OVERHEATING, hot_when="at idle")
    assert max(idle, key=idle.__getitem__) == "worn pump"
    fast = given(OVERHEATING, tell_tale="strong cool", hot_when="high revs only")
    assert max(fast, key=fast.__getitem__) == "salted passages"
    assert "4500" in OVERHEATING.look("hot when").outcome("high revs only").means


def test_weak_only_when_fast_speaks_of_a_worn_cup_or_the_relief_valve() -> None:
    # Strong at idle, weak at speed, after only the impeller was changed: a parts seller's page
    found = given(OVERHEATING, tell_tale="weak when fast")
    assert max(found, key=found.__getitem__) == "worn pump"
    assert found["relief valve"] > NOTHING["relief valve"]


def test_an_even_compression_does_not_clear_a_gasket() -> None:
    # The pressure of a test is far below combustion's: common practice, no source
    found = given(OVERHEATING, tell_tale="pulsing", compression="even")
    assert found["head gasket"] > Fraction(1, 4)
    low = given(OVERHEATING, compression="two neighbours low")
    assert max(low, key=low.__getitem__) == "head gasket"


def test_two_new_pumps_and_gas_only_at_the_open_thermostat_say_the_water_tube() -> None:
    # Two shops fitted a pump, the third ran it with the cover off: gas and no water; the top
    # grommet was melted shut: mechanics' forum threads (one case)
    assert side(given(OVERHEATING, cover_off_run="gas only"), PUMP_SIDE) > Fraction(3, 4)
    weights = shares(OVERHEATING)
    tube = next(cause for cause in OVERHEATING.causes if cause.name == "choked water tube")
    weights["worn pump"] *= SHIPPED.life[0][1]
    for item in tube.raised:
        weights["choked water tube"] *= item.factor if item.by == "job" else 1
    made = {"tell-tale": "none", "hot when": "at speed", "intakes": "clear", "outlet": "clear"}
    found = chances(OVERHEATING, weights, {**made, "cover-off run": "gas only"})
    assert max(found, key=found.__getitem__) == "choked water tube"


def test_missing_vanes_bring_the_water_tube_in() -> None:
    # Pieces lodge in the passages: "Cooling system repair tips"
    found = given(OVERHEATING, pump="missing")
    assert found["choked water tube"] > 3 * NOTHING["choked water tube"]
    assert "water tube" in next(
        cause.remedy for cause in OVERHEATING.causes if cause.name == "worn pump"
    )


@pytest.mark.parametrize("word", ["none", "steam", "hot"])
def test_stopping_comes_first_where_stopping_is_the_answer(word: str) -> None:
    # Throttle to idle, look at the tell-tale, none: stop the engine: trade pages; dry, a pump is
    # ruined in 30 seconds: "Cooling system repair tips"
    stop = OVERHEATING.look("tell-tale").outcome(word).stop
    assert "stop the engine" in stop and "No restart" in stop
    assert OVERHEATING.first[0].startswith("Throttle to idle")
    assert "stop the engine now; don't start it again" in OVERHEATING.first[1]
    assert OVERHEATING.look("tell-tale").first


def test_the_link_off_tells_the_cable_from_the_swivel() -> None:
    # Free with the link off: cable or ram; still stiff: swivel: mechanics' forum threads (opinion)
    free = given(STIFF, link_off="free one hand")
    assert max(free, key=free.__getitem__) == "cable or ram"
    for word in ("stiff", "notchy", "stiff one way", "seized"):
        assert given(STIFF, link_off=word)["cable or ram"] < Fraction(1, 10), word


def test_the_friction_screw_and_the_link_come_before_the_grease_gun() -> None:
    # Cheap and outside first: common practice, no source
    made: dict[str, str] = {"how it came": "bit by bit"}
    order = []
    while len(order) < 2:
        looks = [look for look in STIFF.looks if look.name not in made and not look.first]
        choice = next_look(looks, chances(STIFF, shares(STIFF), made), (), STEPS)
        assert choice is not None
        order.append(choice.look.name)
        made[choice.look.name] = choice.look.outcomes[
            0 if choice.look.name != "link off" else 1
        ].word
    assert order == ["friction screw", "link off"]


def test_still_stiff_after_a_days_soaking_speaks_of_corrosion() -> None:
    # Penetrating oil, 24 h, still stiff: corrosion swells behind the bush: mechanics' forum threads
    found = given(STIFF, link_off="stiff", witness="top and bottom", soak="still stiff")
    assert max(found, key=found.__getitem__) == "corroded swivel"
    assert STIFF.look("soak").wait_hours == 24
    eased = given(STIFF, link_off="stiff", witness="top only", soak="free")
    assert max(eased, key=eased.__getitem__) == "old grease"


def test_play_at_the_leg_is_a_worn_bush_and_no_seizure() -> None:
    # Common practice, no source
    found = given(STIFF, rock_the_leg="play")
    assert found["bent or worn bush"] > 3 * given(STIFF)["bent or worn bush"]
    assert found["corroded swivel"] < given(STIFF)["corroded swivel"]


def test_nobody_forces_the_arm_or_takes_a_flame_to_it() -> None:
    # Arm snapped: mechanics' forum threads; heat: opinions differ, so a workshop's job
    text = " ".join(STIFF.first)
    assert "bar" in text and "snaps" in text and "flame" in text


# -- the table as a whole --------------------------------------------------------------------------


@pytest.mark.parametrize("symptom", [OVERHEATING, STIFF], ids=lambda item: item.name)
def test_every_cause_can_come_to_be_the_likeliest(symptom: Symptom) -> None:
    for cause in symptom.causes:
        answers = {}
        for look in symptom.looks:
            usual = [
                sum((c.share * look.chances(c.name)[at] for c in symptom.causes), Fraction(0))
                for at in range(len(look.outcomes))
            ]
            given_it = look.chances(cause.name)
            best = max(range(len(usual)), key=lambda at: given_it[at] / usual[at])
            at = 0 if cause.name == OTHER else best  # all good, and yet
            answers[look.name] = look.outcomes[at].word
        found = chances(symptom, shares(symptom), answers)
        assert max(found, key=found.__getitem__) == cause.name, cause.name


@pytest.mark.parametrize("symptom", [OVERHEATING, STIFF], ids=lambda item: item.name)
def test_every_look_can_change_something(symptom: Symptom) -> None:
    before = chances(symptom, shares(symptom), {})
    for look in symptom.looks:
        for outcome in look.outcomes:
            after = chances(symptom, shares(symptom), {look.name: outcome.word})
            moved = max(abs(after[name] - before[name]) for name in before)
            if moved > Fraction(2, 100):
                break
        else:
            raise AssertionError(look.name)


@pytest.mark.parametrize("symptom", [OVERHEATING, STIFF], ids=lambda item: item.name)
def test_every_outcome_that_proves_a_cause_makes_it_likelier(symptom: Symptom) -> None:
    before = chances(symptom, shares(symptom), {})
    for look in symptom.looks:
        for outcome in look.outcomes:
            if outcome.proves:
                after = chances(symptom, shares(symptom), {look.name: outcome.word})
                assert after[outcome.proves] > before[outcome.proves], (look.name, outcome.word)


@pytest.mark.parametrize("symptom", [OVERHEATING, STIFF], ids=lambda item: item.name)
def test_cautions_are_there_wherever_a_hand_goes_or_it_runs(symptom: Symptom) -> None:
    # Propeller, cord, plug caps: a maker's handbook; gas: NIOSH, CO Dangers in Boating; hearing,
    # scalding: common practice, no source
    hands, run = " ".join(SHIPPED.cautions["hands"]), " ".join(SHIPPED.cautions["run"])
    for words in ("stopped", "kill cord off", "neutral", "plug caps off"):
        assert words in hands, words
    assert "scald" in OVERHEATING.cautions[0] and "no bar" in STIFF.cautions[0]
    for words in ("Propeller off", "kill cord off", "neutral", "scald", "steam", "Ear", "gas"):
        assert words in run, words
    for look in symptom.looks:
        assert look.kind in ("ask", "hands", "run")
        if look.access:
            assert look.kind != "ask", look.name
    assert {look.kind for look in OVERHEATING.looks} == {"ask", "hands", "run"}
