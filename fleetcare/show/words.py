"""The words of pages, sheets and labels in the reader's language; English is the message itself.

A message is written in English where it is used, as gettext has it: `words("Due by {day}",
day=...)`. A language is a table from those messages to its own; what it lacks stands in English.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fleetcare.fleet.days import spoken


@dataclass(frozen=True, slots=True)
class Words:
    """One language: its messages, and how it writes days and numbers."""

    language: str = "en"
    messages: Mapping[str, str] = field(default_factory=dict)

    def __call__(self, message: str, /, **values: object) -> str:
        """A message with its values."""
        text = self.messages.get(message, message)
        return text.format(**values) if values else text

    def several(self, one: str, more: str, count: int, /, **values: object) -> str:
        """One of two messages by a count, which they may name as {count}."""
        return self(one if count == 1 else more, count=count, **values)

    def day(self, day: date, since: date | None = None) -> str:
        """A day as people say it; with the year unless it is that of `since`."""
        return spoken(day, since)


ENGLISH = Words()
