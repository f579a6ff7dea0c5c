"""The command line: the group, its commands, and the one place where errors become exit codes."""

from __future__ import annotations

import click

from fleetcare import __version__
from fleetcare.cli.careful import careful, harmless
from fleetcare.cli.commands import GROUPS, Commands
from fleetcare.cli.context import Desk, no_collecting, sentence
from fleetcare.cli.options import fleet_options
from fleetcare.errors import FleetcareError, RefusedError, UnusableFileError

INTERRUPTED = 130
OUR_FAULT = 70
BELOW_ZERO = "a figure below 0 is not taken; hours only ever rise"
STOPPED = "interrupted; what was said to be stored is kept"


class Door(click.Group):
    """The group of all commands."""

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; every error of ours becomes a sentence and its exit code here."""
        ctx.ensure_object(Desk)  # the one that options fill, wherever on the line they stand
        try:
            with no_collecting():
                return super().invoke(ctx)
        except FleetcareError as error:
            for line in str(error).rstrip("\n").split("\n"):
                click.echo(f"fleetcare: {self._where(ctx)}{sentence(harmless(line))}", err=True)
            ctx.exit(error.exit_code)
        except click.NoSuchOption as error:
            if not error.option_name[1:2].isdigit():
                raise
            click.echo(f"fleetcare: {self._where(ctx)}{BELOW_ZERO}", err=True)
            ctx.exit(FleetcareError.exit_code)
        except (KeyboardInterrupt, click.Abort):
            click.echo(f"\nfleetcare: {self._where(ctx)}{STOPPED}", err=True)
            ctx.exit(INTERRUPTED)
        except (click.ClickException, click.exceptions.Exit, BrokenPipeError):
            raise
        except Exception as error:
            if ctx.ensure_object(Desk).debug:
                raise
            told = _foreseen(ctx.ensure_object(Desk), error)
            click.echo(f"fleetcare: {self._where(ctx)}{told or _report(error)}", err=True)
            ctx.exit(told.exit_code if told else OUR_FAULT)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Refuse what no shell can pass on, before anything takes it for a file's name."""
        if any("\0" in word or _is_no_text(word) for word in args):
            raise click.UsageError("what was typed holds a character that no text can hold", ctx)
        return super().parse_args(ctx, args)

    @staticmethod
    def _where(ctx: click.Context) -> str:
        return f"{ctx.invoked_subcommand}: " if ctx.invoked_subcommand else ""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands in groups, in the order of a day's work."""
        for title, rows in GROUPS:
            with formatter.section(title):
                formatter.write_dl([(name, summary) for name, _, summary in rows])


def _is_no_text(word: str) -> bool:
    try:
        word.encode("utf-8", "surrogateescape")  # as bytes that are no text come in
    except UnicodeEncodeError:
        return True
    return False


def _by_the_system(error: OSError) -> FleetcareError:
    """What the system refused; a file is named only if it was typed, for some names are secret."""
    import sys

    name = str(error.filename)
    why = error.strerror or type(error).__name__
    where = harmless(name) if name in sys.argv else "a file that is needed"
    return RefusedError(f"{where}: {why}")


def _hide_secret(error: Exception) -> None:
    """Take the name out of an error about a file that is called by a subscriber's address."""
    from pathlib import Path

    from fleetcare.share.folder import is_secret

    if isinstance(error, OSError) and is_secret(Path(str(error.filename)).name):
        error.filename = None


def _foreseen(desk: Desk, error: Exception) -> FleetcareError | None:
    """The disk, or what stands in the fleet file, that led to an error; None when it is ours."""
    from fleetcare.cli.check import found_in
    from fleetcare.store.telling import told_of

    _hide_secret(error)
    told = told_of(desk.path(), error)
    if told is not None:
        return told
    if isinstance(error, OSError):
        return _by_the_system(error)
    try:
        found = found_in(desk)
    except FleetcareError as error_of_file:
        return error_of_file
    except Exception:  # the first error is told, not this one
        return None
    if not found:
        return None
    return UnusableFileError(
        f"{desk.path()} holds what cannot be: {found[0]}. fleetcare check names all of it"
    )


def _report(error: Exception) -> str:
    """Keep the traceback in a file and say where."""
    import os
    import tempfile
    import traceback

    handle, path = tempfile.mkstemp(prefix="fleetcare-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(f"fleetcare {__version__}\n")
        file.write("".join(traceback.format_exception(error)))
    return (
        f"a fault of ours ({type(error).__name__}); nothing unfinished was kept. "
        f"The report is in {path}; --debug shows it here"
    )


@click.group(
    cls=Door, commands=Commands(), context_settings={"help_option_names": ["--help", "-h"]}
)
@click.version_option(__version__, prog_name="fleetcare", message="%(prog)s %(version)s")
@fleet_options
def cli() -> None:
    """Keep small outboards alive: renew the cheap part while it still works.

    fleetcare says what is due on every engine, what it leads to when it is skipped, and puts it
    on everybody's calendar. `fleetcare demo` shows it all on an invented fleet.

    An engine's own handbook, local codes and licensed practice come before anything said here.
    """


def main() -> None:
    """Run the command line; nothing that a terminal cannot show or would obey reaches it raw."""
    import sys

    sys.stdout, sys.stderr = careful(sys.stdout), careful(sys.stderr)
    cli(prog_name="fleetcare")
