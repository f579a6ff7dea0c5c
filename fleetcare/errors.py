"""What can go wrong, in two kinds.

A `Fault` is a value: something the user wrote (a rule file, a row, an entry) that cannot be
taken, with its place and what to write instead. A `FleetcareError` is raised: the program cannot
go on, and its class carries the exit code.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in what the user wrote: where it stands, what is wrong, what to do."""

    where: str
    what: str
    mend: str = ""

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        return f"{text}. {self.mend}" if self.mend else text


class FleetcareError(Exception):
    """The base of every error that is turned into one sentence and an exit code."""

    exit_code = 1


class RefusedError(FleetcareError):
    """What was asked is refused; nothing was written."""


class FaultsError(RefusedError):
    """Several things the user wrote are wrong; all of them are told."""

    def __init__(self, faults: Iterable[Fault], shown: int = 20) -> None:
        self.faults = tuple(faults)
        self.shown = shown
        super().__init__(self.faults)

    def __str__(self) -> str:
        lines = [str(fault) for fault in self.faults[: self.shown]]
        if len(self.faults) > self.shown:
            lines.append(f"and {len(self.faults) - self.shown} more")
        return "\n".join(lines)


class UnusableFileError(FleetcareError):
    """The fleet file cannot be used: damaged, not ours, newer, read-only, disk full."""

    exit_code = 4


class BusyError(FleetcareError):
    """The fleet file was held by another program for longer than the wait."""

    exit_code = 5


class PartlyTakenError(FleetcareError):
    """Some rows of an import were left out, as asked; the report names them."""

    exit_code = 6
