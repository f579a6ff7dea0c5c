"""The commands by name, each loaded when it is asked for.

The help lists them out of this table, so that it need not load them: their many options cost more
than all the rest of a start. A test holds the summaries to the commands' own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, MutableMapping
from importlib import import_module

import click

# Title, then (name, module.attribute, summary), in the order of a day's work.
GROUPS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Start",
        (
            ("demo", "demo.demo", "Build an invented fleet and walk through it."),
            ("new", "new.new", "Make a new fleet file."),
            ("settings", "settings.settings", "Show the fleet's settings, or set one."),
        ),
    ),
    (
        "Fleet",
        (
            ("boat", "boat.boat", "Boats: add, show, list, move to other water, retire."),
            ("engine", "engine.engine", "Engines: add, show, list, mount, store, retire, rename."),
            ("swap", "swap.swap", "Two engines exchange components, history and all."),
            ("lay-up", "season.lay_up", "Lay engines up for the winter."),
            ("launch", "season.launch", "Launch engines for the season."),
        ),
    ),
    (
        "Daily",
        (
            ("reading", "reading.reading", "Write down what the hour meter shows."),
            ("run", "run.run", "Write down hours run on a day, or the fuel burned."),
            ("done", "done.done", "Write down that jobs were done, and what was found."),
            ("found", "found.found", "Write down the condition of a part as someone saw it."),
            (
                "incident",
                "incident.incident",
                "Write down what happened: overheated, ran dry, swamped.",
            ),
            ("evening", "evening.evening", "The round: every engine's figure in turn."),
            ("put-off", "put_off.put_off", "Put a job off until a day; it comes back by itself."),
        ),
    ),
    (
        "Look",
        (
            (
                "morning",
                "morning.morning",
                "What must not go out today: one line a boat, worst first.",
            ),
            ("due", "due.due", "What is due, worst first."),
            ("why", "why.why", "The working of one job, entry by entry."),
            ("board", "board.board", "One page of the whole fleet, for the wall or a USB stick."),
            ("history", "history.history", "Everything known of one engine."),
            ("year", "year.year", "Hours, jobs, minutes and parts by boat, looking back."),
            ("log", "log.log", "The log, as it was written."),
            ("undo", "undo.undo", "Take entries back; those of the last command without a number."),
        ),
    ),
    (
        "Plan",
        (
            (
                "plan",
                "plan.plan",
                "Service days: which job of which engine on which day, and why.",
            ),
            (
                "parts",
                "parts.parts",
                "What to order, by when; what to have ready; the shelf.",
            ),
        ),
    ),
    (
        "Paper",
        (
            (
                "sheet",
                "sheet.sheet",
                "The work sheet of a service day, of an engine, or of what is due.",
            ),
            ("labels", "labels.labels", "QR labels with the engines' names, on label sheets."),
        ),
    ),
    (
        "Repair",
        (
            (
                "trace",
                "trace.trace",
                "It overheats, its steering is stiff: which cause, which test next.",
            ),
            ("wear", "wear.wear", "What the findings say of how long parts last."),
            (
                "salvage",
                "salvage.salvage",
                "One sound engine, or more, from several of a family.",
            ),
        ),
    ),
    (
        "Calendars",
        (
            ("feed", "feed.feed", "Calendar feeds: the due list where people already look."),
            ("bookings", "bookings.bookings", "What other calendars say of the boats' days."),
        ),
    ),
    (
        "Rules",
        (("rules", "rules.rules", "Rule sets: list, show, test."),),
    ),
    (
        "Data",
        (
            (
                "import",
                "tables.bring_in",
                "Take tables in: other people's sheets, or our own four.",
            ),
            (
                "export",
                "tables.take_out",
                "Write the fleet as four tables that import reads again.",
            ),
            (
                "backup",
                "copies.backup",
                "Write a safe copy of the fleet file, read it back, and say so.",
            ),
            ("restore", "copies.restore", "Put a copy back in the fleet file's place."),
            ("check", "check.check", "Look whether the file is whole and its log plausible."),
            ("forecast", "forecast.forecast", "How well the dates have held on your own log."),
        ),
    ),
)


class Commands(MutableMapping[str, click.Command]):
    """Commands by name; asking for one imports its module."""

    def __init__(self, rows: Iterable[tuple[str, str, str]] | None = None) -> None:
        listed = [row for _, group in GROUPS for row in group] if rows is None else rows
        self._where = {name: where for name, where, _ in listed}
        self._loaded: dict[str, click.Command] = {}

    def __getitem__(self, name: str) -> click.Command:
        if name not in self._loaded:
            module, attribute = self._where[name].split(".")
            loaded = getattr(import_module(f"fleetcare.cli.{module}"), attribute)
            self._loaded[name] = loaded
        return self._loaded[name]

    def __setitem__(self, name: str, command: click.Command) -> None:
        self._where.setdefault(name, "")
        self._loaded[name] = command

    def __delitem__(self, name: str) -> None:
        del self._where[name]
        self._loaded.pop(name, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self._where)

    def __len__(self) -> int:
        return len(self._where)
