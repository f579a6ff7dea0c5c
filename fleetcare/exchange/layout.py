"""Which row holds the headings, and which column means what."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.cell import Line, harmless, is_blank, letters, looks, seen
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.headings import key_of, meaning_of, said_meanings
from fleetcare.exchange.synonyms import FIGURE, IGNORE, MEANINGS

LOOKED_AT = 50
NEEDED = 2
FIGURES = ("reading", "hours", "minutes", "fuel", FIGURE)
PAYLOAD = (*FIGURES, "out", "task", "condition")
IsName = Callable[[str], bool]


@dataclass(frozen=True, slots=True)
class Layout:
    """The row of headings and the columns by meaning.

    `wide` are the columns whose heading is itself an engine or boat, with that name; `engine` is
    the one engine of all rows, where the sheet has no column for it. `settled` is what the figures
    of a column for either turned out to be, with what showed it.
    """

    header: int
    heads: tuple[str, ...]
    columns: Mapping[str, int]
    wide: tuple[tuple[int, str], ...] = ()
    engine: str = ""
    order: str = ""
    settled: str = ""
    order_shown_by: str = ""

    def head(self, column: int) -> str:
        """A column's heading, or its letters."""
        text = self.heads[column] if column < len(self.heads) else ""
        return text or f"column {letters(column)}"


def header_texts(line: Line) -> tuple[str, ...]:
    """A row's cells as headings."""
    return tuple(harmless(" ".join(seen(looks(cell)).split())) for cell in line.cells)


def find_layout(
    grid: Grid, asked: Asked, kept: Mapping[str, str], is_name: IsName, engine: str = ""
) -> Layout:
    """The layout of a sheet; refused, with what is missing, when two headings are not known.

    The first row counts that has all a row needs; else the one that has most is told about.
    """
    said = {**kept, **said_meanings(asked.maps)}
    best: Layout | None = None
    for line in grid.lines[:LOOKED_AT]:
        found = _try(grid, line, said, is_name, engine)
        if found is None:
            continue
        if not _missing(found):
            _refuse_doubles(grid, found, said)
            _refuse_unknown_maps(grid, found, asked)
            return found
        if best is None or _known(found) > _known(best):
            best = found
    raise RefusedError(_why_not(grid, best, said))


def _try(
    grid: Grid, line: Line, said: Mapping[str, str], is_name: IsName, engine: str
) -> Layout | None:
    """The row read as headings, when two of its cells are known names."""
    heads = header_texts(line)
    here = {key: said[key] for key in map(key_of, heads) if key in said}
    columns: dict[str, int] = {}
    for at, head in enumerate(heads):
        meaning = meaning_of(head, here) if head else ""
        if meaning in ("", IGNORE) or meaning in columns:
            continue
        if meaning not in here.values() or here.get(key_of(head)) == meaning:
            columns[meaning] = at  # what a person said goes before the table
    wide: tuple[tuple[int, str], ...] = ()
    if not any(meaning in columns for meaning in (*PAYLOAD, "engine", "boat")):
        wide = tuple((at, head) for at, head in enumerate(heads) if head and is_name(head))
    if len(columns) + len(wide) < NEEDED:
        return None
    no_name = not wide and "engine" not in columns and "boat" not in columns
    return Layout(line.number, heads, columns, wide, engine if no_name else "")


def _known(layout: Layout) -> int:
    return len(layout.columns) + len(layout.wide)


def _missing(layout: Layout) -> list[str]:
    """What every row needs and no column holds."""
    columns = layout.columns
    missing = [] if "on" in columns else ["on"]
    if layout.wide:
        return missing
    if not layout.engine and "engine" not in columns and "boat" not in columns:
        missing.append("engine")
    if not any(meaning in columns for meaning in PAYLOAD):
        missing.append("reading")
    return missing


def _refuse_doubles(grid: Grid, layout: Layout, said: Mapping[str, str]) -> None:
    """Refuse two headings of one meaning, or the same heading twice, where it is used."""
    here = {key: said[key] for key in map(key_of, layout.heads) if key in said}
    used = {*layout.columns.values(), *(at for at, _ in layout.wide)}
    for meaning, column in layout.columns.items():
        for at, head in enumerate(layout.heads):
            if head and at not in used and meaning_of(head, here) == meaning not in here.values():
                means = MEANINGS.get(meaning, "hours")
                if key_of(head) == key_of(layout.heads[column]):
                    raise RefusedError(
                        f"{_both(grid, layout, column, at)} both mean {means}, by the same "
                        f"heading. Give one of them another"
                    )
                raise RefusedError(
                    f"{_both(grid, layout, column, at)} both mean {means}. "
                    f'Say which: --map {_word(meaning)}="{layout.heads[column]}"'
                )
    for column in used:
        for at, head in enumerate(layout.heads):
            if at != column and key_of(head) == key_of(layout.heads[column]):
                raise RefusedError(
                    f"{_both(grid, layout, column, at)} have the same heading. "
                    f"Give one of them another"
                )


def _both(grid: Grid, layout: Layout, *columns: int) -> str:
    named = [f'{letters(at)} ("{layout.heads[at]}")' for at in sorted(columns)]
    return f"{grid.place(layout.header)}: columns {' and '.join(named)}"


def _word(meaning: str) -> str:
    """A meaning as --map takes it."""
    return "reading" if meaning == FIGURE else meaning


def _refuse_unknown_maps(grid: Grid, layout: Layout, asked: Asked) -> None:
    keys = {key_of(head) for head in layout.heads}
    for meaning, heading in asked.maps:
        if key_of(heading) not in keys:
            heads = ", ".join(head for head in layout.heads if head)
            raise RefusedError(
                f'{grid.place(layout.header)}: has no heading "{heading}" for --map {meaning}. '
                f"Its headings: {heads[:300]}"
            )


def _why_not(grid: Grid, best: Layout | None, said: Mapping[str, str]) -> str:
    """Why no row can be the headings, and what to say of them."""
    if best is None:
        first = [
            f"  row {line.number}: {' | '.join(filter(None, header_texts(line)))[:100]}"
            for line in grid.lines[:LOOKED_AT]
            if not all(map(is_blank, line.cells))
        ][:3]
        return "\n".join(
            (
                f"{grid.name}: no row holds two headings that are known. It begins:",
                *first,
                'Say which heading means what: --map on="HEADING" --map engine="HEADING" '
                '--map reading="HEADING" (fleetcare import --help lists the meanings)',
            )
        )
    missing = _missing(best)
    known = [
        f'"{best.heads[at]}" is {MEANINGS.get(meaning, "hours")}'
        for meaning, at in best.columns.items()
    ]
    spare = [head for head in best.heads if head and not meaning_of(head, said)]
    wanted = {"on": "the day", "engine": "the engine", "reading": "a figure or a job"}
    return "\n".join(
        (
            f"{grid.place(best.header)}: no heading for "
            f"{' and '.join(wanted[item] for item in missing)}; {', '.join(known)}",
            f"Not known: {', '.join(spare)[:300] or 'nothing else'}",
            "Say what is meant: "
            + " ".join(f'--map {item}="HEADING"' for item in missing)
            + (", or --engine NAME for all rows" if "engine" in missing else ""),
        )
    )
