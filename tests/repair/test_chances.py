"""The chance that a look finds a part worn out: its age on the day, and whose findings it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from fleetcare.due.rows import due_list
from fleetcare.repair.chances import Chances, life_on
from fleetcare.repair.weibull import posterior, prior_for
from fleetcare.rules.shipped import read_book
from fleetcare.usage.outlooks import Forecast
from tests.repair.fleets import BOOK, TODAY, built, done, reads

NOW = date.fromisoformat(TODAY)


def chances(*log: dict[str, str]) -> Chances:
    fleet, history = built(*log)
    book = read_book(None, {"small-petrol"})
    rows = due_list(fleet, history, book, NOW, forecast=Forecast(book.uses))
    return Chances(fleet, history, book, rows, NOW.toordinal())


def renewed(engine: str, on: str, reading: int) -> list[dict[str, str]]:
    return [done(on, engine, "impeller", reading=reading), reads(on, engine, reading)]


def test_without_findings_it_is_the_judgement_that_stands_before_them() -> None:
    seen = chances(*renewed("Plover", "2032-10-01", 300))
    worn = seen.worn("Plover", "impeller vanes", NOW.toordinal())
    assert worn is not None and not worn.learned
    assert worn.chance == 0  # new today
    limit = posterior((), prior_for(1.0)).chance(1.0)
    later = NOW.toordinal() + 36 * 30  # 36 months is its limit in fresh water, or 300 hours
    found = seen.worn("Plover", "impeller vanes", later)
    assert found is not None and 0.3 * limit < found.chance < 3 * limit
    assert 0.1 < limit < 0.3  # one part in ten, and so loosely held that it may be more


def test_the_part_of_a_look_is_judged_by_the_job_that_renews_it() -> None:
    seen = chances(*renewed("Plover", "2031-04-01", 0))
    vanes = seen.worn("Plover", "impeller vanes", NOW.toordinal())
    assert vanes is not None and vanes.chance > 0
    assert seen.worn("Plover", "drain magnet", NOW.toordinal()) is None  # renewed by no clock
    assert seen.worn("Plover", "intakes", NOW.toordinal()) is None


def test_findings_of_its_like_speak_for_a_part() -> None:
    log = renewed("Plover", "2032-09-01", 500)

    def monthly(found: str) -> list[dict[str, str]]:
        return [
            done(f"2032-0{month}-01", "Plover", "impeller", found, 60 * month)
            for month in range(1, 7)
        ]

    day = NOW.toordinal() + 300
    found = {
        name: chances(*more, *log).worn("Plover", "impeller vanes", day)
        for name, more in (
            ("none", monthly("")),
            ("fine", monthly("supple")),
            ("worn", monthly("cracked")),
        )
    }
    none, good, bad = found["none"], found["fine"], found["worn"]
    assert none is not None and good is not None and bad is not None
    assert (none.learned, good.learned, bad.learned) == (False, True, True)
    assert good.chance < none.chance < bad.chance


def test_a_part_without_record_is_at_its_limit_at_least() -> None:
    seen = chances()
    teal = seen.worn("Teal", "impeller vanes", NOW.toordinal())
    assert teal is not None
    assert teal.chance == pytest.approx(posterior((), prior_for(1.0)).chance(1.0))


def test_the_life_of_a_day_to_come_lies_on_the_way_to_the_day_it_is_due() -> None:
    fleet, history = built(*renewed("Plover", "2032-09-01", 500))
    rows = due_list(fleet, history, BOOK, NOW, forecast=Forecast(BOOK.uses))
    row = next(row for row in rows if (row.engine, row.task) == ("Plover", "impeller"))
    now = NOW.toordinal()
    row = replace(row, life_used=Fraction(1, 4), due_on=now + 30, clock_start=now - 10)
    assert [life_on(row, now + ahead, now) for ahead in (0, 10, 30)] == pytest.approx(
        [0.25, 0.5, 1]
    )
    over = replace(row, life_used=Fraction(2), due_on=now - 5)
    assert life_on(over, now + 10, now) == pytest.approx(4.0)  # at the pace since the job
    unknown = replace(row, life_used=None, life_floor=Fraction(3, 2))
    assert life_on(unknown, now, now) == 1.5
    assert life_on(replace(unknown, life_floor=Fraction(1, 3)), now, now) == 1.0
