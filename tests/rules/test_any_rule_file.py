"""Whatever stands in a rule file, it is read or refused in words: never a traceback."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.rules.reading import ACCESS_KEYS, LIMIT_KEYS, SET_KEYS, TASK_KEYS
from fleetcare.rules.sets import read_set
from fleetcare.rules.shipped import all_texts

steady = settings(deadline=None, derandomize=True, database=None)

TEXTS = all_texts(None)
SETS = sorted(TEXTS)


def read_or_refuse(name: str, texts: dict[str, tuple[str, str]]) -> None:
    try:
        read_set(name, texts)
    except FaultsError as refused:
        assert refused.faults
        for fault in refused.faults:
            assert ".toml" in fault.where and fault.what
        assert str(refused)
    except RefusedError as refused:
        assert str(refused)


@given(st.text())
@steady
def test_any_text_is_read_or_refused(text: str) -> None:
    read_or_refuse("x", {"x": (text, "x.toml")})


KEYS = [*SET_KEYS, *ACCESS_KEYS, *TASK_KEYS, *LIMIT_KEYS, "fresh", "brackish", "salt", "hp"]
PIECES = [
    "[set]\n", "[[task]]\n", "[access.x]\n", "[task]\n", "[limits.salt]\n", "= ", "\n", "{ ", " }",
    "[", "]", ", ", "'x'", '"gearcase"', "true", "0", "-1", "1e99", "nan", "inf", "0.001", "''",
    "2031-05-01", "10:00:00", "1e999999999999", "9" * 5000, "0x" + "f" * 5000, "#", ".", "\x00",
    "'''", "\\", "{ months = 12 }", "['salt']", "name = 'x'\n", "component = 'gearcase'\n",
    "source = 'x'\n", "season = 'launch'\n", "extends = 'x'\n",
    *(f"{key} = " for key in KEYS),
]  # fmt: skip


@given(st.lists(st.sampled_from(PIECES), max_size=25))
@settings(steady, max_examples=300)
def test_any_heap_of_pieces_of_a_rule_file_is_read_or_refused(pieces: list[str]) -> None:
    text = "".join(pieces)
    read_or_refuse("x", {"x": (text, "x.toml")})
    read_or_refuse("x", {"x": ("[set]\nname = 'x'\n" + text, "x.toml")})


scalars = st.one_of(
    st.integers(), st.floats(), st.booleans(), st.sampled_from(["'salt'", "'x'", "''", "nan"]),
).map(lambda value: str(value).lower() if isinstance(value, bool) else str(value))  # fmt: skip
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[" + ", ".join(items) + "]"),
        st.dictionaries(st.sampled_from(KEYS), inner, max_size=3).map(
            lambda cells: "{ " + ", ".join(f"{k} = {v}" for k, v in cells.items()) + " }"
        ),
    ),
    max_leaves=6,
)
tables = st.dictionaries(st.sampled_from(KEYS), values, max_size=6).map(
    lambda cells: "".join(f"{key} = {value}\n" for key, value in cells.items())
)


@given(tables, st.lists(tables, max_size=3), st.lists(tables, max_size=2))
@settings(steady, max_examples=150)
def test_any_well_formed_file_is_read_or_refused(
    head: str, tasks: list[str], steps: list[str]
) -> None:
    text = "[set]\n" + re.sub(r"(?m)^name = .*\n", "", head) + "name = 'x'\n"
    text += "".join(f"[access.s{at}]\n{step}" for at, step in enumerate(steps))
    for at, task in enumerate(tasks):
        named = task if "name" in task.split() else f"name = 't{at}'\n{task}"
        text += f"[[task]]\n{named}"
    read_or_refuse("x", {"x": (text, "x.toml")})
    over = "[set]\nname = 'y'\nextends = 'x'\n" + text.partition("name = 'x'\n")[2]
    read_or_refuse("y", {"x": (text, "x.toml"), "y": (over, "y.toml")})


def mutated(text: str, chance: random.Random) -> str:
    """The text with a few slips: letters lost or put in, lines doubled, lost or moved, values."""
    for _ in range(chance.randint(1, 4)):
        lines = text.splitlines(keepends=True)
        at = chance.randrange(len(lines))
        spot = chance.randrange(len(text))
        kind = chance.randrange(7)
        if kind == 0:
            text = text[:spot] + text[spot + chance.randint(1, 30) :]
        elif kind == 1:
            text = text[:spot] + chance.choice(PIECES) + text[spot:]
        elif kind == 2:
            lines.insert(at, lines[chance.randrange(len(lines))])
            text = "".join(lines)
        elif kind == 3:
            del lines[at]
            text = "".join(lines)
        elif kind == 4:
            before, equals, _ = lines[at].partition("= ")
            lines[at] = before + equals + chance.choice(PIECES) + "\n"
            text = "".join(lines)
        elif kind == 5:
            lines[at] = re.sub(r"\d+", str(chance.choice([0, -1, 10**30, 1.5])), lines[at])
            text = "".join(lines)
        else:
            lines[at] = re.sub(r"^\w+", chance.choice(KEYS), lines[at])
            text = "".join(lines)
    return text


@pytest.mark.parametrize("name", SETS)
@steady
@given(chance=st.randoms(use_true_random=False))
def test_a_shipped_file_with_slips_is_read_or_refused(name: str, chance: random.Random) -> None:
    text, where = TEXTS[name]
    read_or_refuse(name, {**TEXTS, name: (mutated(text, chance), where)})


@steady
@given(chance=st.randoms(use_true_random=False))
def test_slips_in_the_set_beneath_are_told_of_its_file(chance: random.Random) -> None:
    text, where = TEXTS["small-petrol"]
    texts = {**TEXTS, "small-petrol": (mutated(text, chance), where)}
    try:
        read_set("small-petrol", texts)
    except FaultsError as refused:
        with pytest.raises(FaultsError) as above:
            read_set("salt-mooring", texts)
        places = {fault.where.partition(":")[0] for fault in above.value.faults}
        assert places <= {where, TEXTS["salt-mooring"][1]}
        assert refused.faults


@given(st.binary(max_size=200))
@steady
def test_any_bytes_in_a_file_are_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    folder: Path = tmp_path_factory.mktemp("own")
    (folder / "x.toml").write_bytes(content)
    try:
        texts = all_texts(folder)
    except RefusedError as refused:
        assert "is not UTF-8" in str(refused)
    else:
        read_or_refuse("x", texts)
