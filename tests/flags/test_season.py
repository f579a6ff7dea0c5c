"""What belongs to a lay-up or a launch: up to when it looks, and in which order it stands."""

from __future__ import annotations

from datetime import date

import pytest

from fleetcare.due.rows import due_list
from fleetcare.flags.season import LAUNCH, LAY_UP, season_jobs, until, with_marks, work
from fleetcare.fleet.settings import Settings
from fleetcare.rules.rule import PRECURSOR_HARMS
from tests.flags.small_fleets import BOOK, Seen, entry, seen

USE = BOOK.uses["hire"]  # northern season 1 April to 31 October: intervals/uses.toml


@pytest.mark.parametrize(
    ("mark", "on", "settings", "end"),
    [
        (LAY_UP, date(2031, 10, 20), Settings(), date(2032, 4, 1)),
        (LAY_UP, date(2032, 1, 20), Settings(), date(2032, 4, 1)),  # laid up after the new year
        (LAY_UP, date(2031, 4, 1), Settings(), date(2032, 4, 1)),
        (LAY_UP, date(2031, 5, 10), Settings(hemisphere="southern"), date(2031, 10, 1)),
        (LAY_UP, date(2031, 9, 30), Settings(season="05-15/09-15"), date(2032, 5, 15)),
        (LAY_UP, date(2031, 10, 20), Settings(hemisphere="tropics"), None),
        (LAUNCH, date(2031, 4, 2), Settings(), date(2031, 5, 2)),
    ],
)
def test_a_lay_up_looks_to_the_next_launch_and_a_launch_a_month_ahead(
    mark: str, on: date, settings: Settings, end: date | None
) -> None:
    assert until(USE, settings, mark, on) == end


def jobs_of(now: Seen, mark: str, *engines: str, end: date) -> dict[str, list[str]]:
    marked = with_marks(now.history, engines, mark, now.as_of)
    rows = [row for row in due_list(now.fleet, marked, BOOK, now.as_of) if row.engine in engines]
    later = due_list(now.fleet, marked, BOOK, end)
    ahead = {(row.engine, row.task): row for row in later}
    ends = dict.fromkeys(engines, end.toordinal())
    return {job.task: list(job.engines) for job in season_jobs(rows, ahead, mark, now.as_of, ends)}


def test_the_history_asked_about_is_left_as_it_was() -> None:
    now = seen("2031-10-20", entry("2031-10-01", "reading", "Plover", reading="60"))
    marked = with_marks(now.history, ["Plover"], LAY_UP, now.as_of)
    assert marked.of("Plover").seasons == [(now.as_of.toordinal(), LAY_UP)]
    assert now.history.of("Plover").seasons == []


def test_those_that_lead_to_overheating_or_a_seized_swivel_stand_first() -> None:
    now = seen("2031-10-20")
    names = list(jobs_of(now, LAY_UP, "Plover", "Knot", "Teal", end=date(2032, 4, 1)))
    rules = BOOK.set_of("small-petrol").rules
    leading = [bool(set(rules[name].leads_to) & set(PRECURSOR_HARMS)) for name in names]
    assert any(leading)
    assert leading == sorted(leading, reverse=True)


def test_only_the_engines_in_salt_water_still_want_their_flush() -> None:
    log = [entry("2031-10-19", "run", "Knot", hours="3"),
           entry("2031-10-19", "reading", "Plover", reading="14")]  # fmt: skip
    found = jobs_of(seen("2031-10-20", *log), LAY_UP, "Plover", "Knot", end=date(2032, 4, 1))
    assert found["flush"] == ["Knot"]
    log.append(entry("2031-10-19", "job", "Knot", task="flush"))
    found = jobs_of(seen("2031-10-20", *log), LAY_UP, "Plover", "Knot", end=date(2032, 4, 1))
    assert "flush" not in found


def test_what_the_calendar_ends_in_winter_belongs_to_the_lay_up_and_later_does_not() -> None:
    # plugs of small-petrol go 12 months (intervals/small-petrol.toml): done in March they end in
    # March, before the launch of 1 April; done in September they last
    rule = BOOK.set_of("small-petrol").rules["plugs"]
    assert rule.limits is not None
    assert rule.limits[0] is not None
    assert rule.limits[0].months == 12
    assert rule.season == ""
    end = date(2032, 4, 1)
    march = entry("2031-03-10", "job", "Teal", task="plugs")
    september = entry("2031-09-10", "job", "Teal", task="plugs")
    assert "plugs" in jobs_of(seen("2031-10-20", march), LAY_UP, "Teal", end=end)
    assert "plugs" not in jobs_of(seen("2031-10-20", september), LAY_UP, "Teal", end=end)


def test_a_job_of_the_season_done_within_two_months_before_is_not_asked_for_again() -> None:
    end = date(2032, 4, 1)
    early = entry("2031-07-01", "job", "Plover", task="old fuel")
    lately = entry("2031-09-10", "job", "Plover", task="old fuel")
    assert "old fuel" in jobs_of(seen("2031-10-20", early), LAY_UP, "Plover", end=end)
    assert "old fuel" not in jobs_of(seen("2031-10-20", lately), LAY_UP, "Plover", end=end)


def test_work_counts_what_is_opened_once_for_each_engine() -> None:
    now = seen("2031-10-20")
    ruleset = BOOK.set_of("small-petrol")
    rows = [row for row in now.rows if row.task in ("impeller", "pump look", "splines")]
    jobs = season_jobs(rows, {}, LAUNCH, now.as_of, {row.engine: 10**6 for row in rows})
    done = work(jobs, lambda engine: ruleset)
    rows = [row for job in jobs for row in job.rows]
    steps: dict[str, set[str]] = {}
    for row in rows:
        for name in row.rule.access:
            steps.setdefault(row.engine, set()).update((name, *ruleset.access[name].includes))
    assert not any(ruleset.access[inner].includes for names in steps.values() for inner in names)
    opened = sum(ruleset.access[name].minutes for names in steps.values() for name in names)
    assert done.minutes == sum(row.rule.minutes for row in rows) + opened
    assert opened < sum(ruleset.access[name].minutes for row in rows for name in row.rule.access)
    assert done.parts["impeller kit"] == sum(row.task == "impeller" for row in rows)
    assert set(ruleset.access["leg off"].cautions) <= set(done.cautions)
    assert len(set(done.cautions)) == len(done.cautions)
