"""How likely each cause is: Bayes' rule over looks that depend on nothing but the cause.

Exact fractions, so that the order in which the looks were made cannot change a digit.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from fleetcare.rules.symptoms import Symptom


def chances(
    symptom: Symptom, weights: Mapping[str, Fraction], answers: Mapping[str, str]
) -> dict[str, Fraction]:
    """The chance of each cause, all together 1, from its weight and the outcomes seen.

    `weights` are shares in any unit; `answers` are outcome words by the name of the look. No
    cause falls to 0, since no outcome is impossible under any of them.
    """
    odds = {cause.name: weights[cause.name] for cause in symptom.causes}
    for name, word in answers.items():
        look = symptom.look(name)
        at = [outcome.word for outcome in look.outcomes].index(word)
        for cause in odds:
            odds[cause] *= look.chances(cause)[at]
    total = sum(odds.values())
    return {cause: weight / total for cause, weight in odds.items()}


def outcome_chances(symptom: Symptom, now: Mapping[str, Fraction], name: str) -> list[Fraction]:
    """How likely each outcome of a look is, as things stand; all together 1."""
    look = symptom.look(name)
    return [
        sum((chance * look.chances(cause)[at] for cause, chance in now.items()), Fraction(0))
        for at in range(len(look.outcomes))
    ]


def speaks(
    symptom: Symptom, weights: Mapping[str, Fraction], cause: str, name: str, word: str
) -> Fraction:
    """How many times as often an outcome is seen under a cause as under all of them."""
    total = sum(weights.values(), Fraction(0))
    shares = {key: weight / total for key, weight in weights.items()}
    at = [outcome.word for outcome in symptom.look(name).outcomes].index(word)
    return symptom.look(name).chances(cause)[at] / outcome_chances(symptom, shares, name)[at]
