"""PDF out of typst source: in memory, without a network, and the same bytes for the same input.

What people wrote should not stand in the source. Give it as a file, `{"data.json": data(values)}`,
and read it there with `#let data = json("data.json")`: then no text is ever read as markup. A
short one may stand in it as `in_markup(text)` or, within code, as `in_code(text)`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from fleetcare.errors import RefusedError

# The first has Latin, Greek, Cyrillic and Hebrew, the second Arabic; both come with typst.
FONTS = '("Libertinus Serif", "DejaVu Sans Mono")'
# Words too long for any line may break after each letter.
LONG_WORDS = r'#show regex("\S{25,}"): it => it.text.clusters().join(sym.zws)' + "\n"
MISSING = 'PDF needs typst: pip install "fleetcare[pdf]"; --html needs nothing'
EPOCH = 719_163  # 1 January 1970 as an ordinal
_NONE: Mapping[str, bytes] = {}
# Letters that these fonts may lack; only for them the machine's own fonts are asked.
_RARE = re.compile(
    r"[^\u0000-\u052f\u0590-\u06ff\u1e00-\u1fff\u2000-\u22ff\u2500-\u25ff\ufb00-\ufb06]"
)


def pdf_of(source: str, files: Mapping[str, bytes] = _NONE, on: date | None = None) -> bytes:
    """The PDF of a typst source and the files it reads, made on a day (None: it bears no date).

    Raises RefusedError when typst is not installed.
    """
    try:
        import typst
    except ImportError as error:
        raise RefusedError(MISSING) from error
    begin = f"#set text(font: {FONTS})\n{LONG_WORDS}"
    if on is None:
        begin += "#set document(date: none)\n"
    made = (on.toordinal() - EPOCH) * 86_400 if on is not None else 0
    inputs: Any = {"main.typ": (begin + source).encode(), **files}
    plain = not any(_RARE.search(text.decode(errors="ignore")) for text in inputs.values())
    compiler: Any = typst.Compiler(inputs, ignore_system_fonts=plain)
    found: bytes = compiler.compile(format="pdf", timestamp=made)
    return found


def data(values: Any) -> bytes:
    """Plain values as the file that a source reads with `json`."""
    return json.dumps(values, ensure_ascii=False).encode()


def in_code(text: str) -> str:
    """A text within typst's code: a string literal."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def in_markup(text: str) -> str:
    """A text within typst's markup, shown as it is whatever it holds."""
    return f"#{in_code(text)};"
