"""Sentences that keep what they were made of, so that a page can say them in another language."""

from __future__ import annotations

from collections.abc import Mapping


class Said(str):
    """A sentence in English, with its message and the values that stand in it.

    It is the English text wherever a text is wanted. `more` is the message for several, chosen by
    the value named `count`, and empty where there is none. Days among the values stand as ISO.
    """

    __slots__ = ("message", "more", "values")
    message: str
    more: str
    values: Mapping[str, object]

    def __new__(cls, message: str, /, more: str = "", **values: object) -> Said:
        """The sentence of a message, or of `more` when `count` is given and not 1."""
        chosen = more if more and values.get("count") != 1 else message
        made = super().__new__(cls, chosen.format(**values))
        made.message, made.more, made.values = message, more, values
        return made
