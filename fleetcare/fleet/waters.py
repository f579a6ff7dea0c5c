"""The three waters, ordered by how hard they are on an engine."""

from __future__ import annotations

from enum import IntEnum


class Water(IntEnum):
    """Fresh, brackish, salt: the larger is the stricter."""

    FRESH = 0
    BRACKISH = 1
    SALT = 2

    @property
    def word(self) -> str:
        """The word people use."""
        return self.name.lower()


WORDS: tuple[str, ...] = tuple(water.word for water in Water)


def water_of(word: str) -> Water | None:
    """The water a word names, or None."""
    folded = word.strip().casefold()
    return Water(WORDS.index(folded)) if folded in WORDS else None
