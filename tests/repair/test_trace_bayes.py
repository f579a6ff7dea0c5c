"""Chances by Bayes' rule: against an enumeration of every joint outcome written apart, and
against pyagrum, a general library of Bayesian networks.

Properties are those of the textbooks: posterior = prior x likelihood / evidence (T. Bayes, 1763;
D. Heckerman et al., Decision-theoretic troubleshooting, Comm. ACM 38(3), 1995, for one fault and
looks independent given it).
"""

from __future__ import annotations

import itertools
import warnings
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.repair.trace_bayes import chances, outcome_chances, speaks
from fleetcare.rules.symptoms import OTHER, Symptom
from tests.repair.fault_tables import OVERHEATING, STIFF, shares, tables


@st.composite
def seen(draw: st.DrawFn, symptom: Symptom) -> dict[str, str]:
    """Answers to some of the looks."""
    answered = [look for look in symptom.looks if draw(st.booleans())]
    return {
        look.name: draw(st.sampled_from([item.word for item in look.outcomes])) for look in answered
    }


def enumerated(symptom: Symptom, answers: dict[str, str]) -> dict[str, Fraction]:
    """The posterior by counting the whole joint table: every cause with every set of outcomes."""
    total = sum(cause.share for cause in symptom.causes)
    weight = dict.fromkeys([cause.name for cause in symptom.causes], Fraction(0))
    words = [[item.word for item in look.outcomes] for look in symptom.looks]
    for cause in symptom.causes:
        for row in itertools.product(*words):
            if any(
                answers.get(look.name, word) != word
                for look, word in zip(symptom.looks, row, strict=True)
            ):
                continue
            mass = Fraction(cause.share) / total
            for look, word in zip(symptom.looks, row, strict=True):
                table = look.given.get(cause.name, look.usual)
                mass *= table[[item.word for item in look.outcomes].index(word)]
            weight[cause.name] += mass
    evidence = sum(weight.values())
    return {name: mass / evidence for name, mass in weight.items()}


@given(st.data(), tables())
def test_chances_equal_the_joint_table_counted_out(data: st.DataObject, symptom: Symptom) -> None:
    answers = data.draw(seen(symptom))
    assert chances(symptom, shares(symptom), answers) == enumerated(symptom, answers)


@pytest.fixture(scope="module")
def agrum() -> Any:
    with warnings.catch_warnings():  # its compiled part warns of the interpreter's own changes
        warnings.simplefilter("ignore")
        import pyagrum

        return pyagrum


def posterior(agrum: Any, symptom: Symptom, answers: dict[str, str]) -> dict[str, float]:
    """What pyagrum says: a cause with one child a look."""
    names = [cause.name for cause in symptom.causes]
    total = sum(cause.share for cause in symptom.causes)
    net = agrum.BayesNet()
    net.add(agrum.LabelizedVariable("cause", "", [f"c{at}" for at in range(len(names))]))
    net.cpt("cause").fillWith([float(cause.share / total) for cause in symptom.causes])
    evidence = {}
    for at, look in enumerate(symptom.looks):
        labels = [f"o{item}" for item in range(len(look.outcomes))]
        net.add(agrum.LabelizedVariable(f"look{at}", "", labels))
        net.addArc("cause", f"look{at}")
        for row, name in enumerate(names):
            net.cpt(f"look{at}")[{"cause": row}] = [float(part) for part in look.chances(name)]
        if look.name in answers:
            word = answers[look.name]
            evidence[f"look{at}"] = [item.word for item in look.outcomes].index(word)
    inference = agrum.LazyPropagation(net)
    inference.setEvidence(evidence)
    inference.makeInference()
    found = inference.posterior("cause").tolist()
    return dict(zip(names, found, strict=True))


@settings(max_examples=60)
@given(st.data(), tables(most_causes=6, most_looks=6))
def test_chances_equal_a_general_bayesian_library_on_random_tables(
    agrum: Any, data: st.DataObject, symptom: Symptom
) -> None:
    answers = data.draw(seen(symptom))
    ours = chances(symptom, shares(symptom), answers)
    theirs = posterior(agrum, symptom, answers)
    assert {name: float(chance) for name, chance in ours.items()} == pytest.approx(theirs, abs=1e-9)


@settings(max_examples=40)
@given(st.data(), st.sampled_from([OVERHEATING, STIFF]))
def test_chances_equal_a_general_bayesian_library_on_the_shipped_tables(
    agrum: Any, data: st.DataObject, symptom: Symptom
) -> None:
    answers = data.draw(seen(symptom))
    ours = chances(symptom, shares(symptom), answers)
    theirs = posterior(agrum, symptom, answers)
    assert {name: float(chance) for name, chance in ours.items()} == pytest.approx(theirs, abs=1e-9)


@given(st.data(), st.sampled_from([OVERHEATING, STIFF]))
def test_the_order_of_the_questions_changes_nothing(data: st.DataObject, symptom: Symptom) -> None:
    answers = data.draw(seen(symptom))
    turned = dict(data.draw(st.permutations(list(answers.items()))))
    assert chances(symptom, shares(symptom), answers) == chances(symptom, shares(symptom), turned)


@given(st.data(), st.sampled_from([OVERHEATING, STIFF]))
def test_chances_add_up_to_one_and_none_vanishes(data: st.DataObject, symptom: Symptom) -> None:
    found = chances(symptom, shares(symptom), data.draw(seen(symptom)))
    assert sum(found.values()) == 1
    assert min(found.values()) > 0 and found[OTHER] > 0


@given(st.data(), tables())
def test_what_is_to_be_expected_of_a_look_is_what_is_believed_now(
    data: st.DataObject, symptom: Symptom
) -> None:
    # The law of total probability: sum over outcomes of P(outcome) P(cause | outcome) = P(cause)
    answers = data.draw(seen(symptom))
    now = chances(symptom, shares(symptom), answers)
    look = data.draw(st.sampled_from(symptom.looks))
    if look.name in answers:
        return
    likely = outcome_chances(symptom, now, look.name)
    assert sum(likely) == 1
    for cause in now:
        mean = sum(
            chance * chances(symptom, shares(symptom), {**answers, look.name: item.word})[cause]
            for chance, item in zip(likely, look.outcomes, strict=True)
        )
        assert mean == now[cause]


@given(tables())
def test_a_look_that_every_cause_answers_alike_changes_nothing(symptom: Symptom) -> None:
    look = symptom.looks[0]
    same = Symptom("s", "s", ("",), symptom.causes, (_alike(look),))
    before = chances(same, shares(same), {})
    assert chances(same, shares(same), {look.name: "bad"}) == before
    assert all(speaks(same, shares(same), cause, look.name, "bad") == 1 for cause in before)


def _alike(look: Any) -> Any:
    from dataclasses import replace

    return replace(look, given={})


def test_bayes_rule_by_hand() -> None:
    # Shares 30, 10 and 2; a weak stream in 60, 1 and 10 of 100: 18 : 0.1 : 0.2
    from fleetcare.rules.symptoms import Cause, Look, Outcome

    def parts(*of_hundred: int) -> tuple[Fraction, ...]:
        return tuple(Fraction(item, 100) for item in of_hundred)

    symptom = Symptom(
        "s", "s", ("",),
        (Cause("pump", "", Fraction(30)), Cause("salt", "", Fraction(10)),
         Cause(OTHER, "", Fraction(2))),
        (Look("stream", "ask", "", 0, (Outcome("strong", ""), Outcome("weak", "")), parts(90, 10),
              {"pump": parts(40, 60), "salt": parts(99, 1)}),),
    )  # fmt: skip
    found = chances(symptom, shares(symptom), {"stream": "weak"})
    assert found == {
        "pump": Fraction(180, 183), "salt": Fraction(1, 183), OTHER: Fraction(2, 183)
    }  # fmt: skip
