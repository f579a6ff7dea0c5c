"""fleetcare plan --year: the budget of the year ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.cli.plan_look import Asked


def tell_year(desk: Desk, asked: Asked, form: str) -> None:
    """Print minutes, parts and boat-days of the year ahead, by month."""
    raise NotImplementedError
