"""Command lines drawn from what the commands themselves declare, good words and bad ones mixed.

A new command or option is drawn as soon as it is declared. Left out is what would not end (a
server, a page kept up to date) and what makes a whole example fleet: those have cases of their own.
"""

from __future__ import annotations

from collections.abc import Iterator

import click
from hypothesis import strategies as st

from fleetcare.cli.main import cli

LASTING = frozenset({("feed", "serve"), ("demo",)})
NEVER = frozenset({"--debug", "--fleet", "--watch"})

ENGINES = ("Plover", "Knot", "Spare", "plover", "Plovr")
NAMES = (
    *ENGINES, "Lapwing", "Dunlin", "impeller", "swivel grease", "tell-tale", "weak", "gearcase",
    "overheated", "overheating", "stiff-steering", "small-petrol", "hire", "salt", "by", "none",
    "jetty", "all", "boat", "engine", "everything", "pump", "stock",
)  # fmt: skip
FIGURES = (
    "0", "1", "260", "260.5", "12,5", "12:30", "12h30", "3=2", "impeller=2", "1.234", "1,234",
    "-5", "-0", "1e999", "nan", "inf", "-inf", "NaN", "1_000", "0x10", "9" * 400, "١٢", "²",
    "99999999999999999999", "0.001", "1" + "0" * 5000, "1:75", "٣:٠٠", "½",
)  # fmt: skip
DAYS = ("today", "yesterday", "3 days ago", "9999 days ago", "2026-07-01", "2026-07-18",
        "2026-08-02", "20260701", "9999-12-31", "0001-01-01", "0000-00-00", "2026-02-30",
        "1950-01-01", "2200-12-31", "2199-12-31", "03/04/2026", "2026-W01-1", "-1 days ago",
        "２０２６-07-01", "impeller=2026-06-01@250", "2026-06-01..2026-06-30")  # fmt: skip
SANE_FIGURES = ("0", "1", "260", "260.5", "12,5", "12:30", "3")
SANE_DAYS = ("today", "yesterday", "3 days ago", "2026-07-01", "2026-07-18", "2026-08-02")
SANE_NAMES = (
    "Plover",
    "Knot",
    "Spare",
    "Lapwing",
    "Dunlin",
    "impeller",
    "swivel grease",
    "plugs",
    "overheated",
    "overheating",
    "small-petrol",
    "hire",
    "gearcase",
    "tell-tale",
    "weak",
)
PATHS = ("in.csv", "in.xlsx", "in.ics", "in.toml", "in.bin", "in.txt", "empty", "folder", "-",
         "missing", "folder/out.html", "out.pdf", "out.svg", "out.xlsx", "out.ics", "out.csv",
         "empty/below", "a\x00b", "\ud800", "x" * 300, "x/" * 200, "nul", "con.csv", ".", "..",
         "\u202eexe.csv", "'", "?", "*", "in.csv\n", " ", "fleet.db", "loop")  # fmt: skip
NASTY = ("", " ", "\x00", "a\x00b", "\ud800", "\udcff", "\x1b[2J\x1b]0;x\x07", "\u202eevil\u2066",
         "\u200b", "\ufeff", "a\r\nb", "\t", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "<b>&\"'",
         "{{ 7*7 }}", "%s %d {0}", "x" * 3000, "A" * 81, "../../x", "..\\..\\x", "e\u0301" * 60,
         "\U0001f6a4", "か" * 40, "'; drop table log; --", "a;b", "a=b", "=", "@", ":", "--", "-",
         "\x7f", "\x9b31m", "\u2028", "\ufffe", "http://127.0.0.1:9/x", "http://", "https://[", "ß",
         "İ", "\u0130\u0307" * 30, "ﷺ" * 40)  # fmt: skip
HARMLESS = st.text(st.characters(exclude_characters="/~"), max_size=12)


def commands() -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command with its words, groups among them."""

    def below(
        words: tuple[str, ...], command: click.Command
    ) -> Iterator[tuple[tuple[str, ...], click.Command]]:
        yield words, command
        if isinstance(command, click.Group):
            for name in sorted(command.commands):
                yield from below((*words, name), command.commands[name])

    yield from below((), cli)


COMMANDS = [(words, command) for words, command in commands() if words not in LASTING]
OTHERS = sorted({word for words, _ in COMMANDS for word in words})


def values(param: click.Parameter, tame: bool) -> st.SearchStrategy[str]:
    """What may stand where this parameter does: of its kind, and unless tame also anything."""
    kind = param.type
    if isinstance(kind, click.Choice):
        own = st.sampled_from([str(choice) for choice in kind.choices])
    elif isinstance(kind, click.Path):
        own = st.sampled_from(PATHS)
    elif isinstance(kind, click.IntRange | click.FloatRange):
        ends = [str(end) for end in (kind.min, kind.max) if end is not None]
        own = st.sampled_from([*ends, "1", "2", "30", *(() if tame else FIGURES)])
    elif kind.name == "DATE":
        own = st.sampled_from(SANE_DAYS if tame else DAYS)
    elif kind.name == "HOURS":
        own = st.sampled_from(SANE_FIGURES if tame else FIGURES)
    elif tame:
        pairs = st.builds("{}={}".format, *map(st.sampled_from, (SANE_NAMES, SANE_DAYS)))
        own = st.one_of(*map(st.sampled_from, (SANE_NAMES, SANE_NAMES, SANE_FIGURES)), pairs)
    else:
        pairs = st.builds("{}={}".format, *map(st.sampled_from, (NAMES, (*DAYS, *FIGURES))))
        own = st.one_of(*map(st.sampled_from, (NAMES, FIGURES, DAYS)), pairs)
    return own if tame else st.one_of(own, own, own, st.sampled_from(NASTY), HARMLESS)


@st.composite
def lines(draw: st.DrawFn) -> list[str]:
    """A command line, as words."""
    path, command = draw(st.sampled_from(COMMANDS))
    tame = draw(st.booleans())
    words: list[str] = []
    for param in command.params:
        if isinstance(param, click.Argument):
            words += _argument(draw, param, tame)
        elif draw(st.integers(0, 3)) == 0 or (param.required and draw(st.integers(0, 9))):
            words = [*_option(draw, param, tame), *words]
    if not tame and draw(st.integers(0, 4)) == 0:
        extra = draw(st.one_of(st.sampled_from((*NASTY, *OTHERS)), HARMLESS))
        words.insert(draw(st.integers(0, len(words))), extra)
    return [*path, *words]


def _argument(draw: st.DrawFn, param: click.Argument, tame: bool) -> list[str]:
    if not param.required and draw(st.booleans()):
        return []
    many = draw(st.integers(1, 4)) if param.nargs == -1 else param.nargs
    if param.name in ("engine", "engines", "words") and draw(st.integers(0, 4)):
        first = draw(st.sampled_from(ENGINES))
        return [first, *(draw(values(param, tame)) for _ in range(many - 1))]
    return [draw(values(param, tame)) for _ in range(many)]


def _option(draw: st.DrawFn, param: click.Parameter, tame: bool) -> list[str]:
    name = draw(st.sampled_from(param.opts))
    if name in NEVER:
        return []
    if getattr(param, "is_flag", False):
        return [name]
    given = [word for _ in range(param.nargs) for word in (name, draw(values(param, tame)))]
    return [f"{given[0]}={given[1]}"] if draw(st.integers(0, 5)) == 0 else given
