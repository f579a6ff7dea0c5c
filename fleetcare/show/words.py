"""The words of pages, sheets and labels in the reader's language; English is the message itself.

A message is written in English where it is used, as gettext has it: `words("Due by {day}",
day=...)`. A language is a file of translated messages (`words_de.po`); what it lacks stands in
English. How it counts, and which signs stand in its numbers, the file says in its head.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cache
from importlib.resources import files

from fleetcare.fleet.days import MONTHS
from fleetcare.fleet.figures import shown
from fleetcare.fleet.said import Said
from fleetcare.fleet.settings import LANGUAGES

# What no call names by itself: days, lists, and the words that other rooms hand over.
MESSAGES: tuple[str, ...] = (
    *MONTHS, "{day} {month}", "{day} {month} {year}", "{first} and {last}", "{first} or {last}",
    "{first} to {last}", "from {first} on", "overdue", "no record", "due", "clear", "fresh",
    "brackish", "salt", "powerhead", "mid-section", "gearcase", "carburettor", "ignition",
    "fuel pump", "lower cowling", "hire", "club", "owner", "overheating", "seized swivel",
)  # fmt: skip
ISOLATE, ISOLATED = "\u2068", "\u2069"
_TURNED = ("R", "AL")  # the directions of letters written from right to left


@dataclass(frozen=True, slots=True)
class Words:
    """One language: its messages, how it counts, and how it writes days and numbers.

    `plurals` are the forms of a message that has several, by its English for one; `form` says
    which of them a count takes. `point` and `group` stand in numbers.
    """

    language: str = "en"
    messages: Mapping[str, str] = field(default_factory=dict)
    plurals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    form: Callable[[int], int] = field(default=lambda count: int(count != 1))
    point: str = "."
    group: str = ","

    def __call__(self, message: str, /, **values: object) -> str:
        """A message with its values."""
        text = self.messages.get(message, message)
        return text.format(**values) if values else text

    def several(self, one: str, more: str, count: int, /, **values: object) -> str:
        """One of a message's forms by a count, which they may name as {count}."""
        values = {"count": self.number(count), **values}
        forms = self.plurals.get(one)
        if forms is None:
            return self(one if count == 1 else more, **values)
        return forms[self.form(count)].format(**values)

    def again(self, text: str, since: date | None = None) -> str:
        """A sentence of another room; any text that is none stays as it is.

        Days stand with their year unless it is that of `since`.
        """
        if not isinstance(text, Said):
            return text
        values = {name: self._value(value, since) for name, value in text.values.items()}
        count = text.values.get("count")
        if text.more and isinstance(count, int):
            return self.several(text.message, text.more, count, **values)
        return self(text.message, **values)

    def _value(self, value: object, since: date | None) -> str:
        if isinstance(value, date):
            return self.day(value, since)
        if isinstance(value, int):
            return self.number(value)
        return self.again(value, since) if isinstance(value, Said) else self(str(value))

    def day(self, day: date, since: date | None = None) -> str:
        """A day as people say it; with the year unless it is that of `since`."""
        month = self(MONTHS[day.month - 1])
        if since is not None and day.year == since.year:
            return self("{day} {month}", day=day.day, month=month)
        return self("{day} {month} {year}", day=day.day, month=month, year=day.year)

    def span(self, first: date | None, last: date | None, since: date | None = None) -> str:
        """From one day to another; without a first day nothing, without a last one for good."""
        if first is None:
            return ""
        if last is None:
            return self("from {first} on", first=self.day(first, since))
        begin = self.day(first, since if first.year == last.year else None)
        return self("{first} to {last}", first=begin, last=self.day(last, since))

    def number(self, value: int | Fraction, decimals: int = 0) -> str:
        """A number with no needless zeros: 1,234.5."""
        return self._written(shown(value * 100, decimals))

    def hours(self, hundredths: int | Fraction, decimals: int = 1) -> str:
        """Hundredths of an hour, or of any unit, as a number: 123450 is 1,234.5."""
        return self._written(shown(hundredths, decimals))

    def percent(self, share: Fraction) -> str:
        """A share of life as per cent, 100 only when it is reached and never when passed."""
        from fleetcare.show.values import percent

        whole, _, sign = percent(share).partition(" ")
        return f"{self._written(whole)}\u00a0{sign}"

    def _written(self, number: str) -> str:
        whole, point, rest = number.partition(".")
        sign, digits = whole[: whole.startswith("-")], whole.removeprefix("-")
        head = len(digits) % 3 or 3
        grouped = self.group.join(
            [digits[:head], *(digits[at : at + 3] for at in range(head, len(digits), 3))]
        )
        return f"{sign}{grouped}{self.point}{rest}" if point else f"{sign}{grouped}"

    def all_of(self, items: Sequence[str]) -> str:
        """A list in a sentence: a, b and c."""
        return self._listed("{first} and {last}", items)

    def any_of(self, items: Sequence[str]) -> str:
        """Any of some, in a sentence: a, b or c."""
        return self._listed("{first} or {last}", items)

    def _listed(self, message: str, items: Sequence[str]) -> str:
        if len(items) < 2:
            return "".join(items)
        return self(message, first=", ".join(items[:-1]), last=items[-1])


ENGLISH = Words()


@cache
def language(name: str) -> Words:
    """The words of a language by its code; English is there without a file.

    Raises ValueError for a language that has none.
    """
    from fleetcare.show.words_po import read_po

    if name == "en":
        return ENGLISH
    if name not in LANGUAGES:
        raise ValueError(f"no words of {name!r}")
    text = files("fleetcare.show").joinpath(f"words_{name}.po").read_text(encoding="utf-8")
    table = read_po(text)
    return Words(name, table.messages, table.plurals, table.form, table.point, table.group)


def isolated(name: str) -> str:
    """A name kept together inside a sentence, where it is written from right to left."""
    if any(unicodedata.bidirectional(char) in _TURNED for char in name):
        return f"{ISOLATE}{name}{ISOLATED}"
    return name
