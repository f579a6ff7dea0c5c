"""Reads a language out of a PO file, the form in which translators have kept messages for decades.

What is taken of it: messages, their plural forms, comments, texts over several lines. Contexts,
fuzzy marks and obsolete entries have no place here and are faults. The head says how the language
counts (Plural-Forms) and writes numbers (X-Point, X-Group).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from gettext import c2py
from typing import NamedTuple

_LINE = re.compile(r'(?:(msgid|msgid_plural|msgstr)(?:\[(\d)\])? )?"((?:[^"\\]|\\.)*)"')
_ESCAPES = {"\\n": "\n", "\\t": "\t", '\\"': '"', "\\\\": "\\"}
_COUNTS = re.compile(r"nplurals=(\d+); *plural=([^;]+);?")


class Table(NamedTuple):
    """A language as its file has it; see `Words` for what the fields mean."""

    messages: dict[str, str]
    plurals: dict[str, tuple[str, ...]]
    form: Callable[[int], int]
    point: str
    group: str
    plural_ids: dict[str, str]


def read_po(text: str) -> Table:
    """The table of a PO file. Raises ValueError, naming the line, for what is none."""
    messages: dict[str, str] = {}
    plurals: dict[str, tuple[str, ...]] = {}
    plural_ids: dict[str, str] = {}
    for line, entry in _entries(text):
        one = entry.get("msgid", "")
        if one in messages or one in plurals:
            raise ValueError(f"line {line}: {one!r} stands twice")
        if "msgid_plural" in entry:
            forms = [entry[key] for key in sorted(entry) if key.startswith("msgstr[")]
            plurals[one], plural_ids[one] = tuple(forms), entry["msgid_plural"]
        elif "msgstr" in entry:
            messages[one] = entry["msgstr"]
        else:
            raise ValueError(f"line {line}: {one!r} has no msgstr")
    rows = (row.partition(":") for row in messages.pop("", "").splitlines())
    head = {name.strip(): value.strip() for name, _, value in rows}
    counts = _COUNTS.fullmatch(head.get("Plural-Forms", ""))
    if counts is None:
        raise ValueError("its head has no Plural-Forms")
    wrong = [one for one, forms in plurals.items() if len(forms) != int(counts[1])]
    if wrong:
        raise ValueError(f"{wrong[0]!r} has not {counts[1]} forms")
    point, group = head.get("X-Point", "."), head.get("X-Group", ",")
    return Table(messages, plurals, c2py(counts[2]), point, group, plural_ids)


def _entries(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Each message's texts by keyword, with the line it begins on; a blank line ends one."""
    entry: dict[str, str] = {}
    begun, key = 0, ""
    for number, line in enumerate([*text.splitlines(), ""], start=1):
        if line.startswith("#") and not line.startswith(("#~", "#,")):
            continue
        if not line.strip():
            if entry:
                yield begun, entry
            entry, key = {}, ""
            continue
        found = _LINE.fullmatch(line)
        if found is None or not (found[1] or key):
            raise ValueError(f"line {number}: is no line of a PO file")
        if found[1]:
            begun = begun if entry else number
            key = f"{found[1]}[{found[2]}]" if found[2] else found[1]
            if key in entry:
                raise ValueError(f"line {number}: a second {key}; a blank line goes between")
        entry[key] = entry.get(key, "") + re.sub(r"\\.", _meant, found[3])


def _meant(escape: re.Match[str]) -> str:
    if escape[0] not in _ESCAPES:
        raise ValueError(f"{escape[0]} is not known")
    return _ESCAPES[escape[0]]
