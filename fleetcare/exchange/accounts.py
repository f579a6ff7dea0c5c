"""What became of every row: taken, there already, skipped or refused, and why."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from fleetcare.errors import Fault, FaultsError
from fleetcare.log.entries import Entry

TAKEN, THERE, SKIPPED, REFUSED = "taken", "there already", "skipped", "refused"
VERDICTS = (TAKEN, THERE, SKIPPED, REFUSED)
# The headings that a table of refused rows has beside its own; they are not read again.
WHERE, WHY = "fleetcare: row", "fleetcare: refused because"
REPORT_HEADS = (WHERE, WHY)
PLACE = re.compile(r"(.*?)([:!])(\d+)(: .*)?", re.DOTALL)  # file or sheet, mark, row, a column


def source_of(place: str) -> str:
    """The file, and the sheet within it, of a row's place."""
    match = PLACE.fullmatch(place)
    return match[1] if match else place


def row_of(place: str) -> int:
    """The number of the row."""
    match = PLACE.fullmatch(place)
    return int(match[3]) if match else 0


@dataclass(frozen=True, slots=True)
class Account:
    """One row's end: where it stands, the verdict, the cell's heading, why, what mends it.

    `more` is what else is wrong with the same row, `entries` what it was read as.
    """

    place: str
    verdict: str
    what: str = ""
    column: str = ""
    mend: str = ""
    more: tuple[Fault, ...] = ()
    entries: tuple[Entry, ...] = ()

    @property
    def fault(self) -> Fault:
        """A refusal as a fault."""
        where = f"{self.place}: {self.column}" if self.column else self.place
        return Fault(where, self.what, self.mend)


@dataclass(slots=True)
class Report:
    """What became of every row.

    `taken` counts by table or kind of entry, `entries` those of the log. `doubts` are places worth
    a look, by what is to be looked at; `sources` the files in the order given. A `last:` cell of an
    engine's row that is taken counts as a row of its own: it is a job.
    """

    rows: int = 0
    taken: Counter[str] = field(default_factory=Counter)
    entries: int = 0
    there_already: int = 0
    skipped: int = 0
    left_out: list[Fault] = field(default_factory=list)
    accounts: list[Account] = field(default_factory=list)
    doubts: dict[str, list[str]] = field(default_factory=dict)
    sources: list[str] = field(default_factory=list)

    def in_order(self) -> list[Account]:
        """The accounts of all rows: file by file as they were given, row by row."""
        ranks = {source: rank for rank, source in enumerate(self.sources)}

        def key(account: Account) -> tuple[int, int]:
            return ranks.setdefault(source_of(account.place), len(ranks)), row_of(account.place)

        return sorted(self.accounts, key=key)

    def take(self, place: str, table: str, entries: tuple[Entry, ...] = ()) -> None:
        """A row was taken."""
        self.taken[table] += 1
        self.entries += len(entries)
        self.accounts.append(Account(place, TAKEN, entries=entries))

    def there(self, place: str, entries: tuple[Entry, ...] = ()) -> None:
        """A row says what the fleet holds already."""
        self.there_already += 1
        self.accounts.append(Account(place, THERE, entries=entries))

    def skip(self, place: str, why: str) -> None:
        """A row holds nothing to take."""
        self.skipped += 1
        self.accounts.append(Account(place, SKIPPED, why))

    def refuse(self, place: str, fault: Fault, more: tuple[Fault, ...] = ()) -> None:
        """A row cannot be taken."""
        account = Account(place, REFUSED, fault.what, fault.where, fault.mend, more)
        self.left_out.append(account.fault)
        self.accounts.append(account)

    def doubt(self, what: str, place: str) -> None:
        """A row was taken, but is worth a look."""
        self.doubts.setdefault(what, []).append(place)


class RowsRefusedError(FaultsError):
    """Rows were refused, so nothing was taken; `report` accounts for every row."""

    def __init__(self, report: Report) -> None:
        super().__init__(report.left_out)
        self.report = report
