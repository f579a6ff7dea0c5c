"""fleetcare plan --year: the budget of the year ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.cli.plan_look import Asked


def tell_year(desk: Desk, asked: Asked, form: str) -> None:
    """Print minutes, parts and boat-days of the year ahead, by month."""
    from fleetcare.cli.looking import printed
    from fleetcare.cli.plan_look import ground
    from fleetcare.plan.year import year_ahead
    from fleetcare.show.plan_year import HEAD, year_more, year_rows, year_text

    seen = ground(desk, asked.as_of, asked.bookings, asked.horizon)
    year = year_ahead(
        seen.fleet, seen.history, seen.book, seen.rows, seen.forecast, asked.as_of
    )  # fmt: skip
    sign = seen.fleet.settings.money
    printed(
        form, lambda: year_rows(year), asked.as_of, HEAD,
        lambda: year_text(year, sign, desk.width()), lambda: year_more(year, sign),
    )  # fmt: skip
