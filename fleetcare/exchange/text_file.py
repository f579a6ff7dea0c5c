"""Bytes of a CSV file as text: marked, or UTF-8, or asked about; no encoding is guessed."""

from __future__ import annotations

import codecs
from typing import NamedTuple

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import UndecidedError
from fleetcare.exchange.cell import harmless

# Single bytes a letter, as spreadsheet programs and old systems write them; and Unicode.
ENCODINGS = (
    "utf-8", "utf-16", "cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "iso8859-1",
    "iso8859-2", "iso8859-9", "iso8859-15", "mac-roman", "mac-latin2", "cp437", "cp850", "cp852",
    "cp865",
)  # fmt: skip
USUAL = "cp1252"
SHOWN = 5
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip


class Text(NamedTuple):
    """A file's text, and how it was read when that is worth saying."""

    text: str
    said: tuple[str, ...]


def decode(raw: bytes, name: str, encoding: str = "") -> Text:
    """The text of a file.

    Raises UndecidedError, with the doubtful lines, for one that is neither marked nor UTF-8, and
    RefusedError for one that mixes encodings, is cut off or holds a NUL.
    """
    if not raw.strip(b' \t\r\n;,|"'):
        raise RefusedError(f"{name}: is empty; nothing was taken")
    marked = next((known for mark, known in _MARKS if raw.startswith(mark)), "")
    if marked:
        return _marked(raw, name, marked)
    if b"\x00" in raw:
        raise RefusedError(
            f"{name}:{_line(raw, raw.index(0))}: holds a NUL byte; it is no text file"
        )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        return _unmarked(raw, name, encoding)
    if encoding and encoding != "utf-8" and not text.isascii():
        raise RefusedError(f"{name}: is UTF-8 as it stands; leave --encoding {encoding} out")
    return Text(text, ())


def _marked(raw: bytes, name: str, encoding: str) -> Text:
    try:
        text = raw.decode("utf-8-sig" if encoding == "utf-8" else encoding)
    except UnicodeDecodeError as error:
        wide = 2 if encoding == "utf-16" else 1
        line = raw.count(b"\n", 0, error.start) + 1
        place = f"{name}:{line}" if wide == 1 else name
        raise RefusedError(
            f"{place}: says it is {encoding.upper()} and is not, or is cut off. Save it again"
        ) from error
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise RefusedError(f"{name}:{line}: holds a NUL; it is no text file")
    if not text.strip("\ufeff \t\r\n"):
        raise RefusedError(f"{name}: is empty; nothing was taken")
    return Text(text.lstrip("\ufeff"), ("UTF-16",) if encoding == "utf-16" else ())


def _unmarked(raw: bytes, name: str, encoding: str) -> Text:
    """A file of single bytes a letter, once it was said which."""
    strange, whole = _kinds(raw)
    if whole:
        lines = ", ".join(str(number) for number, _ in strange[:SHOWN])
        raise RefusedError(
            f"{name}: mixes encodings: {_lines(strange)} {lines} {_are(strange)} not UTF-8, and "
            f"line {whole[0]} is. Mend those lines; nothing is guessed"
        )
    if encoding:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError as error:
            line = _line(raw, error.start)
            raise RefusedError(f"{name}:{line}: is not {encoding}") from error
        return Text(text, (encoding,))
    shown = [
        f"{number}: {harmless(line.decode(USUAL, 'replace').strip())[:70]}"
        for number, line in strange[:SHOWN]
    ]
    more = f"\n    and {len(strange) - SHOWN} more" if len(strange) > SHOWN else ""
    raise UndecidedError(
        name,
        "is not UTF-8. Read as cp1252, its lines with other letters say:\n    "
        + "\n    ".join(shown) + more,
        "encoding",
        ((USUAL, "if they read right"), ("NAME", "another, such as mac-roman, cp850 or iso8859-2")),
    )  # fmt: skip


def _kinds(raw: bytes) -> tuple[list[tuple[int, bytes]], list[int]]:
    """The lines that are not UTF-8, and the numbers of those with other letters that are."""
    strange: list[tuple[int, bytes]] = []
    whole: list[int] = []
    for number, line in enumerate(
        raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n"), 1
    ):
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
            whole.append(number)
        except UnicodeDecodeError:
            strange.append((number, line))
    return strange, whole


def _line(raw: bytes, at: int) -> int:
    return raw.count(b"\n", 0, at) + 1


def _lines(strange: list[tuple[int, bytes]]) -> str:
    return "line" if len(strange) == 1 else "lines"


def _are(strange: list[tuple[int, bytes]]) -> str:
    return "is" if len(strange) == 1 else "are"
