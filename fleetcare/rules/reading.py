"""Reading a rule file: TOML to rules, or every fault in it with the mended line."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.names import did_you_mean, nearest, tidy, wrong_with
from fleetcare.fleet.waters import WORDS as WATERS
from fleetcare.rules.rule import Access, Fits, Limit, Limits, Part, Rule, SoonAgain

SET_KEYS = ("name", "title", "extends", "basis")
ACCESS_KEYS = ("minutes", "includes", "consumes", "cautions", "source")
TASK_KEYS = (
    "name", "title", "component", "only", "part", "limits", "first", "mixing", "restarts",
    "leads_to", "chain", "access", "minutes", "who", "parts", "cautions", "source",
    "each_run", "misses", "after", "idle", "season", "soon_again", "unseen",
)  # fmt: skip
LIMIT_KEYS = ("hours", "months", "days")
SOON_AGAIN = '{ days = 60, hours = 10, holds_until = ["water tube"] }'
WHO = ("anyone", "trained", "workshop")
MOST_MONTHS, MOST_DAYS, MOST_HOURS = 600, 20_000, 100_000
MOST_HP, MOST_PRICE, MOST_DOTS = 1000, 1_000_000, 200


class Faults(list[Fault]):
    """The faults of one file, each with its path from the file down to the key."""

    def __init__(self, where: str) -> None:
        super().__init__()
        self.where = where

    def at(self, path: str, what: str, mend: str = "") -> None:
        """Note one fault."""
        self.append(Fault(f"{self.where}: {path}" if path else self.where, what, mend))

    def unknown(self, path: str, row: Mapping[str, Any], known: tuple[str, ...]) -> None:
        """Note every key that is not known, with the nearest one that is."""
        for key in row:
            if key not in known:
                near = did_you_mean(key, known) or f"Keys here: {', '.join(known)}"
                self.at(f"{path}: {key}" if path else key, "is not a key here", near)


def parse(text: str, where: str) -> dict[str, Any] | Faults:
    """The TOML of a text, numbers exact, or the one fault that stops it being read."""
    try:
        if any(piece.count(".") > MOST_DOTS for piece in text.replace("\n", "=").split("=")):
            raise RecursionError  # the library's time for a dotted key goes by its square
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        wrong = f"is not TOML: {error}"
    except RecursionError:
        wrong = "is nested too deep to be read"
    except (ValueError, ArithmeticError):  # int() and Decimal() refuse numbers beyond all use
        wrong = "holds a number too long to be read"
    faults = Faults(where)
    faults.at("", wrong)
    return faults


def check_shape(data: Mapping[str, Any], faults: Faults) -> None:
    """Note what is wrong with a file's top level."""
    faults.unknown("", data, ("set", "access", "task", "kit"))
    head = data.get("set")
    if not isinstance(head, dict) or not isinstance(head.get("name"), str):
        faults.at("[set]", "has no name", 'Write [set] and name = "…", the name engines use.')
    else:
        faults.unknown("[set]", head, SET_KEYS)
        for key in SET_KEYS:
            text(head.get(key, ""), f"[set]: {key}", faults)
    access = data.get("access", {})
    if not isinstance(access, dict) or not all(isinstance(row, dict) for row in access.values()):
        faults.at("access", "takes tables", 'Begin each step with [access."leg off"].')
    tasks = data.get("task", [])
    if not isinstance(tasks, list) or not all(isinstance(task, dict) for task in tasks):
        faults.at("task", "takes tables", "Begin each task with [[task]].")


def read_access(name: str, row: Mapping[str, Any], faults: Faults) -> Access:
    """One access step."""
    path = f'access "{name}"'
    faults.unknown(path, row, ACCESS_KEYS)
    return Access(
        name,
        whole(row.get("minutes", 0), f"{path}: minutes", faults, 10_000) or 0,
        words(row.get("includes", []), f"{path}: includes", faults),
        read_parts(row.get("consumes", []), f"{path}: consumes", faults),
        words(row.get("cautions", []), f"{path}: cautions", faults),
        sourced(row, path, faults),
    )


def read_rule(name: str, row: Mapping[str, Any], faults: Faults) -> Rule:
    """One task, already overlaid; it stands for whatever could be read of a faulty one."""
    path = f'task "{name}"'
    before = len(faults)
    wrong = wrong_with(name)
    if wrong or tidy(name) != name:
        mend = "" if wrong else f'name = "{tidy(name)}"'
        faults.at(f"{path}: name", wrong or "has spaces that do not count", mend)
    faults.unknown(path, row, TASK_KEYS)
    limits, one_for_all = read_limits(row.get("limits"), path, faults)
    rule = Rule(
        name=name,
        title=text(row.get("title", name), f"{path}: title", faults),
        component=choice(row.get("component"), COMPONENTS, f"{path}: component", faults),
        source=sourced(row, path, faults),
        limits=limits,
        first=read_first(row, limits, path, faults),
        one_for_all=one_for_all,
        strictest=choice(
            row.get("mixing", "proportional"),
            ("proportional", "strictest"), f"{path}: mixing", faults,
        ) == "strictest",
        each_run=read_each_run(row.get("each_run"), path, faults),
        misses=whole(row.get("misses", 3), f"{path}: misses", faults, 1000) or 0,
        after=words(row.get("after", []), f"{path}: after", faults),
        idle_months=read_idle(row.get("idle"), path, faults),
        season=choice(row.get("season", ""), ("", "lay-up", "launch"), f"{path}: season", faults),
        fits=read_fits(row.get("only", {}), path, faults),
        part=text(row.get("part", ""), f"{path}: part", faults),
        restarts=words(row.get("restarts", []), f"{path}: restarts", faults),
        leads_to=words(row.get("leads_to", []), f"{path}: leads_to", faults),
        chain=text(row.get("chain", ""), f"{path}: chain", faults),
        access=words(row.get("access", []), f"{path}: access", faults),
        minutes=whole(row.get("minutes", 0), f"{path}: minutes", faults, 10_000) or 0,
        who=choice(row.get("who", "anyone"), WHO, f"{path}: who", faults),
        parts=read_parts(row.get("parts", []), f"{path}: parts", faults),
        cautions=words(row.get("cautions", []), f"{path}: cautions", faults),
        soon_again=read_soon_again(row.get("soon_again"), f"{path}: soon_again", faults),
        unseen=text(row.get("unseen", ""), f"{path}: unseen", faults),
    )  # fmt: skip
    if rule.is_precursor and not rule.chain:
        faults.at(f"{path}: chain", "is missing", "Say in a line what fails and what that does.")
    triggers = rule.has_row or rule.each_run
    if not triggers and len(faults) == before:
        faults.at(path, "has no trigger", "Give it limits, each_run, after, idle or season.")
    return rule


def read_limits(value: Any, path: str, faults: Faults) -> tuple[Limits | None, bool]:
    """Limits by water, and whether one set stands for every water."""
    if value is None:
        return None, False
    if not isinstance(value, dict) or not value:
        faults.at(f"{path}: limits", "takes hours, months or days", "limits = { hours = 100 }")
        return None, False
    if any(key in LIMIT_KEYS for key in value):
        one = read_limit(value, f"{path}: limits", faults)
        return (one, one, one), True
    faults.unknown(f"{path}: limits", value, (*LIMIT_KEYS, *WATERS))
    by_water = {
        water: read_limit(value[water], f"{path}: limits.{water}", faults)
        for water in WATERS
        if water in value
    }
    if by_water and "salt" not in by_water:
        faults.at(
            f"{path}: limits.salt",
            "is missing: salt is never easier on an engine than fresh or brackish",
            f"limits.salt = {_shown(value[min(by_water, key=WATERS.index)])}",
        )
    salt = by_water.get("salt")
    return (by_water.get("fresh"), by_water.get("brackish", salt), salt), False


def _shown(value: Any) -> str:
    if not isinstance(value, dict) or not all(_is_number(item) for item in value.values()):
        return "{ hours = 100, months = 12 }"
    inside = ", ".join(f"{key} = {shown(item)}" for key, item in value.items())
    return f"{{ {inside} }}"


def read_limit(value: Any, path: str, faults: Faults) -> Limit | None:
    """One water's limit."""
    if not isinstance(value, dict) or not value:
        faults.at(path, "takes hours, months or days", line(path, "{ hours = 100, months = 12 }"))
        return None
    faults.unknown(path, value, LIMIT_KEYS)
    if "months" in value and "days" in value:
        faults.at(path, "has months and days", "Keep one of them.")
    hours = value.get("hours")
    limit = Limit(
        None if hours is None else hundredths(hours, f"{path}.hours", faults),
        None if "months" not in value
        else whole(value["months"], f"{path}.months", faults, MOST_MONTHS, least=1),
        None if "days" not in value
        else whole(value["days"], f"{path}.days", faults, MOST_DAYS, least=1),
    )  # fmt: skip
    return limit if limit != Limit() else None


def read_first(
    row: Mapping[str, Any], limits: Limits | None, path: str, faults: Faults
) -> Limits | None:
    """The limits of the first service: laid over the others key by key in every water."""
    if "first" not in row:
        return None
    over = read_limit(row["first"], f"{path}: first", faults)
    if "limits" not in row:
        faults.at(
            f"{path}: first", "needs limits beside it", "limits = { hours = 100, months = 12 }"
        )
    if over is None or limits is None:
        return None

    def laid(base: Limit | None) -> Limit:
        base = base or Limit()
        hours = base.hours if over.hours is None else over.hours
        if over.has_calendar:
            return Limit(hours, over.months, over.days)
        return Limit(hours, base.months, base.days)

    return laid(limits[0]), laid(limits[1]), laid(limits[2])


def read_each_run(value: Any, path: str, faults: Faults) -> frozenset[int] | None:
    """The waters in which a run makes the job due."""
    if value is None:
        return None
    names = words(value, f"{path}: each_run", faults, "salt")
    for name in names:
        if name not in WATERS:
            faults.at(
                f"{path}: each_run",
                f'"{name}" is no water',
                did_you_mean(name, WATERS) or f"One of: {', '.join(WATERS)}",
            )
    if value == []:
        faults.at(f"{path}: each_run", "names no water", 'each_run = ["salt", "brackish"]')
    return frozenset(WATERS.index(name) for name in names if name in WATERS) or None


def read_idle(value: Any, path: str, faults: Faults) -> int | None:
    """Months without a run after which the job is due."""
    if value is None:
        return None
    if not isinstance(value, dict) or set(value) != {"months"}:
        faults.at(f"{path}: idle", "takes months", "idle = { months = 12 }")
        return None
    return whole(value["months"], f"{path}: idle.months", faults, MOST_MONTHS, least=1)


def read_soon_again(value: Any, path: str, faults: Faults) -> SoonAgain | None:
    """Within how many days or hours the same job again holds the engine for other jobs."""
    if value is None:
        return None
    keys = ("days", "hours", "holds_until", "lifts")
    if not isinstance(value, dict) or not {"days", "hours", "holds_until"} <= set(value):
        faults.at(path, "takes days, hours and holds_until", line(path, SOON_AGAIN))
        return None
    faults.unknown(path, value, keys)
    return SoonAgain(
        whole(value["days"], f"{path}.days", faults, MOST_DAYS) or 0,
        hundredths(value["hours"], f"{path}.hours", faults) or 0,
        words(value["holds_until"], f"{path}.holds_until", faults),
        text(value.get("lifts", ""), f"{path}.lifts", faults),
    )


def read_fits(value: Any, path: str, faults: Faults) -> Fits:
    """Which engines the rule fits."""
    if not isinstance(value, dict):
        faults.at(f"{path}: only", "takes hp, stroke or steering", "only = { stroke = 4 }")
        return Fits()
    faults.unknown(f"{path}: only", value, ("hp", "stroke", "steering"))
    hp = value.get("hp")
    pair = None
    if hp is not None:
        least_most = isinstance(hp, list) and len(hp) == 2
        if least_most and all(in_cents(item, MOST_HP) for item in hp) and hp[0] <= hp[1]:
            pair = (Fraction(hp[0]), Fraction(hp[1]))
        else:
            faults.at(f"{path}: only.hp", "takes the least and the most", "only = { hp = [2, 40] }")
    stroke = value.get("stroke")
    if stroke is not None and not (isinstance(stroke, int) and stroke in (2, 4)):
        faults.at(f"{path}: only.stroke", "is 2 or 4", "only = { stroke = 4 }")
        stroke = None
    steering = value.get("steering")
    if steering is not None:
        steering = choice(steering, ("tiller", "remote"), f"{path}: only.steering", faults)
    return Fits(pair, stroke, steering)


def read_parts(value: Any, path: str, faults: Faults) -> tuple[Part, ...]:
    """Parts with their counts."""
    shape = '[{ item = "impeller kit", count = 1, price = 35 }]'
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        faults.at(path, "takes a list of parts", shape)
        return ()
    parts = []
    for row in value:
        faults.unknown(path, row, ("item", "count", "price"))
        if not isinstance(row.get("item"), str) or not row["item"]:
            faults.at(path, "a part has no item", shape)
            continue
        price = row.get("price")
        if price is not None and not in_cents(price, MOST_PRICE):
            faults.at(f"{path}: price", "takes a sum of at most two decimals", shape)
            price = None
        count = whole(row.get("count", 1), f"{path}: count", faults, 10_000, least=1) or 1
        parts.append(Part(row["item"], count, None if price is None else Fraction(price)))
    return tuple(parts)


def _is_number(value: Any) -> bool:
    if isinstance(value, Decimal):
        return value.is_finite()
    return isinstance(value, int) and not isinstance(value, bool)


def in_cents(value: Any, most: int) -> bool:
    """Whether it is a number from 0 to `most` with at most two decimals."""
    if not _is_number(value) or not 0 <= value <= most:
        return False
    return bool(Decimal(value).quantize(Decimal("0.01")) == value)


def shown(value: Any) -> str:
    """A value as the file writes it, short; tables and lists only by their kind."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, str):
        return f'"{value[:37]}…"' if len(value) > 40 else f'"{value}"'
    if isinstance(value, int) and abs(value) > 10**20:
        return "a number beyond all use"
    return f"{value!s:.40}"


def line(path: str, example: str) -> str:
    """The mended line: the key at the end of the path with a value it could have."""
    return f"{path.rsplit(': ', 1)[-1]} = {example}"


def hundredths(value: Any, path: str, faults: Faults) -> int | None:
    """Hours as whole hundredths."""
    if not in_cents(value, MOST_HOURS) or not value:
        faults.at(
            path,
            f"takes hours above 0, to {MOST_HOURS}, with at most two decimals, not {shown(value)}",
            line(path, "100"),
        )
        return None
    return int(Decimal(value) * 100)


def whole(value: Any, path: str, faults: Faults, most: int, least: int = 0) -> int | None:
    """A whole number within bounds."""
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        wrong = f"takes a whole number from {least} to {most}, not {shown(value)}"
        faults.at(path, wrong, line(path, "12"))
        return None
    return value


def text(value: Any, path: str, faults: Faults) -> str:
    """A text."""
    if not isinstance(value, str):
        faults.at(path, f"takes a text in quotes, not {shown(value)}", line(path, '"…"'))
        return ""
    return value


def words(value: Any, path: str, faults: Faults, example: str = "…") -> tuple[str, ...]:
    """A list of texts."""
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        mend = value if isinstance(value, str) else example
        faults.at(path, "takes a list of texts in quotes", line(path, f'["{mend}"]'))
        return ()
    return tuple(value)


def choice(value: Any, known: tuple[str, ...], path: str, faults: Faults) -> str:
    """One of the known words."""
    if isinstance(value, str) and value in known:
        return value
    listed = [word for word in known if word]
    near = nearest(value, listed, 1) if isinstance(value, str) else []
    wrong = "is missing" if value is None else f"cannot be {shown(value)}"
    faults.at(path, f"{wrong}: one of {', '.join(listed)}", line(path, f'"{(near or listed)[0]}"'))
    return known[0]


def sourced(row: Mapping[str, Any], path: str, faults: Faults) -> str:
    """The source every figure must have."""
    source = row.get("source")
    if not isinstance(source, str) or not source.strip():
        faults.at(f"{path}: source", "is missing", 'source = "common practice, no source"')
        return ""
    return source
