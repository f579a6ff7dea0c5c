"""A history as it stood on an earlier day: what had happened by then, and nothing since."""

from __future__ import annotations

from bisect import bisect_right

from fleetcare.log.history import EngineLog, History


def known_by(history: History, day: int) -> History:
    """The part of a whole, sorted history that is dated on or before a day."""
    return History(
        {name: _log_by(log, day) for name, log in history.engines.items()},
        {boat: [move for move in moves if move[0] <= day] for boat, moves in history.moves.items()},
        [swap for swap in history.swaps if swap.day <= day],
        {boat: on for boat, on in history.boats_retired.items() if on <= day},
    )


def _log_by(log: EngineLog, day: int) -> EngineLog:
    figures = bisect_right(log.figure_days, day)
    runs = bisect_right(log.run_days, day)
    jobs = {task: [mark for mark in marks if mark.day <= day] for task, marks in log.jobs.items()}
    return EngineLog(
        log.figure_days[:figures],
        log.figures[:figures],
        log.run_days[:runs],
        log.run_hours[:runs],
        log.run_waters[:runs],
        [run for run in log.fuel_runs if run[0] <= day],
        [meter for meter in log.meters if meter.day <= day],
        {task: marks for task, marks in jobs.items() if marks},
        [seen for seen in log.seen if seen.day <= day],
        [incident for incident in log.incidents if incident[0] <= day],
        [place for place in log.places if place[0] <= day],
        [mark for mark in log.seasons if mark[0] <= day],
        [put_off for put_off in log.put_offs if put_off.day <= day],
        log.retired if log.retired is not None and log.retired <= day else None,
    )
