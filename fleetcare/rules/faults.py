"""Reading faults.toml: what a symptom may come from, or every fault of the file with its path."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.names import did_you_mean
from fleetcare.fleet.waters import WORDS as WATERS
from fleetcare.rules.reading import WHO, Faults, choice, line, shown, sourced, text, whole, words
from fleetcare.rules.symptoms import OTHER, Cause, Look, Outcome, Raise, Symptom, Tracing
from fleetcare.rules.words import Condition, IncidentKind

HUNDRED = 100
KINDS = ("ask", "hands", "run")
MOST_FACTOR = 20
MOST_PROVING = 12

TOP_KEYS = ("cautions", "record", "symptom")
CAUTION_KEYS = ("hands", "run", "source")
RECORD_KEYS = ("life", "no_record", "overdue", "days", "source")
SYMPTOM_KEYS = ("title", "other", "first", "cautions", "source", "cause", "look")
CAUSE_KEYS = ("name", "title", "share", "jobs", "remedy", "needs", "raised", "source")
RAISED_BY = ("finding", "incident", "job", "water", "years", "idle_months")
RAISED_KEYS = (*RAISED_BY, "conditions", "times", "days", "until", "factor")
LOOK_KEYS = (
    "name", "kind", "first", "offered", "asks", "minutes", "wait_hours", "access", "after",
    "instead_of", "from_record", "needs", "who", "cautions", "outcomes", "usual", "given", "source",
)  # fmt: skip
OUTCOME_KEYS = ("word", "means", "found", "incident", "proves", "stop", "lifts")


@dataclass(frozen=True, slots=True)
class _Words:
    """What the names in the file may point at."""

    conditions: Mapping[str, Mapping[str, Condition]]
    incidents: Collection[str]


def read_tracing(
    data: Mapping[str, Any],
    where: str,
    conditions: Mapping[str, Mapping[str, Condition]],
    incidents: Mapping[str, IncidentKind],
) -> Tracing | list[Fault]:
    """The file, or every fault in it."""
    faults = Faults(where)
    faults.unknown("", data, TOP_KEYS)
    known = _Words(conditions, incidents)
    cautions = table(data.get("cautions"), "[cautions]", CAUTION_KEYS, faults)
    sourced(cautions, "[cautions]", faults)
    record = table(data.get("record"), "[record]", RECORD_KEYS, faults)
    sourced(record, "[record]", faults)
    rows = data.get("symptom")
    if not isinstance(rows, dict) or not rows:
        faults.at("symptom", "has no tables", "Begin each with [symptom.overheating].")
        rows = {}
    tracing = Tracing(
        {name: _symptom(name, row, known, faults) for name, row in rows.items()},
        {
            "hands": _lines(cautions, "hands", "[cautions]", faults),
            "run": _lines(cautions, "run", "[cautions]", faults),
        },
        _life(record.get("life"), faults),
        _factor(record.get("no_record"), "[record]: no_record", faults),
        _factor(record.get("overdue"), "[record]: overdue", faults),
        whole(record.get("days"), "[record]: days", faults, 3650, least=1) or 1,
    )
    return list(faults) or tracing


def table(value: Any, path: str, keys: tuple[str, ...], faults: Faults) -> Mapping[str, Any]:
    """A table with none but these keys; an empty one, and a fault, for anything else."""
    if not isinstance(value, dict):
        faults.at(path, "is missing" if value is None else f"takes a table, not {shown(value)}")
        return {}
    faults.unknown(path, value, keys)
    return value


def _lines(row: Mapping[str, Any], key: str, path: str, faults: Faults) -> tuple[str, ...]:
    found = words(row.get(key, []), f"{path}: {key}", faults)
    if not found:
        faults.at(f"{path}: {key}", "says nothing", f'{key} = ["…"]')
    return found


def _life(value: Any, faults: Faults) -> tuple[tuple[Fraction, Fraction], ...]:
    path = "[record]: life"
    steps = []
    for pair in value if isinstance(value, list) else []:
        if not isinstance(pair, list) or len(pair) != 2 or not all(map(_is_number, pair)):
            faults.at(path, "takes pairs of life and factor", "life = [[0, 0.5], [1, 1.5]]")
            return ()
        _factor(pair[1], path, faults)
        steps.append((Fraction(pair[0]), Fraction(pair[1])))
    lives = [life for life, _ in steps]
    if not lives or lives[0] != 0 or lives != sorted(set(lives)):
        faults.at(path, "begins at life 0 and rises", "life = [[0, 0.5], [1, 1.5]]")
    return tuple(steps)


def _is_number(value: Any) -> bool:
    whole_or_exact = isinstance(value, int | Decimal) and not isinstance(value, bool)
    return whole_or_exact and Decimal(value).is_finite()


def _factor(value: Any, path: str, faults: Faults) -> Fraction:
    if not _is_number(value) or not 0 < value <= MOST_FACTOR:
        faults.at(
            path, f"takes a factor above 0, to {MOST_FACTOR}, not {shown(value)}", line(path, "1.5")
        )
        return Fraction(1)
    return Fraction(value)


def _symptom(name: str, row: Any, known: _Words, faults: Faults) -> Symptom:
    path = f"symptom.{name}"
    row = table(row, path, SYMPTOM_KEYS, faults)
    sourced(row, path, faults)
    causes = [
        _cause(item, at, path, known, faults)
        for at, item in enumerate(_rows(row.get("cause"), f"{path}: cause", faults), start=1)
    ]
    names = _unlike([cause.name for cause in causes], f"{path}: cause", faults)
    total = sum((cause.share for cause in causes), Fraction(0))
    if causes and total != HUNDRED:
        faults.at(f"{path}: share", f"the shares of the causes add up to {float(total):g}, not 100")
    share = _share(row.get("other"), f"{path}: other", faults)
    other = Cause(OTHER, "Something else: a workshop's job", share, source="our judgement")
    looks = [
        _look(item, at, path, names, known, faults)
        for at, item in enumerate(_rows(row.get("look"), f"{path}: look", faults), start=1)
    ]
    _check_looks(looks, causes, path, faults)
    return Symptom(
        name,
        text(row.get("title", name), f"{path}: title", faults),
        _lines(row, "first", path, faults),
        (*causes, other),
        tuple(looks),
        words(row.get("cautions", []), f"{path}: cautions", faults),
        str(row.get("source", "")),
    )


def _rows(value: Any, path: str, faults: Faults) -> list[Any]:
    if not isinstance(value, list) or not value:
        faults.at(
            path, "takes tables, one at least", f"Begin each with [[{path}]].".replace(": ", ".")
        )
        return []
    return value


def _unlike(names: list[str], path: str, faults: Faults) -> list[str]:
    for name in sorted({name for name in names if name and names.count(name) > 1}):
        faults.at(f'{path} "{name}"', "stands twice", "Keep one of them.")
    return names


def _share(value: Any, path: str, faults: Faults) -> Fraction:
    if not _is_number(value) or not 0 < value <= HUNDRED:
        faults.at(path, f"takes a share above 0, to 100, not {shown(value)}", line(path, "10"))
        return Fraction(1)
    return Fraction(value)


def _cause(row: Any, at: int, above: str, known: _Words, faults: Faults) -> Cause:
    name = _name(row, f"{above}: cause", at, faults)
    path = f'{above}: cause "{name}"'
    row = table(row, path, CAUSE_KEYS, faults)
    if name == OTHER:
        faults.at(path, "is always there and needs no table", "Give its share by other = 2.")
    raised = row.get("raised", [])
    if not isinstance(raised, list):
        faults.at(f"{path}: raised", "takes a list of tables")
        raised = []
    return Cause(
        name,
        text(row.get("title", name), f"{path}: title", faults),
        _share(row.get("share"), f"{path}: share", faults),
        words(row.get("jobs", []), f"{path}: jobs", faults),
        words(row.get("remedy", []), f"{path}: remedy", faults),
        words(row.get("needs", []), f"{path}: needs", faults),
        tuple(_raise(item, f"{path}: raised", known, faults) for item in raised),
        sourced(row, path, faults),
    )


def _name(row: Any, path: str, at: int, faults: Faults) -> str:
    name = row.get("name") if isinstance(row, dict) else None
    if not isinstance(name, str) or not name.strip() or "=" in name:
        faults.at(f"{path} number {at}", "has no name, or one with =", 'name = "…"')
        return ""
    return name


def _raise(row: Any, path: str, known: _Words, faults: Faults) -> Raise:
    row = table(row, path, RAISED_KEYS, faults)
    by = [key for key in RAISED_BY if key in row]
    if len(by) != 1:
        faults.at(path, f"takes one of {', '.join(RAISED_BY)}")
        return Raise("", Fraction(1))
    key, value = by[0], row[by[0]]
    name, number = "", 0
    waters: tuple[str, ...] = ()
    if key == "water":
        waters = words(value, f"{path}: water", faults, "salt")
        for water in waters:
            _known(water, WATERS, f"{path}: water", "water", faults)
    elif key in ("years", "idle_months"):
        number = whole(value, f"{path}: {key}", faults, 600, least=1) or 0
    else:
        name = text(value, f"{path}: {key}", faults)
    conditions = words(row.get("conditions", []), f"{path}: conditions", faults)
    if key == "finding":
        _known_conditions(name, conditions, path, known, faults)
    elif key == "incident":
        _known(name, known.incidents, f"{path}: incident", "incident", faults)
    days = row.get("days")
    return Raise(
        key, _factor(row.get("factor"), f"{path}: factor", faults), name, conditions, waters,
        number,
        whole(row.get("times", 1), f"{path}: times", faults, 100, least=1) or 1,
        None if days is None else whole(days, f"{path}: days", faults, 36500, least=1),
        words(row.get("until", []), f"{path}: until", faults),
    )  # fmt: skip


def _known(name: str, names: Collection[str], path: str, what: str, faults: Faults) -> None:
    if name not in names:
        faults.at(path, f'"{name}" is no {what}', did_you_mean(name, names))


def _known_conditions(
    part: str, conditions: tuple[str, ...], path: str, known: _Words, faults: Faults
) -> None:
    _known(part, known.conditions, path, "part", faults)
    if not conditions:
        faults.at(f"{path}: conditions", "is missing", 'conditions = ["…"]')
    for word in conditions:
        if part in known.conditions:
            _known(word, known.conditions[part], path, f'condition of "{part}"', faults)


def _look(
    row: Any, at: int, above: str, causes: list[str], known: _Words, faults: Faults
) -> Look:  # fmt: skip
    name = _name(row, f"{above}: look", at, faults)
    path = f'{above}: look "{name}"'
    row = table(row, path, LOOK_KEYS, faults)
    outcomes = tuple(
        _outcome(item, f"{path}: outcomes", causes, known, faults)
        for item in _rows(row.get("outcomes"), f"{path}: outcomes", faults)
    )
    _unlike([item.word for item in outcomes], f"{path}: outcome", faults)
    if len(outcomes) == 1 or (outcomes and outcomes[0].proves):
        faults.at(
            f"{path}: outcomes", "takes the good outcome first, which proves no cause, then others"
        )
    given = row.get("given", {})
    if not isinstance(given, dict):
        faults.at(f"{path}: given", f"takes a table, not {shown(given)}")
        given = {}
    for cause in given:
        _known(cause, causes, f"{path}: given", "cause here", faults)
    return Look(
        name,
        choice(row.get("kind"), KINDS, f"{path}: kind", faults),
        text(row.get("asks"), f"{path}: asks", faults),
        whole(row.get("minutes"), f"{path}: minutes", faults, 10_000) or 0,
        outcomes,
        _chances(row.get("usual"), len(outcomes), f"{path}: usual", faults),
        {
            str(cause): _chances(value, len(outcomes), f'{path}: given "{cause}"', faults)
            for cause, value in given.items()
        },
        _flag(row.get("first", False), f"{path}: first", faults),
        _flag(row.get("offered", True), f"{path}: offered", faults),
        whole(row.get("wait_hours", 0), f"{path}: wait_hours", faults, 1000) or 0,
        words(row.get("access", []), f"{path}: access", faults),
        words(row.get("after", []), f"{path}: after", faults),
        text(row.get("instead_of", ""), f"{path}: instead_of", faults),
        _flag(row.get("from_record", True), f"{path}: from_record", faults),
        words(row.get("needs", []), f"{path}: needs", faults),
        choice(row.get("who", "anyone"), WHO, f"{path}: who", faults),
        words(row.get("cautions", []), f"{path}: cautions", faults),
        sourced(row, path, faults),
    )


def _flag(value: Any, path: str, faults: Faults) -> bool:
    if not isinstance(value, bool):
        faults.at(path, f"is true or false, not {shown(value)}")
    return bool(value)


def _chances(value: Any, count: int, path: str, faults: Faults) -> tuple[Fraction, ...]:
    """Parts of 100 for each outcome, as shares of 1; none so small that it rules a cause out."""
    even = tuple(Fraction(1, max(count, 1)) for _ in range(count))
    good = isinstance(value, list) and len(value) == count and all(map(_is_number, value))
    if not good or any(item < 1 for item in value) or sum(value) != HUNDRED:
        faults.at(path, f"takes {count} parts of 100, none below 1, that add up to 100")
        return even
    return tuple(Fraction(item) / HUNDRED for item in value)


def _outcome(row: Any, path: str, causes: list[str], known: _Words, faults: Faults) -> Outcome:
    row = table(row, path, OUTCOME_KEYS, faults)
    word = text(row.get("word"), f"{path}: word", faults)
    path = f'{path} "{word}"'
    found = words(row.get("found", []), f"{path}: found", faults)
    if "found" in row and len(found) != 2:
        faults.at(
            f"{path}: found", "takes a part and its condition", 'found = ["intakes", "clear"]'
        )
        found = ()
    counted = False
    if len(found) == 2:
        _known_conditions(found[0], found[1:], f"{path}: found", known, faults)
        condition = known.conditions.get(found[0], {}).get(found[1])
        counted = condition is not None and condition.count
    incident, proves = row.get("incident", ""), row.get("proves", "")
    if incident:
        _known(
            text(incident, path, faults), known.incidents, f"{path}: incident", "incident", faults
        )
    if proves:
        _known(text(proves, path, faults), causes, f"{path}: proves", "cause here", faults)
    return Outcome(
        word, text(row.get("means"), f"{path}: means", faults),
        (found[0], found[1]) if len(found) == 2 else None, counted, str(incident), str(proves),
        text(row.get("stop", ""), f"{path}: stop", faults),
        words(row.get("lifts", []), f"{path}: lifts", faults),
    )  # fmt: skip


def _check_looks(looks: list[Look], causes: list[Cause], path: str, faults: Faults) -> None:
    """Note names of looks that point nowhere, and causes that no look can prove."""
    names = _unlike([look.name for look in looks], f"{path}: look", faults)
    answers = [f"{look.name}={outcome.word}" for look in looks for outcome in look.outcomes]
    proved = {outcome.proves for look in looks for outcome in look.outcomes}
    for at, look in enumerate(looks):
        for key, others in (("after", look.after), ("instead_of", (look.instead_of,))):
            for name in others:
                if name and name not in names[:at]:
                    where = f'{path}: look "{look.name}": {key}'
                    faults.at(where, f'"{name}" is no look above it')
        for outcome in look.outcomes:
            for answer in outcome.lifts:
                _known(answer, answers, f'{path}: look "{look.name}": lifts', "answer", faults)
    proving = [look for look in looks if any(outcome.proves for outcome in look.outcomes)]
    if len(proving) > MOST_PROVING:
        most = (
            f"takes {MOST_PROVING} looks that prove a cause at most: their order is found exactly"
        )
        faults.at(f"{path}: look", most)
    for cause in causes:
        if cause.name and cause.name not in proved:
            faults.at(f'{path}: cause "{cause.name}"', "is proved by no look")
