"""What an answer costs and what it breaks: the one place that says so.

Solvers keep sums of their own while they search; whatever they propose is judged here again.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from fleetcare.plan.problem import Answer, Problem


@dataclass(frozen=True, slots=True)
class Score:
    """An answer's worth; everything but the counts in hundredths of a workshop minute.

    `late` are the precursors after their due day or without one, `late_days` their days after it
    (to the end of the days where they have none), `left_out` the jobs without a day. `cost` is the
    sum of the five parts before it: boats in, access opened, the jobs' own by their day, jobs left
    out, days moved.
    """

    late: int
    late_days: int
    left_out: int
    boat_days: int
    access: int
    jobs: int
    leaving: int
    moving: int

    @property
    def cost(self) -> int:
        """Everything paid."""
        return self.boat_days + self.access + self.jobs + self.leaving + self.moving

    @property
    def key(self) -> tuple[int, int, int, int]:
        """What plans are compared by, the lesser the better, the first difference deciding."""
        return (self.late, self.late_days, self.left_out, self.cost)


def days_late(problem: Problem, job: int, day: int | None) -> int:
    """The days a job stands after its due day, 0 in time; without a day, those to the end."""
    due = problem.jobs[job].due
    if due is None:
        return 0
    return max(0, (problem.days if day is None else day) - due)


def evaluate(problem: Problem, answer: Answer) -> Score:
    """The score of an answer, whether or not it keeps the limits."""
    late = late_days = left_out = jobs = leaving = moving = 0
    for number, (job, day) in enumerate(zip(problem.jobs, answer, strict=True)):
        if job.precursor:
            after = days_late(problem, number, day)
            late += after > 0
            late_days += after
        if day is None:
            left_out += 1
            leaving += job.unplaced
        else:
            jobs += job.costs[day]
        if problem.kept and problem.kept[number] is not None and problem.kept[number] != day:
            moving += problem.moving
    boats = {
        (problem.benches[job.engine].boat, day)
        for job, day in zip(problem.jobs, answer, strict=True)
        if day is not None and problem.benches[job.engine].boat is not None
    }
    opened = sum(
        minutes_of(problem, engine, access)
        for (engine, _), access in visits(problem, answer).items()
    )
    return Score(
        late,
        late_days,
        left_out,
        len(boats) * problem.boat_day,
        100 * opened,
        jobs,
        leaving,
        moving,
    )


def visits(problem: Problem, answer: Answer) -> dict[tuple[int, int], int]:
    """The access steps opened, as bits, by engine and day."""
    found: dict[tuple[int, int], int] = {}
    for job, day in zip(problem.jobs, answer, strict=True):
        if day is not None:
            found[job.engine, day] = found.get((job.engine, day), 0) | job.access
    return found


def minutes_of(problem: Problem, engine: int, access: int) -> int:
    """The minutes that opening these steps of an engine takes."""
    steps = problem.benches[engine].steps
    return sum(minutes for bit, minutes in enumerate(steps) if access >> bit & 1)


@dataclass(slots=True)
class Used:
    """What jobs with a day take of minutes, boats and supplies, counted up one by one."""

    problem: Problem
    minutes: dict[tuple[int, int], int] = field(default_factory=dict)
    boats: dict[tuple[int, int], set[int]] = field(default_factory=dict)
    items: dict[int, list[int]] = field(default_factory=dict)
    opened: dict[tuple[int, int], int] = field(default_factory=dict)

    def add(self, job: int, day: int) -> None:
        """Count one job in."""
        what = self.problem.jobs[job]
        bench = self.problem.benches[what.engine]
        before = self.opened.get((what.engine, day), 0)
        self.opened[what.engine, day] = before | what.access
        new = what.access & ~before
        at = (bench.place, day)
        taken = what.minutes + minutes_of(self.problem, what.engine, new)
        self.minutes[at] = self.minutes.get(at, 0) + taken
        if bench.boat is not None:
            self.boats.setdefault(at, set()).add(bench.boat)
        for item, count in items_of(self.problem, job, new):
            self.items.setdefault(item, [0] * self.problem.days)[day] += count

    def lacking(self) -> tuple[str, ...]:
        """Every limit gone over, in words."""
        places = self.problem.places
        found = [
            f"{places[place].name}: {taken} minutes on day {day} of {places[place].minutes[day]}"
            for (place, day), taken in sorted(self.minutes.items())
            if taken > places[place].minutes[day]
        ]
        found += [
            f"{places[place].name}: {len(boats)} boats on day {day} of {places[place].boats_out}"
            for (place, day), boats in sorted(self.boats.items())
            if len(boats) > places[place].boats_out
        ]
        for item, by_day in sorted(self.items.items()):
            supply, total = self.problem.supplies[item], 0
            for day, count in enumerate(by_day):
                total += count
                if total > supply.by_day[day]:
                    found.append(
                        f"{supply.item}: {total} used by day {day} of {supply.by_day[day]}"
                    )
                    break
        return tuple(found)


def items_of(problem: Problem, job: int, steps: int) -> tuple[tuple[int, int], ...]:
    """The items a job uses up, and those that opening these steps for it does."""
    engine = problem.jobs[job].engine
    opening = problem.opening[engine] if problem.opening else ()
    opened = (pair for bit, pairs in enumerate(opening) if steps >> bit & 1 for pair in pairs)
    return (*problem.jobs[job].uses, *opened)


def barred(problem: Problem, job: int, day: int) -> str:
    """Why a job may not stand on a day whatever else does; nothing where it may."""
    what = problem.jobs[job]
    bench = problem.benches[what.engine]
    if not problem.places[bench.place].minutes[day]:
        return "closed"
    if bench.boat is not None and day in problem.busy[bench.boat]:
        return "booked"
    return "" if day in what.allowed else "not allowed"


def staying(problem: Problem) -> tuple[int, ...]:
    """The jobs that stay on their kept day because it is near, rising.

    Those whose days no longer fit together are let go, the later days first and then by name;
    so are those that would come before what holds the engine now.
    """
    near = [
        job
        for job, day in enumerate(problem.kept)
        if day is not None and day < problem.frozen and not barred(problem, job, day)
    ]
    near.sort(key=lambda job: (problem.kept[job] or 0, *name_of(problem, job)))
    firsts = firsts_of(problem)
    stay: list[int] = []
    used = Used(problem)
    for holding in (True, False):
        for job in near:
            day = problem.kept[job] or 0
            if problem.jobs[job].first is not holding:
                continue
            if not holding and not _held_off(problem, firsts, job, day, stay):
                continue
            used.add(job, day)
            if used.lacking():
                used = Used(problem)
                for other in stay:
                    used.add(other, problem.kept[other] or 0)
            else:
                stay.append(job)
    return tuple(sorted(stay))


def firsts_of(problem: Problem) -> dict[int, list[int]]:
    """The jobs that hold each engine."""
    found: dict[int, list[int]] = {}
    for number, job in enumerate(problem.jobs):
        if job.first:
            found.setdefault(job.engine, []).append(number)
    return found


def name_of(problem: Problem, job: int) -> tuple[str, str]:
    """The engine and the task of a job, by which jobs are told apart and ties are settled."""
    return problem.benches[problem.jobs[job].engine].name, problem.jobs[job].task


def _held_off(
    problem: Problem, firsts: dict[int, list[int]], job: int, day: int, stay: list[int]
) -> bool:
    return all(
        first in stay and (problem.kept[first] or 0) <= day
        for first in firsts.get(problem.jobs[job].engine, ())
    )


def breaks(problem: Problem, answer: Answer) -> tuple[str, ...]:
    """Every hard limit that an answer breaks, in words; nothing for a plan that can be done."""
    found = []
    used = Used(problem)
    for job, day in enumerate(answer):
        if day is None:
            continue
        if not 0 <= day < problem.days:
            found.append(f"{_words(problem, job)}: day {day} is none of the days")
            continue
        why = barred(problem, job, day)
        if why:
            found.append(f"{_words(problem, job)}: day {day} is {why}")
        used.add(job, day)
    found += used.lacking()
    found += _before_hold(problem, answer)
    found += [
        f"{_words(problem, job)}: stays on day {problem.kept[job]}"
        for job in staying(problem)
        if answer[job] != problem.kept[job]
    ]
    return tuple(found)


def _before_hold(problem: Problem, answer: Answer) -> list[str]:
    found = []
    firsts = firsts_of(problem)
    for number, (job, day) in enumerate(zip(problem.jobs, answer, strict=True)):
        if job.first or day is None:
            continue
        for first in firsts.get(job.engine, ()):
            on = answer[first]
            if on is None or on > day:
                found.append(f"{_words(problem, number)}: comes before {problem.jobs[first].task}")
    return found


def _words(problem: Problem, job: int) -> str:
    return " ".join(name_of(problem, job))
