"""Reading faults.toml: every fault of the file is told at once, each with its path."""

from __future__ import annotations

import copy
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from fleetcare.rules.faults import read_tracing
from fleetcare.rules.shipped import read_book, word_table
from fleetcare.rules.symptoms import OTHER, Tracing

BOOK = read_book(None, {"small-petrol"})
GOOD: dict[str, Any] = {
    "cautions": {"hands": ["Stop it."], "run": ["Propeller off."], "source": "our judgement"},
    "record": {
        "life": [[0, Decimal("0.5")], [1, 2]], "no_record": 1, "overdue": 1, "days": 30,
        "source": "our judgement",
    },
    "symptom": {
        "overheating": {
            "title": "overheating", "other": 2, "first": ["Stop."], "source": "our judgement",
            "cause": [
                {"name": "pump", "share": 60, "jobs": ["impeller"], "source": "our judgement",
                 "raised": [{"incident": "ran dry", "until": ["impeller"], "factor": 4}]},
                {"name": "salt", "share": 40, "source": "our judgement"},
            ],
            "look": [
                {"name": "stream", "kind": "ask", "asks": "?", "minutes": 3,
                 "outcomes": [
                     {"word": "strong", "means": "salt"},
                     {"word": "weak", "means": "pump", "proves": "pump",
                      "found": ["tell-tale", "weak"]}],
                 "usual": [90, 10], "given": {"pump": [20, 80]}, "source": "our judgement"},
                {"name": "cover", "kind": "hands", "asks": "?", "minutes": 3,
                 "outcomes": [
                     {"word": "clear", "means": "not salt"},
                     {"word": "salted", "means": "salt", "proves": "salt"}],
                 "usual": [90, 10], "after": ["stream"], "source": "our judgement"},
            ],
        }
    },
}  # fmt: skip


def read(data: dict[str, Any]) -> Tracing | list[str]:
    found = read_tracing(data, "intervals/faults.toml", BOOK.conditions, BOOK.incidents)
    return found if isinstance(found, Tracing) else [str(fault) for fault in found]


def broken(*path: Any, to: Any) -> list[str]:
    """The faults of the good file with one thing changed."""
    data = copy.deepcopy(GOOD)
    at: Any = data
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = to
    found = read(data)
    assert isinstance(found, list)
    return found


CAUSE = ("symptom", "overheating", "cause", 0)
LOOK = ("symptom", "overheating", "look", 0)


def test_a_good_file_is_read_whole() -> None:
    found = read(GOOD)
    assert isinstance(found, Tracing)
    symptom = found.symptoms["overheating"]
    assert [(cause.name, cause.share) for cause in symptom.causes] == [
        ("pump", 60), ("salt", 40), (OTHER, 2),
    ]  # fmt: skip
    assert symptom.look("stream").chances("pump") == (Fraction(1, 5), Fraction(4, 5))
    assert symptom.look("stream").chances(OTHER) == (Fraction(9, 10), Fraction(1, 10))
    assert found.life == ((0, Fraction(1, 2)), (1, 2))


def test_the_shipped_file_is_read_without_a_fault() -> None:
    found = read(word_table("faults"))  # type: ignore[arg-type]
    assert isinstance(found, Tracing), found
    assert set(found.symptoms) == {"overheating", "stiff-steering"}


@pytest.mark.parametrize(
    ("path", "to", "told"),
    [
        (("sympton",), {}, 'sympton: is not a key here. Did you mean "symptom"?'),
        (("record", "life"), [[1, 2]], "[record]: life: begins at life 0 and rises"),
        (("record", "life"), [[0, 2], [0, 3]], "begins at life 0 and rises"),
        (("record", "life"), [[0]], "takes pairs of life and factor"),
        (("record", "no_record"), 0, "[record]: no_record: takes a factor above 0"),
        (("record", "no_record"), True, "not true"),
        (("record", "days"), Decimal("1.5"), "[record]: days: takes a whole number"),
        (("record", "source"), "", "[record]: source: is missing"),
        (("cautions", "run"), [], "[cautions]: run: says nothing"),
        (("symptom",), {}, "symptom: has no tables"),
        (("symptom", "overheating", "first"), [], "symptom.overheating: first: says nothing"),
        (("symptom", "overheating", "other"), 0, "other: takes a share above 0, to 100, not 0"),
        (("symptom", "overheating", "cause"), [], "symptom.overheating: cause: takes tables"),
        ((*CAUSE, "share"), 50, "share: the shares of the causes add up to 90, not 100"),
        ((*CAUSE, "name"), "salt", 'cause "salt": stands twice'),
        ((*CAUSE, "name"), OTHER, 'cause "other": is always there'),
        ((*CAUSE, "name"), "a=b", "cause number 1: has no name, or one with ="),
        ((*CAUSE, "source"), " ", 'cause "pump": source: is missing'),
        ((*CAUSE, "jbos"), [], 'cause "pump": jbos: is not a key here. Did you mean "jobs"?'),
        ((*CAUSE, "raised"), "often", "raised: takes a list of tables"),
        ((*CAUSE, "raised"), [{"factor": 2}], "takes one of finding, incident, job, water"),
        ((*CAUSE, "raised", 0, "incident"), "ran drv", 'no incident. Did you mean "ran dry"?'),
        ((*CAUSE, "raised", 0, "factor"), 99, "factor: takes a factor above 0, to 20, not 99"),
        ((*CAUSE, "raised"), [{"water": ["slat"], "factor": 2}], 'Did you mean "salt"?'),
        ((*CAUSE, "raised"), [{"finding": "fuel", "factor": 2}], "conditions: is missing"),
        ((*LOOK, "kind"), "guess", 'kind: cannot be "guess": one of ask, hands, run'),
        ((*LOOK, "minutes"), -1, "minutes: takes a whole number"),
        ((*LOOK, "usual"), [95, 10], "usual: takes 2 parts of 100, none below 1"),
        ((*LOOK, "usual"), [100, 0], "usual: takes 2 parts of 100, none below 1"),
        ((*LOOK, "usual"), [100], "usual: takes 2 parts of 100"),
        ((*LOOK, "given"), {"pmup": [20, 80]}, 'is no cause here. Did you mean "pump"?'),
        ((*LOOK, "after"), ["cover"], '"cover" is no look above it'),
        ((*LOOK, "first"), "yes", 'first: is true or false, not "yes"'),
        ((*LOOK, "outcomes", 1, "found"), ["tell-tale", "waek"], 'Did you mean "weak"?'),
        ((*LOOK, "outcomes", 1, "found"), ["tell-tale"], "takes a part and its condition"),
        ((*LOOK, "outcomes", 1, "proves"), "pmup", 'is no cause here. Did you mean "pump"?'),
        ((*LOOK, "outcomes", 1, "proves"), "", 'cause "pump": is proved by no look'),
        ((*LOOK, "outcomes", 0, "proves"), "salt", "takes the good outcome first"),
        ((*LOOK, "outcomes", 0, "lifts"), ["stream=none"], '"stream=none" is no answer'),
        ((*LOOK, "outcomes", 0, "word"), "weak", 'outcome "weak": stands twice'),
        ((*LOOK, "outcomes", 0, "incident"), "overheaded", 'Did you mean "overheated"?'),
    ],
)
def test_what_is_wrong_is_told_with_its_path(path: tuple[Any, ...], to: Any, told: str) -> None:
    found = broken(*path, to=to)
    assert any(told in line for line in found), found
    assert all(line.startswith("intervals/faults.toml: ") for line in found)


@pytest.mark.parametrize("wrong", [None, 3, "x", [], [3], True, Decimal("NaN")])
def test_whatever_stands_in_a_place_is_refused_in_words_and_never_a_bug(wrong: Any) -> None:
    for path in (
        ("cautions",), ("record",), ("symptom", "overheating"), CAUSE, LOOK,
        ("symptom", "overheating", "look"), (*CAUSE, "raised"), (*CAUSE, "share"),
        (*LOOK, "outcomes"), (*LOOK, "outcomes", 1), (*LOOK, "given"), (*LOOK, "usual"),
        ("record", "life"), (*LOOK, "minutes"), (*LOOK, "asks"),
    ):  # fmt: skip
        if path == (*CAUSE, "raised") and wrong == []:
            continue
        if path == (*LOOK, "minutes") and wrong == 3:
            continue
        if (path, wrong) in (((*LOOK, "asks"), "x"), ((*CAUSE, "share"), 60)):
            continue
        assert broken(*path, to=wrong), path


def test_all_faults_are_told_at_once() -> None:
    data = copy.deepcopy(GOOD)
    data["record"]["days"] = 0
    data["symptom"]["overheating"]["cause"][1]["share"] = 1
    data["symptom"]["overheating"]["look"][0]["kind"] = "guess"
    data["symptom"]["overheating"]["look"][1]["usual"] = [1, 2]
    found = read(data)
    assert isinstance(found, list)
    assert len(found) == 4


def test_more_looks_that_prove_than_their_order_can_be_found_for_are_refused() -> None:
    look = GOOD["symptom"]["overheating"]["look"][1]
    many = [{**look, "name": f"look {at}", "after": []} for at in range(12)]
    found = broken(
        "symptom", "overheating", "look", to=[GOOD["symptom"]["overheating"]["look"][0], *many]
    )
    assert any("12 looks that prove a cause at most" in line for line in found)
