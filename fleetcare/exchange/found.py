"""A sheet of somebody else's, read: its rows as drafts, and how they were understood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleetcare.exchange.asked import Asked
from fleetcare.exchange.drafts import Draft, drafts
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.layout import IsName, Layout, find_layout
from fleetcare.exchange.lines import Sorted, sorted_lines
from fleetcare.exchange.settling import settled


@dataclass(frozen=True, slots=True)
class FoundSheet:
    """A grid, its layout, and every row below the headings, and its draft."""

    grid: Grid
    layout: Layout
    rows: tuple[Sorted, ...]
    drafts: tuple[Draft, ...]


def found_sheet(
    grid: Grid, asked: Asked, kept: Mapping[str, str], is_name: IsName, unit: str
) -> FoundSheet:
    """A sheet understood; raises RefusedError or UndecidedError where that is not possible."""
    own_name = grid.sheet if grid.sheet and is_name(grid.sheet) else ""
    layout = find_layout(grid, asked, kept, is_name, asked.engine or own_name)
    rows = sorted_lines(grid, layout, asked.fill_down, is_name)
    layout = settled(grid, layout, rows, asked)
    return FoundSheet(grid, layout, tuple(rows), tuple(drafts(grid, layout, rows, asked, unit)))
