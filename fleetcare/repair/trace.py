"""Tracing a fault: what the record and the answers make likely, when to stop, what to look at next.

Every chance comes from shares that are a judgement, not statistics.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from fleetcare.fleet.engines import Engine
from fleetcare.log.history import Seen
from fleetcare.repair.trace_bayes import chances, outcome_chances, speaks
from fleetcare.repair.trace_order import Choice, next_look, with_included
from fleetcare.repair.trace_record import Conditions, Reason, Record, recalled, weigh, word_for
from fleetcare.rules.rule import Access, RuleSet
from fleetcare.rules.symptoms import OTHER, Cause, Look, Outcome, Symptom, Tracing

SPEAKS_FOR, SPEAKS_AGAINST = Fraction(3, 2), Fraction(1, 2)
# The answers fit nothing well when "something else" has so large a share, or when one of them is
# seen so much more seldom under the likeliest cause than under all: our judgement.
FITS_NONE, FITS_ILL = Fraction(1, 4), Fraction(1, 5)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a look showed: the outcome's word, and how many pieces where it asks for them."""

    word: str
    pieces: int | None = None


@dataclass(frozen=True, slots=True)
class Sign:
    """A look's outcome that speaks for a cause, or against it; `day` when it is the record's."""

    look: str
    what: str
    is_for: bool
    day: int | None = None


@dataclass(frozen=True, slots=True)
class Likely:
    """A cause, its chance as things stand, and why: the record's reasons, the looks' signs."""

    cause: Cause
    chance: Fraction
    reasons: tuple[Reason, ...]
    signs: tuple[Sign, ...]


@dataclass(frozen=True, slots=True)
class Tell:
    """An outcome the next look may have: its chance, and what would then be likeliest."""

    outcome: Outcome
    chance: Fraction
    then: Cause
    then_chance: Fraction


@dataclass(frozen=True, slots=True)
class ToLog:
    """What was seen, in the words the log takes: a part's condition, or an incident's kind."""

    part: str = ""
    condition: str = ""
    count: int | None = None
    incident: str = ""


@dataclass(frozen=True, slots=True)
class Traced:
    """How far the trace has come."""

    symptom: Symptom
    answers: Mapping[str, Answer]
    skipped: tuple[str, ...]
    remembered: Mapping[str, Seen]
    stops: tuple[str, ...]
    causes: tuple[Likely, ...]
    proved: tuple[Cause, ...]
    on_record: tuple[Cause, ...]
    doubtful: tuple[Sign, ...]
    next: Choice | None
    tells: tuple[Tell, ...]
    cautions: tuple[str, ...]
    to_log: tuple[ToLog, ...]


def narrowed(symptom: Symptom, ruleset: RuleSet, engine: Engine) -> Symptom:
    """The symptom without causes and looks of parts that the engine does not have."""

    def has(needs: Sequence[str]) -> bool:
        rules = [ruleset.rules[task] for task in needs if task in ruleset.rules]
        return all(rule.name not in engine.without and rule.fits.engine(engine) for rule in rules)

    causes = tuple(cause for cause in symptom.causes if has(cause.needs))
    there = {cause.name for cause in causes}
    looks = []
    for look in symptom.looks:
        if has(look.needs):
            outcomes = tuple(
                item if item.proves in there else replace(item, proves="") for item in look.outcomes
            )
            looks.append(replace(look, outcomes=outcomes))
    return replace(symptom, causes=causes, looks=tuple(looks))


def trace(
    symptom: Symptom,
    tracing: Tracing,
    record: Record,
    conditions: Conditions,
    steps: Mapping[str, Access],
    answers: Mapping[str, Answer],
    skipped: Collection[str] = (),
) -> Traced:
    """Where the answers lead, whatever order they came in; `skipped` looks are not asked again.

    An answer takes the place of what the record remembers of that look.
    """
    past = {
        name: item
        for name, item in recalled(symptom, tracing, record, conditions).items()
        if name not in answers
    }
    words = {look.name: _word(look, answers, past) for look in symptom.looks}
    known = {name: word for name, word in words.items() if word is not None}
    told = {_found(symptom, name, word) for name, word in known.items()} - {None}
    weighed = weigh(symptom, tracing, record, [item for item in told if item is not None])
    weights = {name: weight for name, (weight, _) in weighed.items()}
    now = chances(symptom, weights, known)
    signs = _signs(symptom, known, past)
    causes = sorted(
        (
            Likely(cause, now[cause.name], tuple(weighed[cause.name][1]), tuple(signs[cause.name]))
            for cause in symptom.causes
        ),
        key=lambda likely: -likely.chance,
    )
    stops = _stops(symptom, known)
    proved = _proved(symptom, {name: answer.word for name, answer in answers.items()})
    choice = None if proved else _next(symptom, known, answers, skipped, now, steps, bool(stops))
    return Traced(
        symptom, dict(answers), tuple(skipped), past, stops, tuple(causes), proved,
        _proved(symptom, {name: known[name] for name in past}),
        _doubtful(symptom, causes, known) if len(known) > 1 else (),
        choice,
        _tells(symptom, weights, known, choice.look, now) if choice else (),
        _cautions(symptom, choice, tracing, steps) if choice else (),
        _to_log(symptom, answers, record),
    )  # fmt: skip


def mended(symptom: Symptom, answers: Mapping[str, Answer]) -> dict[str, Answer]:
    """The answers once what was proved is put right: those looks good now, the stream seen anew."""
    kept: dict[str, Answer] = {}
    for name, answer in answers.items():
        look = symptom.look(name)
        if look.outcome(answer.word).proves:
            kept[name] = Answer(look.outcomes[0].word)
        elif not look.first and look.kind != "run":
            kept[name] = answer
    return kept


def _word(look: Look, answers: Mapping[str, Answer], past: Mapping[str, Seen]) -> str | None:
    if look.name in answers:
        return answers[look.name].word
    item = past.get(look.name)
    return None if item is None else word_for(look, item.part, item.condition)


def _found(symptom: Symptom, name: str, word: str) -> tuple[str, str] | None:
    return symptom.look(name).outcome(word).found


def _stops(symptom: Symptom, known: Mapping[str, str]) -> tuple[str, ...]:
    """What forbids the engine to run, the looks' order kept."""
    outcomes = {name: symptom.look(name).outcome(word) for name, word in known.items()}
    lifted = {answer for outcome in outcomes.values() for answer in outcome.lifts}
    return tuple(
        outcome.stop
        for name, outcome in outcomes.items()
        if outcome.stop and f"{name}={outcome.word}" not in lifted
    )


def _proved(symptom: Symptom, known: Mapping[str, str]) -> tuple[Cause, ...]:
    names = [symptom.look(name).outcome(word).proves for name, word in known.items()]
    return tuple(cause for cause in symptom.causes if cause.name in names)


def _signs(
    symptom: Symptom, known: Mapping[str, str], past: Mapping[str, Seen]
) -> dict[str, list[Sign]]:
    """By cause, the outcomes seen much oftener or more seldom under it than under all of them."""
    signs: dict[str, list[Sign]] = {cause.name: [] for cause in symptom.causes}
    shares = {cause.name: cause.share for cause in symptom.causes}
    for name, word in known.items():
        day = past[name].day if name in past else None
        what = seen_words(symptom.look(name), word)
        for cause in signs:
            times = speaks(symptom, shares, cause, name, word)
            if times >= SPEAKS_FOR or times <= SPEAKS_AGAINST:
                signs[cause].append(Sign(name, what, times >= SPEAKS_FOR, day))
    return signs


def seen_words(look: Look, word: str) -> str:
    """What was seen, as a person says it: impeller vanes missing, tank run: strong."""
    found = look.outcome(word).found
    if found is None or look.kind == "run":
        return f"{look.name}: {word}"
    return f"{found[0]} {word}"


def _doubtful(
    symptom: Symptom, causes: Sequence[Likely], known: Mapping[str, str]
) -> tuple[Sign, ...]:
    """The answers that speak against the likeliest cause, where none fits them all well."""
    other = next(likely.chance for likely in causes if likely.cause.name == OTHER)
    best = next(likely for likely in causes if likely.cause.name != OTHER)
    shares = {cause.name: cause.share for cause in symptom.causes}
    worst = min(
        speaks(symptom, shares, best.cause.name, name, word) for name, word in known.items()
    )
    if other < FITS_NONE and worst > FITS_ILL:
        return ()
    return tuple(sign for sign in best.signs if not sign.is_for)


def _next(
    symptom: Symptom, known: Mapping[str, str], answers: Mapping[str, Answer],
    skipped: Collection[str], now: Mapping[str, Fraction], steps: Mapping[str, Access],
    stopped: bool,
) -> Choice | None:  # fmt: skip
    """First what is always asked first, then by least work; nothing that runs it once stopped."""
    opened = {step for name in answers for step in symptom.look(name).access}
    there = {look.name for look in symptom.looks}
    made = {*answers, *skipped}
    for look in symptom.looks:
        in_turn = look.first or (look.instead_of in skipped and not set(look.after) & there - made)
        if in_turn and look.name not in made and not (stopped and look.kind == "run"):
            closed = with_included(look.access, steps) - with_included(opened, steps)
            minutes = look.minutes + sum(steps[name].minutes for name in closed)
            return Choice(look, minutes, tuple(sorted(closed)), None)
    left = [
        look
        for look in symptom.looks
        if look.offered
        and look.name not in known
        and look.name not in skipped
        and not (stopped and look.kind == "run")
    ]
    return next_look(left, now, opened, steps)


def _tells(
    symptom: Symptom, weights: Mapping[str, Fraction], known: Mapping[str, str], look: Look,
    now: Mapping[str, Fraction],
) -> tuple[Tell, ...]:  # fmt: skip
    found = []
    likely = outcome_chances(symptom, now, look.name)
    for outcome, chance in zip(look.outcomes, likely, strict=True):
        then = chances(symptom, weights, {**known, look.name: outcome.word})
        best = max(symptom.causes, key=lambda cause: then[cause.name])
        found.append(Tell(outcome, chance, best, then[best.name]))
    return tuple(found)


def _cautions(
    symptom: Symptom, choice: Choice, tracing: Tracing, steps: Mapping[str, Access]
) -> tuple[str, ...]:
    """Those of the kind of look, the symptom's, of the access to open, and its own, each once."""
    kind = choice.look.kind
    lines = [*tracing.cautions.get(kind, ()), *(symptom.cautions if kind != "ask" else ())]
    for step in choice.opens:
        lines += steps[step].cautions
    return tuple(dict.fromkeys([*lines, *choice.look.cautions]))


def _to_log(symptom: Symptom, answers: Mapping[str, Answer], record: Record) -> tuple[ToLog, ...]:
    """Incidents first, then findings, each once; not what the record has already."""
    incidents: list[ToLog] = []
    findings: list[ToLog] = []
    for look in symptom.looks:
        if look.name not in answers:
            continue
        outcome = look.outcome(answers[look.name].word)
        if outcome.incident and not record.has_incident(outcome.incident):
            incidents.append(ToLog(incident=outcome.incident))
        if outcome.found:
            count = answers[look.name].pieces if outcome.count else None
            if not record.has_finding(*outcome.found, count):
                findings.append(ToLog(*outcome.found, count))
    return tuple(dict.fromkeys([*incidents, *findings]))
