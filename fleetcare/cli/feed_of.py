"""What the feed commands share: whose feed it is, and the fleet as feeds see it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.plan.records import Plan
    from fleetcare.share.audiences import Audience
    from fleetcare.share.sight import Sight
    from fleetcare.show.events import Event

F = TypeVar("F", bound=Callable[..., Any])
OF = "--of"
_TAKE_A_NAME = ("boat", "engine", "place", "use", "task")


class WithAudience(click.Command):
    """A command whose --of takes one word, or two: --of fleet, --of boat Lapwing."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Join the two words before anything else reads them."""
        return super().parse_args(ctx, joined(args))


def joined(args: list[str]) -> list[str]:
    """The arguments with the words of --of as one; words in quotes are one already."""
    out: list[str] = []
    rest = list(args)
    while rest:
        word = rest.pop(0)
        out.append(word)
        if word == "--":
            return out + rest
        if word == OF and rest:
            out.append(rest.pop(0))
        elif not word.startswith(f"{OF}="):
            continue
        kind = out[-1].removeprefix(f"{OF}=").casefold()
        if kind in _TAKE_A_NAME and rest and not rest[0].startswith("--"):
            out[-1] = f"{out[-1]} {rest.pop(0)}"
    return out


def of_option(required: bool) -> Callable[[F], F]:
    """--of: whose feed it is."""
    more: dict[str, Any] = {"required": True} if required else {"default": "fleet"}
    return click.option(
        OF, "words", metavar="WORDS", show_default=not required, **more,
        help='fleet, boat NAME, engine NAME, place NAME, use hire, task NAME, service-days, or '
        "hot-or-stiff: what leads to overheating or a seized swivel.",
    )  # fmt: skip


def alarm_option(command: F) -> F:
    """--alarm: ring at nine; without it nothing rings."""
    return click.option(
        "--alarm", is_flag=False, flag_value="day-before",
        type=click.Choice(["day-before", "same-day"]),
        help="Ring at 09:00, the day before or the same day.",
    )(command)  # fmt: skip


def folder_option(command: F) -> F:
    """--publish-to: the folder that a web server hands out."""
    return click.option(
        "--publish-to", "folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False),
        help="The folder a web server hands out (default: the setting publish_folder).",
    )(command)  # fmt: skip


def look_at(desk: Desk, as_of: date) -> Sight:
    """The fleet as feeds see it on a day, the kept plan's days among it."""
    from fleetcare.cli.looking import view
    from fleetcare.cli.planned import kept_plan
    from fleetcare.share.sight import sight

    with desk.open() as file:
        plan = kept_plan(file, as_of)
    seen = view(desk, as_of, words=False)
    days = _service_days(seen, plan, as_of) if plan else ()
    holds = {engine: flag.hold_words for engine, flag in seen.flags.items()}
    return sight(seen.fleet, seen.history, seen.book, seen.rows, as_of, days, holds)


def _service_days(seen: View, plan: Plan, as_of: date) -> tuple[Event, ...]:
    """What of the kept plan still stands, as events."""
    from fleetcare.cli.naming import rules_of
    from fleetcare.plan.current import standing_plan
    from fleetcare.share.sight import use_of
    from fleetcare.show.service_days import service_day_events

    fleet = seen.fleet
    standing = standing_plan(plan, seen.rows, fleet, as_of.toordinal())
    names = {visit.engine for day in standing.days for visit in day.visits}
    rules = {name: rules_of(fleet, seen.book, name) for name in names}
    uses = {name: use_of(fleet, seen.history, fleet.engines[name]) for name in names}
    return service_day_events(standing, fleet, rules, uses, as_of)


def audience_of(desk: Desk, fleet: Fleet, words: str) -> Audience:
    """The audience that was typed; refused with the nearest names when there is none."""
    from fleetcare.share.audiences import read_audience

    sets = desk.book(fleet).sets.values()
    return read_audience(words, fleet, {task for each in sets for task in each.rules})


def folder_of(fleet: Fleet, given: Path | None) -> Path | None:
    """The folder to publish into, whole, so that it is found from anywhere."""
    chosen = given or (
        Path(fleet.settings.publish_folder) if fleet.settings.publish_folder else None
    )
    return None if chosen is None else chosen.expanduser().absolute()


def quoted(name: str) -> str:
    """A name as a shell takes it."""
    import shlex

    return shlex.quote(name)
