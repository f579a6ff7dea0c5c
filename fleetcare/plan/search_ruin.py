"""Which jobs to take off a plan together, so that putting them back may find a better one."""

from __future__ import annotations

from fleetcare.plan.search_board import NO_VISIT, Board
from fleetcare.plan.search_case import NEVER
from fleetcare.plan.search_dice import Dice


class Ruin:
    """Chooses jobs out of those that may move."""

    __slots__ = ("board", "dice", "jobs", "movable", "order")

    def __init__(self, board: Board, jobs: frozenset[int], dice: Dice) -> None:
        self.board = board
        self.jobs = jobs
        self.order = sorted(jobs)
        self.movable = [[job for job in mine if job in jobs] for mine in board.case.jobs]
        self.dice = dice

    def some(self) -> list[int]:
        """A few jobs that compete for the same days, some of them maybe without one."""
        kind = self.dice.below(8)
        if kind < 2:
            want = self._in_want()
            if want:
                return self._make_way(want[self.dice.below(len(want))])
        seed = self.order[self.dice.below(len(self.order))]
        if kind < 5:
            return self._engines(seed, 1 + self.dice.below(3))
        return self._days(seed, 2 + self.dice.below(4))

    def _in_want(self) -> list[int]:
        """Jobs without a day, and precursors that stand late."""
        case, days = self.board.case, self.board.day
        late = case.weights.late
        return [
            job
            for job in self.order
            if days[job] == NEVER or (case.precursor[job] and case.at[job][days[job]] >= late)
        ]

    def _make_way(self, job: int) -> list[int]:
        """A job, those of its engine, and what stands on one of its better days."""
        case = self.board.case
        engine = case.engine[job]
        found = list(self.movable[engine])
        choices = case.choices[job]
        if choices:
            now = self.board.day[job]
            limit = case.leaving[job] if now == NEVER else case.at[job][now]
            better = [day for cost, day in choices if cost < limit and day != now]
            if better:
                day = better[self.dice.below(min(len(better), 12))]
                found += self._on(day, engine)
        return found

    def _on(self, day: int, beside: int) -> list[int]:
        return [
            job
            for engine, mine in enumerate(self.movable)
            if engine != beside and self.board.opened[engine][day] != NO_VISIT
            for job in mine
            if self.board.day[job] == day
        ]

    def _engines(self, seed: int, count: int) -> list[int]:
        """All jobs of a few engines that come in near one day."""
        board = self.board
        engine = board.case.engine[seed]
        found = list(self.movable[engine])
        day = board.day[seed]
        if day == NEVER or count == 1:
            return found
        for other in self._near(day, engine, count - 1):
            found += self.movable[other]
        return found

    def _near(self, day: int, beside: int, count: int) -> list[int]:
        """Engines with a visit near a day, the nearest first, ties by chance."""
        opened = self.board.opened
        found: list[int] = []
        for away in range(8):
            these = [
                engine
                for engine in range(len(opened))
                if engine != beside
                and engine not in found
                and self.movable[engine]
                and any(
                    0 <= on < len(opened[engine]) and opened[engine][on] != NO_VISIT
                    for on in {day - away, day + away}
                )
            ]
            self.dice.shuffle(these)
            found += these
            if len(found) >= count:
                break
        return found[:count]

    def _days(self, seed: int, count: int) -> list[int]:
        """The jobs of a few visits near one day."""
        board = self.board
        day = board.day[seed]
        engine = board.case.engine[seed]
        if day == NEVER:
            return list(self.movable[engine])
        found = [job for job in self.movable[engine] if board.day[job] == day]
        for other in self._near(day, engine, count - 1):
            near = [
                job
                for job in self.movable[other]
                if board.day[job] != NEVER and abs(board.day[job] - day) < 8
            ]
            found += near
        return found
