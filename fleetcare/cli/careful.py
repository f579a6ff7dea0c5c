"""Streams through which nothing passes that a terminal would obey.

Names are free of control characters, but notes, files of others and what was just typed may hold
some; this is the last place that all of them pass.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from typing import Any, TextIO, cast

# Controls but for tab and line ends, and what turns the direction of writing around.
_OBEYED = re.compile("[\x00-\x08\x0b-\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]|\r(?!\n)")
_PAINT = re.compile(r"(\x1b\[[0-9;]*m)")
MARK = "\ufffd"


def harmless(text: str) -> str:
    """The text with a mark in the place of each character that a terminal would obey."""
    return _OBEYED.sub(MARK, text)


class Careful:
    """A text stream that is written to through `harmless`; all else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write it; on a terminal the colours stay, which are ours."""
        if _OBEYED.search(text):
            pieces = _PAINT.split(text) if self._stream.isatty() else [text]
            text = "".join(piece if at % 2 else harmless(piece) for at, piece in enumerate(pieces))
        return self._stream.write(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write each."""
        for line in lines:
            self.write(line)


def careful(stream: TextIO) -> TextIO:
    """The stream made so, and one that shows a question mark for a letter it does not have."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors="replace")
    return cast(TextIO, Careful(stream))
