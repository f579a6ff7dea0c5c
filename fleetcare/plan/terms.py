"""Lead times: by when to order for a day, and when what is ordered today is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

EVERY_DAY = frozenset(range(7))
WEEK = 7


@dataclass(frozen=True, slots=True)
class Terms:
    """Days from order to shelf: the supplier's lead, and a margin to take goods in.

    `leads` are items with a lead of their own. The lead counts only the weekdays in `open_days`,
    Monday 0, on which the supplier takes and sends orders; the margin counts all days.
    """

    lead: int
    leads: Mapping[str, int] = field(default_factory=dict)
    margin: int = 0
    open_days: frozenset[int] = EVERY_DAY

    def lead_of(self, item: str) -> int:
        """Days of lead of an item."""
        return self.leads.get(item, self.lead)

    def order_by(self, item: str, wanted: int) -> int:
        """The last day on which it can be ordered to be on the shelf by the day wanted."""
        day = wanted - self.margin
        while not self._is_open(day):
            day -= 1
        for _ in range(self.lead_of(item)):
            day -= 1
            while not self._is_open(day):
                day -= 1
        return day

    def there_by(self, item: str, ordered: int) -> int:
        """The day on which what is ordered on a day is on the shelf."""
        day = ordered
        while not self._is_open(day):
            day += 1
        for _ in range(self.lead_of(item)):
            day += 1
            while not self._is_open(day):
                day += 1
        return day + self.margin

    def _is_open(self, day: int) -> bool:
        return (day - 1) % WEEK in self.open_days


def week_of(day: int) -> int:
    """The number of the week, Monday to Sunday, that a day lies in; day 1 is a Monday."""
    return (day - 1) // WEEK
