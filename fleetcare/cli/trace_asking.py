"""A trace on a terminal: one test at a time, and nothing kept but the line that resumes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import sentence

if TYPE_CHECKING:
    from fleetcare.cli.trace_case import Case
    from fleetcare.repair.trace import Answer, Traced
    from fleetcare.rules.symptoms import Look

KEYS = "A number or its word; Enter for don't know, b back, q stop, ? the reasons."
BACK, STOP, WHY = "b", "q", "?"


class Asking:
    """The questions under way, and the way back through them."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.asked: list[str] = []
        self.told = False

    def run(self) -> bool:
        """Ask until it is found, nothing is left or told to stop; whether to log what was seen."""
        from fleetcare.show.trace import HANDBOOK, head_text

        traced = self.case.traced()
        click.echo(head_text(traced, self.case.page))
        self._say(HANDBOOK)
        stops = set(traced.stops)
        while True:
            self._show(traced, full=not self.asked)
            if traced.next is None:
                return self._end(traced)
            try:
                more = self._ask(traced.next.look, traced)
            except (click.Abort, EOFError):
                click.echo()
                more = False
            if not more:
                return self._leave()
            traced = self.case.traced()
            if set(traced.stops) - stops:
                click.echo()
                for line in traced.stops:
                    self._say(f"STOP. {line}")
            stops = set(traced.stops)

    def _say(self, text: str) -> None:
        click.echo(self.case.page.fill(text))

    def _show(self, traced: Traced, full: bool) -> None:
        from fleetcare.show.trace import causes_text, next_text

        click.echo()
        click.echo(causes_text(traced, self.case.page, brief=not full))
        click.echo()
        click.echo(next_text(traced, self.case.page, numbered=True))

    def _ask(self, look: Look, traced: Traced) -> bool:
        """One question; False to stop."""
        from fleetcare.errors import RefusedError
        from fleetcare.show.trace import causes_text

        if not self.told:
            self._say(KEYS)
            self.told = True
        while True:
            typed = self._typed(look)
            if typed == STOP:
                return False
            if typed == WHY:
                click.echo(causes_text(traced, self.case.page))
                continue
            if typed == BACK:
                if self._back():
                    return True
                self._say("This is the first.")
                continue
            if not typed:
                self.case.skipped.append(look.name)
            else:
                try:
                    self.case.answers[look.name] = self._counted(look, self._answer(look, typed))
                except RefusedError as error:
                    self._say(sentence(str(error)))
                    continue
            self.asked.append(look.name)
            return True

    def _typed(self, look: Look) -> str:
        typed: str = click.prompt(
            f"{look.name}, 1-{len(look.outcomes)}", default="", show_default=False
        )
        return typed.strip()

    def _answer(self, look: Look, typed: str) -> Answer:
        from fleetcare.cli.trace_case import answer_of
        from fleetcare.repair.trace import Answer

        if typed.isdecimal() and 1 <= int(typed) <= len(look.outcomes):
            return Answer(look.outcomes[int(typed) - 1].word)
        return answer_of(look, typed)

    def _counted(self, look: Look, answer: Answer) -> Answer:
        """The answer with its count, asked for where it is wanted."""
        from dataclasses import replace

        if not look.outcome(answer.word).count or answer.pieces is not None:
            return answer
        pieces = click.prompt(f"how many {answer.word}", type=click.IntRange(1, 999))
        return replace(answer, pieces=pieces)

    def _back(self) -> bool:
        """Take the last answer back."""
        if not self.asked:
            return False
        last = self.asked.pop()
        self.case.answers.pop(last, None)
        if last in self.case.skipped:
            self.case.skipped.remove(last)
        return True

    def _leave(self) -> bool:
        """Stopped: the line that resumes, and how to log what is known."""
        self._say("Nothing is stored. To go on later:")
        click.echo(f"  {self.case.command()}")
        if self.case.traced().to_log:
            self._say("The same with --log logs what was seen.")
        return False

    def _end(self, traced: Traced) -> bool:
        """Found, or nothing left: offer to log it."""
        from fleetcare.show.trace import log_text, mended_text

        click.echo()
        if traced.proved:
            click.echo(mended_text(self.case.page, self.case.command(repaired=True)))
        if not traced.to_log:
            return False
        click.echo(log_text(traced, self.case.page))
        try:
            if click.confirm("Log it now?", default=True):
                return True
        except (click.Abort, EOFError):
            click.echo()
        self._say("Nothing is stored.")
        return False
