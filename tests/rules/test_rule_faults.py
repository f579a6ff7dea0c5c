"""Whatever is wrong in a rule file is told with its file, task, key and a mended line."""

from __future__ import annotations

import tomllib

import pytest

from fleetcare.errors import FaultsError
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


# What stands in the task, the key it is told of, what is wrong, the mended line.
IN_A_TASK = [
    ("limit = { hours = 100 }", "limit", "is not a key here", 'Did you mean "limits"?'),
    ("season = 'launch'\nrestart = []", "restart", "is not a key", 'Did you mean "restarts"?'),
    ("season = 'launch'\ncolour = 1", "colour", "is not a key here", "Keys here: name, title, "),
    ("limits = { month = 12 }", "limits: month", "is not a key here", 'Did you mean "months"?'),
    ("limits = { years = 1 }", "limits: years", "is not a key here", "Keys here: hours, months"),
    ("limits = { hours = 100, salt = { hours = 50 } }", "limits: salt", "is not a key here", ""),
    ("limits.salty = { hours = 9 }", "limits: salty", "is not a key here", 'mean "salt"?'),
    (
        "limits.salt = { hours = 9, month = 1 }",
        "limits.salt: month",
        "is not a key",
        'Did you mean "months"?',
    ),
    ("limits = {}", "limits", "takes hours, months or days", "limits = { hours = 100 }"),
    ("limits = 100", "limits", "takes hours, months or days", "limits = { hours = 100 }"),
    (
        "limits.salt = 100",
        "limits.salt",
        "takes hours, months or days",
        "limits.salt = { hours = 100, months = 12 }",
    ),
    (
        "limits.fresh = { hours = 9 }\nlimits.salt = {}",
        "limits.salt",
        "takes hours, months or days",
        "limits.salt = { hours = 100, months = 12 }",
    ),
    (
        "limits.fresh = { hours = 300, months = 36 }",
        "limits.salt",
        "is missing: salt is never easier on an engine than fresh or brackish",
        "limits.salt = { hours = 300, months = 36 }",
    ),
    (
        "limits.brackish = { days = 30 }",
        "limits.salt",
        "is missing",
        "limits.salt = { days = 30 }",
    ),
    ("limits = { months = 12, days = 30 }", "limits", "has months and days", "Keep one of them."),
    (
        "limits.salt = { months = 12, days = 30 }",
        "limits.salt",
        "has months and days",
        "Keep one of them.",
    ),
    (
        "limits = { hours = 9 }\nfirst = { months = 1, days = 9 }",
        "first",
        "has months and days",
        "",
    ),
    ("limits = { hours = 0 }", "limits.hours", "takes hours above 0", "limits.hours = 100"),
    ("limits = { hours = -5 }", "limits.hours", "two decimals, not -5", "limits.hours = 100"),
    ("limits = { hours = 0.001 }", "limits.hours", "at most two decimals, not 0.001", "= 100"),
    (f"limits = {{ hours = 10.{'0' * 40}1 }}", "limits.hours", "at most two decimals", "= 100"),
    ("limits = { hours = 100001 }", "limits.hours", "to 100000", "limits.hours = 100"),
    ("limits = { hours = 1e999 }", "limits.hours", "not 1E+999", "limits.hours = 100"),
    ("limits = { hours = 1e-999999 }", "limits.hours", "not 1E-999999", "limits.hours = 100"),
    ("limits = { hours = nan }", "limits.hours", "not NaN", "limits.hours = 100"),
    ("limits = { hours = inf }", "limits.hours", "not Infinity", "limits.hours = 100"),
    ("limits = { hours = -inf }", "limits.hours", "not -Infinity", "limits.hours = 100"),
    ("limits = { hours = true }", "limits.hours", "not true", "limits.hours = 100"),
    ("limits = { hours = '100' }", "limits.hours", 'not "100"', "limits.hours = 100"),
    (
        f"limits = {{ hours = 0x{'f' * 5000} }}",
        "limits.hours",
        "not a number beyond all use",
        "limits.hours = 100",
    ),
    ("limits = { months = 0 }", "limits.months", "a whole number from 1 to 600, not 0", "= 12"),
    ("limits = { months = 1.5 }", "limits.months", "not 1.5", "limits.months = 12"),
    ("limits = { months = true }", "limits.months", "not true", "limits.months = 12"),
    ("limits = { months = 601 }", "limits.months", "not 601", "limits.months = 12"),
    ("limits.salt = { days = -1 }", "limits.salt.days", "not -1", "limits.salt.days = 12"),
    ("limits = { days = 20001 }", "limits.days", "from 1 to 20000, not 20001", "limits.days ="),
    (
        "season = 'launch'\nfirst = { hours = 20 }",
        "first",
        "needs limits beside it",
        "limits = { hours = 100, months = 12 }",
    ),
    (
        "limits = { hours = 9 }\nfirst = {}",
        "first",
        "takes hours, months or days",
        "first = { hours = 100, months = 12 }",
    ),
    ("limits = { hours = 9 }\nfirst = 20", "first", "takes hours, months or days", "first = {"),
    (
        "limits = { hours = 9 }\nfirst = { fresh = 1 }",
        "first: fresh",
        "is not a key here",
        "Keys here: hours, months, days",
    ),
    ("each_run = 'salt'", "each_run", "takes a list of texts", 'each_run = ["salt"]'),
    ("each_run = [1]", "each_run", "takes a list of texts", 'each_run = ["salt"]'),
    ("each_run = []", "each_run", "names no water", 'each_run = ["salt", "brackish"]'),
    ("each_run = ['salty']", "each_run", '"salty" is no water', 'Did you mean "salt"?'),
    ("each_run = ['mud']", "each_run", '"mud" is no water', "One of: fresh, brackish, salt"),
    ("each_run = ['salt']\nmisses = -1", "misses", "from 0 to 1000, not -1", "misses = "),
    ("each_run = ['salt']\nmisses = 2.5", "misses", "not 2.5", "misses = "),
    ("after = 'overheated'", "after", "takes a list of texts", 'after = ["overheated"]'),
    ("after = [1, 2]", "after", "takes a list of texts", "after = ["),
    ("idle = 12", "idle", "takes months", "idle = { months = 12 }"),
    ("idle = {}", "idle", "takes months", "idle = { months = 12 }"),
    ("idle = { days = 90 }", "idle", "takes months", "idle = { months = 12 }"),
    ("idle = { months = 6, days = 9 }", "idle", "takes months", "idle = { months = 12 }"),
    ("idle = { months = 0 }", "idle.months", "from 1 to 600, not 0", "idle.months = 12"),
    ("season = 'winter'", "season", 'cannot be "winter": one of lay-up, launch', 'season = "'),
    ("season = 'layup'", "season", "one of lay-up, launch", 'season = "lay-up"'),
    ("season = ['launch']", "season", "one of lay-up, launch", 'season = "'),
    ("limits = { hours = 9 }\nmixing = 'strict'", "mixing", "one of", 'mixing = "strictest"'),
    ("season = 'launch'\nwho = 'skilled'", "who", "one of anyone, trained, workshop", 'who = "'),
    ("season = 'launch'\nonly = 4", "only", "takes hp, stroke or steering", "only = { stroke = 4"),
    ("season = 'launch'\nonly.strokes = 4", "only: strokes", "is not a key", 'mean "stroke"?'),
    ("season = 'launch'\nonly.stroke = 3", "only.stroke", "is 2 or 4", "only = { stroke = 4 }"),
    ("season = 'launch'\nonly.stroke = 4.0", "only.stroke", "is 2 or 4", "only = {"),
    ("season = 'launch'\nonly.stroke = true", "only.stroke", "is 2 or 4", "only = {"),
    (
        "season = 'launch'\nonly.steering = 'wheel'",
        "only.steering",
        "one of tiller, remote",
        'only.steering = "',
    ),
    ("season = 'launch'\nonly.hp = 6", "only.hp", "takes the least and the most", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [6]", "only.hp", "the least and the most", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [40, 2]", "only.hp", "the least and", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [true, 9]", "only.hp", "the least and", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [nan, inf]", "only.hp", "the least and", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [-2, 6]", "only.hp", "the least and", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [1e-9999999, 6]", "only.hp", "the least", "hp = [2, 40]"),
    ("season = 'launch'\nonly.hp = [2, 1e999999999]", "only.hp", "the least", "hp = [2, 40]"),
    ("season = 'launch'\nrestarts = ['plugs']", "restarts", '"plugs" is not in the set', ""),
    (
        "season = 'launch'\nrestarts = ['impellr']",
        "restarts",
        '"impellr" is not in the set',
        'Did you mean "impeller"?',
    ),
    (
        "season = 'launch'\naccess = ['leg of']\n[access.'leg off']\nsource = 'none'",
        "access",
        '"leg of" is not in the set',
        'Did you mean "leg off"?',
    ),
    ("season = 'launch'\nminutes = 1.5", "minutes", "a whole number from 0", "minutes = 12"),
    ("season = 'launch'\nminutes = 99999", "minutes", "from 0 to 10000", "minutes = 12"),
    ("season = 'launch'\nparts = 'kit'", "parts", "takes a list of parts", "[{ item = "),
    ("season = 'launch'\nparts = ['kit']", "parts", "takes a list of parts", "[{ item = "),
    ("season = 'launch'\nparts = [{ count = 1 }]", "parts", "a part has no item", "[{ item ="),
    ("season = 'launch'\nparts = [{ item = '' }]", "parts", "a part has no item", "[{ item ="),
    (
        "season = 'launch'\nparts = [{ item = 'kit', colour = 3 }]",
        "parts: colour",
        "is not a key here",
        "Keys here: item, count, price",
    ),
    (
        "season = 'launch'\nparts = [{ item = 'kit', count = 0 }]",
        "parts: count",
        "from 1 to 10000, not 0",
        "count = 12",
    ),
    (
        "season = 'launch'\nparts = [{ item = 'kit', price = -1 }]",
        "parts: price",
        "takes a sum",
        "[{ item = ",
    ),
    (
        "season = 'launch'\nparts = [{ item = 'kit', price = 1e999999999 }]",
        "parts: price",
        "takes a sum",
        "[{ item = ",
    ),
    (
        "season = 'launch'\nleads_to = ['overheating']",
        "chain",
        "is missing",
        "Say in a line what fails and what that does.",
    ),
    (
        "season = 'launch'\nleads_to = ['seized swivel']\nchain = ''",
        "chain",
        "is missing",
        "Say in a line what fails",
    ),
]


@pytest.mark.parametrize(("inside", "key", "wrong", "mend"), IN_A_TASK)
def test_a_fault_in_a_task_names_file_task_key_and_a_mended_line(
    inside: str, key: str, wrong: str, mend: str
) -> None:
    told = one(SET + TASK + inside)
    start = f'{FILE}: task "impeller": {key}: '
    assert told.startswith(start)
    assert wrong in told.removeprefix(start)
    assert mend in told


@pytest.mark.parametrize("inside", [row[0] for row in IN_A_TASK])
def test_a_mended_line_is_a_line_that_can_be_written(inside: str) -> None:
    # TOML 1.0, https://toml.io/en/v1.0.0, as the standard library reads it.
    with pytest.raises(FaultsError) as refused:
        read(SET + TASK + inside)
    for fault in refused.value.faults:
        if " = " in fault.mend and not fault.mend.startswith("Write"):
            line = fault.mend if not fault.mend.startswith("[") else f"parts = {fault.mend}"
            assert tomllib.loads(line)


@pytest.mark.parametrize(
    "inside",
    ["", "minutes = 10", "part = 'impeller vanes'", "misses = 2", "mixing = 'strictest'"],
)
def test_a_task_needs_something_that_makes_it_due(inside: str) -> None:
    assert one(SET + TASK + inside) == (
        f'{FILE}: task "impeller": has no trigger. Give it limits, each_run, after, idle or season.'
    )


@pytest.mark.parametrize("source", ["", "source = ''", "source = '  '", "source = 5"])
def test_a_figure_without_a_source_is_refused(source: str) -> None:
    text = TASK.splitlines(keepends=True)[:3]
    told = one(SET + "".join(text) + f"season = 'launch'\n{source}")
    assert told == (
        f'{FILE}: task "impeller": source: is missing. source = "common practice, no source"'
    )


def test_a_task_needs_a_component() -> None:
    told = one(SET + '[[task]]\nname = "impeller"\nsource = "x"\nseason = "launch"')
    assert told.startswith(f'{FILE}: task "impeller": component: is missing: one of powerhead, ')
    near = one(SET + TASK.replace("gearcase", "gear case") + 'season = "launch"')
    assert near.endswith('component = "gearcase"')


def test_every_fault_of_a_file_is_told_at_once() -> None:
    found = faults(
        SET + TASK + "limits = { hours = 0, months = 0 }\nseason = 'winter'\ncolour = 1\n"
        "[[task]]\nname = 'plugs'\ncomponent = 'powerhead'\n"
    )
    assert len(found) == 5
    assert [FILE in told for told in found] == [True] * 5


def test_more_than_twenty_faults_are_counted() -> None:
    tasks = "".join(f"[[task]]\nname = 'task {at}'\nsource = 'x'\n" for at in range(30))
    with pytest.raises(FaultsError) as refused:
        read(SET + tasks)
    lines = str(refused.value).splitlines()
    assert len(lines) == 21
    assert lines[-1] == f"and {len(refused.value.faults) - 20} more"
