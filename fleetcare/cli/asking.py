"""The round asked on a terminal: a turn an engine, each answer stored before the next is asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import HOURS_A_DAY, Desk, sentence

if TYPE_CHECKING:
    from fleetcare.flags.round import Answer, Turn
    from fleetcare.log.entries import Entry
    from fleetcare.store.fleet_file import FleetFile

PHONE = 40
YES, NO = ("y", "yes"), ("n", "no")
BACK, ON, STOP = -1, 1, 0
HELP = (
    "A figure as the meter shows it: 61.2. Hires out and in: 9:30-12:15, several with +. "
    "= or 0 did not go out, Enter skips, b goes back, q stops; what was taken is kept."
)
KEYS = "Enter skips, b goes back, q stops, = did not go out, ? helps."


def entry_of(turn: Turn, answer: Answer, by: str) -> Entry:
    """The entry that keeps an answer."""
    from fleetcare.log.entries import Reading, Run

    if answer.is_reading:
        return Reading(on=turn.on, by=by, engine=turn.engine, reading=answer.value)
    return Run(
        on=turn.on, by=by, engine=turn.engine, hours=answer.value, hire_time=answer.hire_time
    )


class Asking:
    """The round under way: whose turn it is, what was taken, which entries hold it."""

    def __init__(
        self, desk: Desk, file: FleetFile, turns: Sequence[Turn], by: str, again: bool
    ) -> None:
        self.desk, self.file, self.by = desk, file, by
        self.turns = [turn for turn in turns if again or not turn.done]
        self.there = len(turns) - len(self.turns)
        self.width = min(PHONE, desk.width())
        self.taken: dict[str, Answer] = {}
        self.numbers: dict[str, list[int]] = {}

    def run(self) -> None:
        """Ask turn by turn, until the last or until told to stop."""
        if not self.turns:
            return
        self._head()
        at = 0
        while at < len(self.turns):
            step = self._ask(at)
            if step == STOP:
                return
            at = max(0, at + step)

    def _head(self) -> None:
        from fleetcare.fleet.days import spoken

        count = len(self.turns)
        day = spoken(self.turns[0].on, self.desk.today())
        self._say(f"Evening of {day}: {count} {'engine' if count == 1 else 'engines'}.")
        if self.there:
            self._say(f"{self.there} taken already; --again asks for all.")
        self._say(KEYS)

    def _say(self, text: str, err: bool = False) -> None:
        from fleetcare.show.table import wrapped

        click.echo(wrapped(text, self.width), err=err)

    def _ask(self, at: int) -> int:
        """One turn: how many turns on or back it leads, 0 to stop."""
        turn = self.turns[at]
        first, *rest = turn.lines()
        click.echo()
        self._say(f"[{at + 1}/{len(self.turns)}] {first}")
        for line in rest:
            self._say(f"  {line}")
        if turn.engine in self.taken:
            self._say(f"  taken: {self.taken[turn.engine].words}; Enter keeps it")
        doubted: Answer | None = None
        while True:
            typed = self._typed(turn, doubted)
            if typed == "" and doubted is None:
                return ON
            step = self._word(typed.lower(), is_first=at == 0)
            if step is not None:
                return step
            answer = doubted if typed.lower() in YES else self._understood(turn, typed)
            if answer is None or not (turn.expects(answer) or answer == doubted):
                doubted = answer
                if answer is not None:
                    self._doubt(turn, answer)
            elif self._take(turn, answer):
                return ON
            else:
                doubted = None

    def _word(self, typed: str, is_first: bool) -> int | None:
        """Where the words for going back and stopping lead; None for any other."""
        if typed == "q":
            return STOP
        if typed == "b" and not is_first:
            return BACK
        if typed == "b":
            self._say("  this is the first")
        if typed == "?":
            self._say(f"  {HELP}")
        return None

    def _typed(self, turn: Turn, doubted: Answer | None) -> str:
        from fleetcare.fleet.figures import shown

        asks = f"  {turn.asks}"
        if doubted is not None:
            asks = f"  y takes {shown(doubted.value)}; or the right one"
        typed: str = click.prompt(asks, default="", show_default=False)
        return typed.strip()

    def _understood(self, turn: Turn, typed: str) -> Answer | None:
        """The answer, or None once it was said why it is none."""
        from fleetcare.errors import Fault

        if typed.lower() in ("", "b", "?", *YES, *NO):
            return None
        answer = turn.answer(typed)
        if isinstance(answer, Fault):
            self._say(f"  {sentence(str(answer))}", err=True)
            return None
        from fleetcare.fleet.figures import shown

        if not answer.is_reading and answer.value > HOURS_A_DAY:
            self._say(f"  not taken: {shown(answer.value)} h, and a day has 24", err=True)
            return None
        if turn.falls(answer):
            self._say(f"  not taken: {shown(answer.value)} is below {shown(turn.last or 0)}")
            self._ways_out(turn, answer)
            return None
        return answer

    def _doubt(self, turn: Turn, answer: Answer) -> None:
        from fleetcare.fleet.figures import shown

        expected = turn.range if answer.is_reading is turn.metered else "hours of one day"
        self._say(f"  {shown(answer.value)} is outside {expected}:")
        self._ways_out(turn, answer)

    def _ways_out(self, turn: Turn, answer: Answer) -> None:
        """What it may be, and the command for it on a line of its own, never torn."""
        for words, command in turn.doubt(answer):
            self._say(f"  - {words}")
            if command:
                click.echo(f"    {command}")

    def _take(self, turn: Turn, answer: Answer) -> bool:
        """Store an answer at once, in place of the one before; False when the log refuses it."""
        from fleetcare.errors import RefusedError
        from fleetcare.store.append import add_entries, withdraw

        old = self._held_by(turn)
        try:
            with self.file.writing(keep=not self.desk.dry_run) as connection:
                if old:
                    today = self.desk.today()
                    withdraw(connection, old, today, self.by, self.desk.stamp())
                numbers = add_entries(
                    connection, [entry_of(turn, answer, self.by)], self.desk.stamp()
                )
        except RefusedError as error:
            for line in str(error).splitlines():
                self._say(f"  {sentence(line)}", err=True)
            return False
        self.taken[turn.engine] = answer
        if self.desk.dry_run:
            self._say(f"  would take: {answer.words}")
            return True
        self.numbers[turn.engine] = numbers
        instead = f", in place of {', '.join(map(str, old))}" if old else ""
        self._say(f"  taken: {answer.words} (entry {numbers[0]}{instead})")
        return True

    def _held_by(self, turn: Turn) -> list[int]:
        """The entries that a new answer takes the place of: the day's reading, or its runs."""
        from fleetcare.log.entries import Reading, Run

        if turn.engine not in self.numbers:
            self.numbers[turn.engine] = [
                item.number
                for item in (self.file.log(turn.engine) if turn.now is not None else [])
                if item.on == turn.on and not item.withdrawn
                and isinstance(item.entry, Reading if turn.metered else Run)
                and getattr(item.entry, "fuel", None) is None
                and (turn.metered or getattr(item.entry, "reading", None) is None)
            ]  # fmt: skip
        return self.numbers[turn.engine]
