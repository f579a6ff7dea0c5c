"""Options that several commands share, and how their texts become values."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

from fleetcare.cli.context import Desk

LAST_YEAR = 2200
F = TypeVar("F", bound=Callable[..., Any])


def refuse(fault: object) -> Any:
    """Raise a fault as a refusal."""
    from fleetcare.errors import RefusedError

    raise RefusedError(str(fault))


class DayType(click.ParamType[date]):
    """A day: ISO, or today, yesterday, N days ago; future ones only where they make sense."""

    name = "DATE"

    def __init__(self, future: bool = False) -> None:
        self.future = future

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day, or a refusal in words."""
        from fleetcare.errors import Fault
        from fleetcare.fleet.days import day

        if isinstance(value, date):
            return value
        today = Desk().today()
        what = f"--{param.name.replace('_', '-')}" if param and param.name else "date"
        found = day(value, what, today)
        if isinstance(found, Fault):
            refuse(found)
        assert isinstance(found, date)
        if found > today and not self.future:
            refuse(f"{what}: {found} lies in the future (today is {today}); is the clock right?")
        if found.year > LAST_YEAR:
            refuse(f"{what}: {found} is too far ahead")
        return found


class HoursType(click.ParamType[int]):
    """Hours or a meter's figure, as hundredths."""

    name = "HOURS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The hundredths, or a refusal in words."""
        from fleetcare.errors import Fault
        from fleetcare.fleet.figures import hours

        if isinstance(value, int):
            return value
        found = hours(value, (param.name or "hours").replace("_", "-") if param else "hours")
        if isinstance(found, Fault):
            refuse(found)
        assert isinstance(found, int)
        return found


DAY, ANY_DAY, HOURS = DayType(), DayType(future=True), HoursType()


def _keep(ctx: click.Context, param: click.Parameter, value: Any) -> Any:
    """Put a shared option's value on the desk, wherever on the line it was given."""
    if value is not None and value is not False:
        setattr(ctx.ensure_object(Desk), str(param.name), value)
    return value


def _shared(*names: str, **more: Any) -> Callable[[F], F]:
    return click.option(*names, expose_value=False, callback=_keep, **more)


def fleet_options(command: F) -> F:
    """--fleet, --quiet, --debug: where the fleet is and how much is said."""
    command = _shared("--debug", is_flag=True, hidden=True, help="Show tracebacks.")(command)
    command = _shared("--quiet", "-q", is_flag=True, help="Leave out the notes on stderr.")(command)
    return _shared("--fleet", metavar="FILE", help="The fleet file.")(command)


def dry_run(command: F) -> F:
    """--dry-run: try it, say what would be stored, keep nothing."""
    return _shared("--dry-run", "-n", is_flag=True, help="Say what would be stored; keep nothing.")(
        command
    )


def as_of(command: F) -> F:
    """--as-of: the day to look at."""
    return click.option(
        "--as-of", type=ANY_DAY, default="today", show_default=True, metavar="DATE",
        help="The day to look at.",
    )(command)  # fmt: skip


def written_on(command: F) -> F:
    """--on, --by, --note: when it happened, who writes it down, what else to say."""
    command = click.option("--note", default="", help="Anything else worth keeping.")(command)
    command = click.option("--by", metavar="ROLE", help="Who: a role, such as jetty.")(command)
    return click.option(
        "--on", type=DAY, default="today", show_default=True, metavar="DATE",
        help="The day it happened.",
    )(command)  # fmt: skip


def format_option(command: F) -> F:
    """--format: table, JSON, CSV or one JSON object a line."""
    return click.option(
        "--format", "form", type=click.Choice(["table", "json", "csv", "ndjson"]),
        default="table", show_default=True, help="How to print the list.",
    )(command)  # fmt: skip


def language_option(command: F) -> F:
    """--language: what a page is written in; the fleet's setting without it."""
    return click.option(
        "--language", type=click.Choice(["en", "de"]),
        help="What it is written in (default: the fleet's setting).",
    )(command)  # fmt: skip
