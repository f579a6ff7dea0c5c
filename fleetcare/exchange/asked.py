"""What a person said of a sheet, and the questions a sheet leaves open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.errors import RefusedError


@dataclass(frozen=True, slots=True)
class Asked:
    """How the sheets are to be read, where they do not say it themselves.

    `maps` are (meaning, heading), `names` (as the sheet writes it, as the fleet does). `dates` is
    dmy, mdy or ymd, `hours` total or daily, `decimal` a point or a comma, `serials` 1900 or 1904.
    `fill_down` are meanings whose blanks repeat the cell above, `engine` is the one of all rows.
    With `once` equal runs are one; with `again` a job logged within a day already is another.
    `today`, where it is known, tells which days are still to come.
    """

    maps: tuple[tuple[str, str], ...] = ()
    names: tuple[tuple[str, str], ...] = ()
    sheets: tuple[str, ...] = ()
    encoding: str = ""
    delimiter: str = ""
    dates: str = ""
    year: int | None = None
    serials: str = ""
    decimal: str = ""
    hours: str = ""
    fill_down: tuple[str, ...] = ()
    engine: str = ""
    once: bool = False
    again: bool = False
    by: str = ""
    today: date | None = None


class UndecidedError(RefusedError):
    """A sheet can be read in several ways; nothing is guessed, the person decides.

    `option` is the command line's, `choices` are (value, what it means).
    """

    def __init__(
        self, where: str, what: str, option: str, choices: tuple[tuple[str, str], ...]
    ) -> None:
        self.where, self.what, self.option, self.choices = where, what, option, choices
        super().__init__(where, what)

    def __str__(self) -> str:
        ways = "\n".join(
            f"  --{self.option} {_quoted(value)}  {meaning}".rstrip()
            for value, meaning in self.choices
        )
        return f"{self.where}: {self.what}. Say which:\n{ways}"


def _quoted(value: str) -> str:
    return f'"{value}"' if not value or set(value) & set(" ;|\t'\"$&<>()*?!#") else value
