"""Where pages and PDFs go: files written whole, or stdout for -."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import click

from fleetcare.cli.context import Desk

STDOUT = "-"


def write_papers(
    desk: Desk, html: str | None, page: Callable[[], str], pdf: str | None,
    printed: Callable[[], bytes], what: str,
) -> None:  # fmt: skip
    """Make what is asked for, all of it before any is written, and say where it is.

    `what` says what it is, for the line that names the file. Raises RefusedError when both are to
    go to stdout or to one file.
    """
    from fleetcare.errors import RefusedError
    from fleetcare.store.files import write_whole

    if html is not None and html == pdf:
        raise RefusedError(f"--html and --pdf both go to {html}; give each its own file")
    made: list[tuple[str, bytes]] = []
    if html is not None:
        made.append((html, page().encode()))
    if pdf is not None:
        made.append((pdf, printed()))
    for place, content in made:
        if place == STDOUT:
            sys.stdout.buffer.write(content)
            sys.stdout.flush()
        else:
            write_whole(Path(place), content)
            said = f"{place}: {what}."
            desk.note(said) if STDOUT in (html, pdf) else click.echo(said)
