"""What a person says of a sheet: the options of import, and the questions on a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.options import F

if TYPE_CHECKING:
    from datetime import date

    from fleetcare.exchange.asked import Asked, UndecidedError

# What a profile remembers beside the headings, under names that no heading has.
REMEMBERED = ("dates", "decimal", "hours", "serials", "encoding", "delimiter", "fill_down")
OPTION = "--"


def reading_options(command: F) -> F:
    """The options that say how sheets are to be read."""
    for names, more in reversed(_OPTIONS):
        command = click.option(*names, **more)(command)
    return command


_OPTIONS: tuple[tuple[tuple[str, ...], dict[str, Any]], ...] = (
    (("--map", "maps"), {
        "multiple": True, "metavar": "MEANING=HEADING",
        "help": 'What a heading means: --map reading="hrs run". Meanings: on, engine, boat, '
        "reading, hours, minutes, fuel, out, in, task, part, condition, count, water, by, note, "
        "ignore.",
    }),
    (("--profile",), {
        "metavar": "NAME",
        "help": "Remember what the headings mean, and use what was remembered.",
    }),
    (("--as", "names"), {
        "multiple": True, "metavar": "THEIRS=OURS",
        "help": 'Another name for an engine, boat or job: --as "Ottre=Otter".',
    }),
    (("--keep-names",), {
        "is_flag": True, "help": "Let engines be found by the names of --as from now on.",
    }),
    (("--engine",), {"default": "", "metavar": "NAME", "help": "The one engine of all rows."}),
    (("--sheet", "sheets"), {
        "multiple": True, "metavar": "NAME", "help": "The sheet of a workbook, or all.",
    }),
    (("--dates",), {
        "type": click.Choice(["dmy", "mdy", "ymd"]),
        "help": "Day, month or year first, where slashes part it.",
    }),
    (("--year",), {
        "type": click.IntRange(1950, 2200), "help": "The year of days that are written without.",
    }),
    (("--serial-dates", "serials"), {
        "type": click.Choice(["1900", "1904"]),
        "help": "Numbers in texts are a sheet's day numbers.",
    }),
    (("--hours",), {
        "type": click.Choice(["total", "daily"]),
        "help": "A column of hours is the meter's, or a day's.",
    }),
    (("--decimal",), {
        "type": click.Choice([".", ","]), "help": "What stands before the decimals.",
    }),
    (("--fill-down", "fill_down"), {
        "multiple": True, "type": click.Choice(["on", "engine", "boat", "water", "by"]),
        "help": "Blanks repeat the cell above.",
    }),
    (("--encoding",), {
        "default": "", "metavar": "NAME", "help": "Of a text that is not UTF-8: cp1252.",
    }),
    (("--delimiter",), {
        "default": "", "metavar": "CHAR", "help": "What parts the cells: ; , | or tab.",
    }),
    (("--once",), {"is_flag": True, "help": "Take runs that say just the same only once."}),
    (("--again",), {
        "is_flag": True, "help": "Take a job that is logged within a day already as another.",
    }),
    (("--by",), {"default": "", "metavar": "ROLE", "help": "Who wrote the rows that do not say."}),
)  # fmt: skip


def asked_of(said: Mapping[str, Any], kept: Mapping[str, str], today: date) -> Asked:
    """The options as what was asked; what a profile remembers stands in for those not given."""
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.asked import Asked
    from fleetcare.exchange.parting import CANDIDATES, NAMES
    from fleetcare.exchange.text_file import ENCODINGS

    values: dict[str, Any] = {
        name: said[name] or kept.get(OPTION + name, "") for name in REMEMBERED
    }
    if isinstance(values["fill_down"], str):
        values["fill_down"] = tuple(filter(None, values["fill_down"].split(",")))
    delimiter = NAMES.get(values["delimiter"], values["delimiter"])
    if delimiter and delimiter not in CANDIDATES:
        raise RefusedError(f'--delimiter: "{delimiter}" is none of ; , | tab')
    encoding = str(values["encoding"]).lower().replace("_", "-").replace("windows-", "cp")
    if encoding and encoding not in ENCODINGS:
        raise RefusedError(f'--encoding: "{encoding}" is none of {", ".join(ENCODINGS)}')
    values |= {"delimiter": delimiter, "encoding": encoding}
    return Asked(
        maps=_pairs(said["maps"], "--map", "MEANING=HEADING"),
        names=_pairs(said["names"], "--as", "THEIRS=OURS"),
        sheets=said["sheets"], year=said["year"], engine=said["engine"], once=said["once"],
        again=said["again"], by=said["by"], today=today, **values,
    )  # fmt: skip


def _pairs(given: tuple[str, ...], option: str, form: str) -> tuple[tuple[str, str], ...]:
    from fleetcare.errors import RefusedError

    pairs = []
    for text in given:
        # a meaning holds no =, and neither do our names as a rule: theirs may
        left, mark, right = text.partition("=") if option == "--map" else text.rpartition("=")
        if not mark or not left.strip() or not right.strip():
            raise RefusedError(f'{option}: "{text}" is not {form}')
        pairs.append((left.strip(), right.strip()))
    return tuple(pairs)


def remembered(asked: Asked) -> dict[str, str]:
    """What a profile keeps of the options."""
    kept: dict[str, str] = {}
    for name in REMEMBERED:
        value = getattr(asked, name)
        text = ",".join(value) if isinstance(value, tuple) else value
        if text:
            kept[OPTION + name] = text
    return kept


def decided(asked: Asked, question: UndecidedError) -> Asked:
    """What was asked, with the answer to a question that a sheet leaves open."""
    from dataclasses import replace

    from fleetcare.exchange.text_file import ENCODINGS

    click.echo(f"{question.where}: {question.what}")
    for value, meaning in question.choices:
        click.echo(f"  {'tab' if value == chr(9) else value}: {meaning}")
    values = [value for value, _ in question.choices]
    if question.option == "encoding":
        values = [*ENCODINGS]
    shown = ["tab" if value == "\t" else value for value in values]
    answer = click.prompt(
        "Which", type=click.Choice(shown, case_sensitive=False), show_choices=False
    )
    answer = values[shown.index(answer)]
    if question.option == "sheet":
        return replace(asked, sheets=(answer,))
    field = {"serial-dates": "serials"}.get(question.option, question.option)
    changed: Any = {field: answer}
    return replace(asked, **changed)
