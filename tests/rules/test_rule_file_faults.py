"""Faults of a rule file as a whole: its head, its kinds of values, its steps, sets on sets."""

from __future__ import annotations

import pytest

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.rules.reading import ACCESS_KEYS, SET_KEYS, TASK_KEYS
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import read_set

SET = '[set]\nname = "our-jetty"\n'
TASK = '[[task]]\nname = "impeller"\ncomponent = "gearcase"\nsource = "the engine\'s handbook"\n'
FILE = "intervals/our-jetty.toml"


def read(text: str, **others: str) -> RuleSet:
    texts = {"our-jetty": (text, FILE)}
    texts |= {name: (other, f"intervals/{name}.toml") for name, other in others.items()}
    return read_set("our-jetty", texts)


def faults(text: str, **others: str) -> list[str]:
    with pytest.raises(FaultsError) as refused:
        read(text, **others)
    assert refused.value.exit_code == 1
    assert str(refused.value).splitlines()[0] == str(refused.value.faults[0])
    return [str(fault) for fault in refused.value.faults]


def one(text: str, **others: str) -> str:
    found = faults(text, **others)
    assert len(found) == 1, found
    return found[0]


# --- the file as a whole ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", f'{FILE}: [set]: has no name. Write [set] and name = "…", the name engines use.'),
        ("[set]\ntitle = 'x'", f"{FILE}: [set]: has no name. "),
        ("[set]\nname = 5", f"{FILE}: [set]: has no name. "),
        ("set = 5", f"{FILE}: [set]: has no name. "),
        (
            "[set]\nname = 'our-jety'",
            f'{FILE}: [set]: name: is "our-jety". Write the file\'s own: name = "our-jetty"',
        ),
        (SET + "extend = 'x'", f'{FILE}: [set]: extend: is not a key here. Did you mean "exten'),
        (SET + "extends = 5", f"{FILE}: [set]: extends: takes a text in quotes, not 5. extends ="),
        (SET + "extends = ['x']", f"{FILE}: [set]: extends: takes a text in quotes, not a list"),
        (SET + "title = 5", f'{FILE}: [set]: title: takes a text in quotes, not 5. title = "…"'),
        (SET + "[tasks]", f'{FILE}: tasks: is not a key here. Did you mean "task"?'),
        (SET + "[task]\nname = 'x'", f"{FILE}: task: takes tables. Begin each task with [[task]]."),
        ("task = [1]\n" + SET, f"{FILE}: task: takes tables. Begin each task with [[task]]."),
        ("access = 5\n" + SET, f"{FILE}: access: takes tables. Begin each step with [access."),
        ("access.x = 5\n" + SET, f"{FILE}: access: takes tables. Begin each step with [access."),
        (SET + "[[task]]\nseason = 'launch'", f"{FILE}: [[task]] number 1: has no name. "),
        (SET + "[[task]]\nname = 7", f"{FILE}: [[task]] number 1: has no name. Write name"),
        (SET + "[[task]]\nname = ' '", f"{FILE}: [[task]] number 1: has no name. Write name"),
        (
            SET + TASK + "season = 'launch'\n" + TASK,
            f'{FILE}: task "impeller": stands twice in the file. Keep one of them.',
        ),
        (
            SET + TASK + "season = 'launch'\n" + TASK.replace("impeller", "Impeller"),
            f'{FILE}: task "Impeller": stands twice in the file. Keep one of them.',
        ),
        (
            SET + TASK.replace("impeller", "a; b") + "season = 'launch'",
            f'{FILE}: task "a; b": name: holds a ";", which separates names in tables',
        ),
        (
            SET + TASK.replace("impeller", " pump  look") + "season = 'launch'",
            'spaces that do not count. name = "pump look"',
        ),
    ],
)  # fmt: skip
def test_a_fault_of_the_file_is_told_with_its_place(text: str, told: str) -> None:
    assert told in one(text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[set\nname", "(at line 1, "),
        (SET + "title = \n", "(at line 3, "),
        (SET + "name = 'twice'\n", "(at line 3, "),
        (SET + "title = 'x\ny'", "(at line 3, "),
        (SET + "at = 2031-02-30", "Invalid date or datetime"),
        ("\x00", "(at line 1, "),
    ],
)
def test_what_is_not_toml_says_where(text: str, told: str) -> None:
    found = one(text)
    assert found.startswith(f"{FILE}: is not TOML: ")
    assert told in found


def test_numbers_and_nests_beyond_reading_are_refused_in_words() -> None:
    too_long = f"{FILE}: holds a number too long to be read"
    assert one(SET + "title = " + "9" * 5000) == too_long
    assert one(SET + "title = 1e" + "9" * 30) == too_long
    assert one(SET + "title = " + "[" * 5000) == f"{FILE}: is nested too deep to be read"


@pytest.mark.parametrize("key", ["minutes", "component", "limits.fresh", "name", "idle.months"])
def test_a_deep_nest_of_keys_is_refused_in_words(key: str) -> None:
    faults(SET + f"[[task]]\n{key}.{'.'.join('a' * 3000)} = 1")


# --- wrong types everywhere -------------------------------------------------------------------

VALUES = {
    "text": "'x y'", "whole": "7", "decimal": "7.5", "nan": "nan", "yes": "true",
    "day": "2031-05-01", "moment": "2031-05-01T10:00:00Z", "list": "[7]", "empty list": "[]",
    "words": "['x']", "table": "{ x = 7 }", "empty table": "{}", "tables": "[{ x = 7 }]",
}  # fmt: skip
# The kinds of value that a key does take; a text that is no word of its list is refused as well.
TAKEN = {
    "name": {"text"}, "title": {"text"}, "component": set(), "only": {"empty table"},
    "part": {"text"}, "limits": set(), "first": set(), "mixing": set(),
    "restarts": {"empty list"}, "leads_to": {"empty list", "words"}, "chain": {"text"},
    "access": {"empty list"}, "minutes": {"whole"}, "who": set(), "parts": {"empty list"},
    "cautions": {"empty list", "words"}, "source": {"text"}, "each_run": set(),
    "misses": {"whole"}, "after": {"empty list", "words"}, "idle": set(), "season": set(),
    "soon_again": set(), "unseen": {"text"},
}  # fmt: skip
PLAIN = {
    "name": "'impeller'", "component": "'gearcase'", "source": "'x'", "limits": "{ hours = 9 }"
}  # fmt: skip


def test_every_key_of_a_task_is_tried() -> None:
    assert set(TAKEN) == set(TASK_KEYS)


@pytest.mark.parametrize("kind", VALUES)
@pytest.mark.parametrize("key", TASK_KEYS)
def test_a_key_takes_its_own_kind_of_value_and_no_other(key: str, kind: str) -> None:
    cells = PLAIN | {key: VALUES[kind]}
    text = SET + "[[task]]\n" + "".join(f"{name} = {cell}\n" for name, cell in cells.items())
    if kind in TAKEN[key]:
        read(text)
    else:
        place = "[[task]] number 1: " if key == "name" else f'task "impeller": {key}'
        assert any(f"{FILE}: {place}" in told for told in faults(text))


STEP_TAKEN = {
    "minutes": {"whole"}, "includes": {"empty list"}, "consumes": {"empty list"},
    "cautions": {"empty list", "words"}, "source": {"text"},
}  # fmt: skip


@pytest.mark.parametrize("kind", VALUES)
@pytest.mark.parametrize("key", ACCESS_KEYS)
def test_an_access_steps_keys_do_the_same(key: str, kind: str) -> None:
    cells = {"source": "'x'"} | {key: VALUES[kind]}
    text = SET + "[access.'leg off']\n" + "".join(f"{k} = {v}\n" for k, v in cells.items())
    if kind in STEP_TAKEN[key]:
        read(text)
    else:
        assert any(f'{FILE}: access "leg off": {key}' in told for told in faults(text))


@pytest.mark.parametrize("kind", [kind for kind in VALUES if kind != "text"])
@pytest.mark.parametrize("key", SET_KEYS)
def test_the_head_of_a_set_takes_texts_only(key: str, kind: str) -> None:
    cells = {"name": "'our-jetty'"} | {key: VALUES[kind]}
    told = faults("[set]\n" + "".join(f"{k} = {v}\n" for k, v in cells.items()))
    assert told[0].startswith(f"{FILE}: [set]: ")


# --- access steps -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        ("minute = 5", 'minute: is not a key here. Did you mean "minutes"?'),
        ("includes = ['leg of']", 'includes: "leg of" is not a step. Did you mean "leg off"?'),
        ("includes = ['leg off']", "includes: leads back to the step itself"),
        ("consumes = [{ count = 2 }]", "consumes: a part has no item. [{ item = "),
    ],
)
def test_a_fault_in_an_access_step_names_the_step(inside: str, told: str) -> None:
    text = SET + f"[access.'leg off']\nsource = 'x'\n{inside}"
    assert one(text).startswith(f'{FILE}: access "leg off": {told}')


def test_steps_that_include_each_other_in_a_circle_are_refused() -> None:
    ring = "".join(
        f"[access.{step}]\nsource = 'x'\nincludes = ['{included}']\n"
        for step, included in ("ab", "bc", "ca")
    )
    assert [told.split(":")[1] for told in faults(SET + ring)] == [
        ' access "a"', ' access "b"', ' access "c"',
    ]  # fmt: skip
    read(SET + ring.replace("includes = ['a']\n", ""))


# --- sets on sets -----------------------------------------------------------------------------


def test_a_set_that_is_not_there_is_refused_with_the_nearest() -> None:
    told = one(SET + "extends = 'small-petrl'", **{"small-petrol": "[set]\nname='small-petrol'"})
    assert told == (
        f'{FILE}: [set]: extends: no rule set "small-petrl". Did you mean "small-petrol"?'
    )
    with pytest.raises(RefusedError, match='no rule set "our-jety"'):
        read_set("our-jety", {"our-jetty": (SET, FILE)})


def test_sets_that_extend_each_other_in_a_circle_are_refused() -> None:
    assert "goes round in a circle" in one(SET + "extends = 'our-jetty'")
    told = one(SET + "extends = 'b'", b="[set]\nname='b'\nextends='our-jetty'")
    assert told == 'intervals/b.toml: [set]: extends: goes round in a circle at "our-jetty"'


def test_a_stack_of_sets_has_an_end() -> None:
    def stack(height: int) -> dict[str, str]:
        sets = {f"s{at}": f"[set]\nname='s{at}'\nextends='s{at + 1}'" for at in range(height)}
        return sets | {f"s{height}": f"[set]\nname='s{height}'"}

    assert read(SET + "extends = 's0'", **stack(7)).extends == "s0"
    assert "stacks more than 8 sets" in one(SET + "extends = 's0'", **stack(8))


def test_a_fault_of_the_set_beneath_is_told_of_its_own_file() -> None:
    base = "[set]\nname='base'\n" + TASK + "limits = { hours = 0 }\n"
    told = one(SET + "extends = 'base'", base=base)
    assert told.startswith('intervals/base.toml: task "impeller": limits.hours: ')
    assert one(SET + "extends = 'base'", base="[set").startswith("intervals/base.toml: is not TOML")


def test_a_fault_of_ones_own_is_told_of_ones_own_file() -> None:
    base = "[set]\nname='base'\n" + TASK + "limits = { hours = 100 }\n"
    own = SET + "extends = 'base'\n[[task]]\nname = 'impeller'\nlimits.salt = { hours = 0 }"
    assert one(own, base=base).startswith(f'{FILE}: task "impeller": limits.salt.hours: ')


def test_a_task_written_otherwise_than_in_the_set_beneath_is_asked_about() -> None:
    base = "[set]\nname='base'\n" + TASK + "limits = { hours = 100 }\n"
    own = SET + "extends = 'base'\n[[task]]\nname = 'Impeller'\nlimits.salt = { hours = 50 }"
    assert one(own, base=base) == (
        f'{FILE}: task "Impeller": name: is written "impeller" in the set beneath. '
        'name = "impeller"'
    )
