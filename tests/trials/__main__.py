"""The trials: `python -m tests.trials [NAME...] [--full] [--minutes N]`.

Each module trial_NAME.py here has `run(full)`, which gives a row, or several, with the keys
`name`, `load`, `faults` (how many were injected), `acknowledged` (entries or answers that the user
was told of), `lost` and `wrong` (of those), and `ratio` (the time a command took, against one on
an idle machine; None where that means nothing). Ends with 1 when anything is lost or wrong.
"""

from __future__ import annotations

import argparse
import importlib
import inspect
import sys
import traceback
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

HEAD = ("trial", "load", "faults", "acknowledged", "lost", "wrong", "ratio")
Row = Mapping[str, Any]


def names() -> list[str]:
    """Every trial there is."""
    found = sorted(Path(__file__).parent.glob("trial_*.py"))
    return [path.stem.removeprefix("trial_") for path in found]


def rows_of(name: str, full: bool, minutes: float | None) -> list[Row]:
    """The rows of one trial; one that breaks is a row that is wrong."""
    try:
        run = importlib.import_module(f"tests.trials.trial_{name}").run
        more = {"minutes": minutes} if "minutes" in inspect.signature(run).parameters else {}
        found = run(full, **more)
    except Exception:
        traceback.print_exc()
        return [{"name": name.replace("_", " "), "load": "broke off", "wrong": 1}]
    return [found] if isinstance(found, Mapping) else list(found)


def cells(row: Row) -> tuple[str, ...]:
    """One row as text."""
    ratio = row.get("ratio")
    return (
        str(row["name"]), str(row.get("load", "")),
        *(str(row.get(key, 0)) for key in ("faults", "acknowledged", "lost", "wrong")),
        "" if ratio is None else f"{ratio:.1f}",
    )  # fmt: skip


def table(rows: Sequence[Row]) -> str:
    """All rows below their heads, figures to the right."""
    lines = [HEAD, *(cells(row) for row in rows)]
    widths = [max(len(line[at]) for line in lines) for at in range(len(HEAD))]
    return "\n".join(
        "  ".join(
            text.ljust(width) if at < 2 else text.rjust(width)
            for at, (text, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    )


def main(words: Sequence[str] | None = None) -> int:
    """Run the trials asked for, all without a name; the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.trials")
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(names()))
    parser.add_argument("--full", action="store_true", help="all of it, however long it takes")
    parser.add_argument("--minutes", type=float, help="how long trials last that last")
    asked = parser.parse_args(words)
    chosen = [name.replace("-", "_") for name in asked.names] or names()
    unknown = [name for name in chosen if name not in names()]
    if unknown:
        parser.error(f"no trial {unknown[0]}; there are {', '.join(names())}")
    rows = [row for name in chosen for row in rows_of(name, asked.full, asked.minutes)]
    print(table(rows))
    return int(any(row.get("lost", 0) or row.get("wrong", 0) for row in rows))


if __name__ == "__main__":
    sys.exit(main())
