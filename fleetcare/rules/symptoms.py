"""What tracing a fault goes by: symptoms, their causes, the looks that tell causes apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

OTHER = "other"  # the cause nobody thought of; it never vanishes


@dataclass(frozen=True, slots=True)
class Raise:
    """Something on the record that makes a cause so many times as likely.

    `by` says which of the other fields counts. It no longer does once one of the jobs in `until`
    was logged since, or after `days`; `times` is how often it must have been.
    """

    by: str
    factor: Fraction
    name: str = ""
    conditions: tuple[str, ...] = ()
    waters: tuple[str, ...] = ()
    number: int = 0
    times: int = 1
    days: int | None = None
    until: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause: its share of 100, the jobs that prevent it, those that put it right."""

    name: str
    title: str
    share: Fraction
    jobs: tuple[str, ...] = ()
    remedy: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    raised: tuple[Raise, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a look may show, and what it means.

    `found` is the part and the condition to log, `incident` what happened; `proves` is the cause
    it shows; `stop` says that the engine must not run; `lifts` names answers ("look=outcome")
    whose stop it lifts.
    """

    word: str
    means: str
    found: tuple[str, str] | None = None
    count: bool = False
    incident: str = ""
    proves: str = ""
    stop: str = ""
    lifts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """A test: a question, a look by hand or a run, its minutes beyond access, its outcomes.

    `given` holds per cause the chance of each outcome, in the order of `outcomes`; `usual` those
    of every cause without its own. `first` is asked before any choosing; one not `offered` is
    only taken when told; `after` names the looks to make before it; one `instead_of` another comes
    before any choosing where that other could not be answered; only those `from_record` may be
    answered by a finding in the log.
    """

    name: str
    kind: str
    asks: str
    minutes: int
    outcomes: tuple[Outcome, ...]
    usual: tuple[Fraction, ...]
    given: Mapping[str, tuple[Fraction, ...]]
    first: bool = False
    offered: bool = True
    wait_hours: int = 0
    access: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    instead_of: str = ""
    from_record: bool = True
    needs: tuple[str, ...] = ()
    who: str = "anyone"
    cautions: tuple[str, ...] = ()
    source: str = ""

    def chances(self, cause: str) -> tuple[Fraction, ...]:
        """The chance of each outcome where that is the cause."""
        return self.given.get(cause, self.usual)

    def outcome(self, word: str) -> Outcome:
        """The outcome of that word."""
        return next(item for item in self.outcomes if item.word == word)


@dataclass(frozen=True, slots=True)
class Symptom:
    """A symptom: what to do first, its causes, `other` among them, its looks and their cautions."""

    name: str
    title: str
    first: tuple[str, ...]
    causes: tuple[Cause, ...]
    looks: tuple[Look, ...]
    cautions: tuple[str, ...] = ()
    source: str = ""

    def look(self, name: str) -> Look:
        """The look of that name."""
        return next(item for item in self.looks if item.name == name)


@dataclass(frozen=True, slots=True)
class Tracing:
    """The whole file: symptoms, common cautions by kind of look, what the record does to shares.

    `life` holds steps: from that life used of a job on, its causes count times so much.
    """

    symptoms: Mapping[str, Symptom]
    cautions: Mapping[str, tuple[str, ...]]
    life: tuple[tuple[Fraction, Fraction], ...]
    no_record: Fraction
    overdue: Fraction
    days: int
