"""The program as a process sees it, run in this one: its words in, its bytes and code out."""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from unittest import mock

from fleetcare.cli.main import main

# What DEVELOPERS.md lists, but for 70: that one says that the fault is ours.
EXPECTED = frozenset({0, 1, 2, 3, 4, 5, 6, 130})
REFUSED = frozenset({1, 2, 4, 5, 130})


@dataclass(frozen=True)
class Heard:
    """What came out, and the exit code."""

    out: str
    err: str
    code: int


def heard(words: Sequence[str], stdin: bytes = b"") -> Heard:
    """Run `main` with these words; an exception that leaves it is a traceback, and is raised."""
    out, err = io.BytesIO(), io.BytesIO()
    streams = {
        "stdin": io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8", errors="surrogateescape"),
        "stdout": io.TextIOWrapper(out, encoding="utf-8", write_through=True),
        "stderr": io.TextIOWrapper(err, encoding="utf-8", write_through=True),
    }
    code = 0
    with mock.patch.multiple(sys, argv=["fleetcare", *words], **streams):
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
    return Heard(out.getvalue().decode(), err.getvalue().decode(), code)
