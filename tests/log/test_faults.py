"""What a log may not hold is refused, and the message says what, when and what to do."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults, hours_text
from fleetcare.log.history import history

MAY_1 = date(2031, 5, 1)
PLOVER = Engine("Plover", MAY_1, boat="Otter", reading=10000)  # it read 100.0 on 1 May
TEAL = Engine("Teal", MAY_1, boat="Dipper", meter=False, litres_hour=None)
SPARE = Engine("Spare A", MAY_1, reading=0, new=True)
BOATS = {
    name: Boat(name, "hire", Water.FRESH, date(2031, 4, 1)) for name in ("Otter", "Dipper", "Heron")
}


def may(day: int) -> date:
    return date(2031, 5, day)


def told(*entries: Entry, engine: Engine = PLOVER) -> list[str]:
    """The faults of a log of three engines, as they are told."""
    engines = {each.name: each for each in (PLOVER, TEAL, SPARE)} | {engine.name: engine}
    fleet = Fleet("f1", Settings(), BOATS, engines)
    written = [replace(entry, number=at) for at, entry in enumerate(entries, start=1)]
    return [str(fault) for fault in faults(fleet, history(written, date(2040, 1, 1)))]


def one(*entries: Entry, engine: Engine = PLOVER) -> str:
    found = told(*entries, engine=engine)
    assert len(found) == 1, found
    return found[0]


def reads(figure: float, on: date, engine: str = "Plover") -> Entry:
    return kinds.Reading(on=on, engine=engine, reading=round(figure * 100))


def runs(hours: float, on: date, engine: str = "Plover") -> Entry:
    return kinds.Run(on=on, engine=engine, hours=round(hours * 100))


def done(on: date, figure: float | None = None, engine: str = "Plover") -> Entry:
    reading = None if figure is None else round(figure * 100)
    return kinds.Job(on=on, engine=engine, task="impeller", reading=reading)


def meter(on: date, old: float | None, new: float | None, engine: str = "Plover") -> Entry:
    figures = [None if figure is None else round(figure * 100) for figure in (old, new)]
    return kinds.MeterChange(on=on, engine=engine, old=figures[0], new=figures[1])


# --- a meter only rises -----------------------------------------------------------------------


def test_a_lower_reading_names_both_figures_and_the_three_possibilities() -> None:
    assert one(reads(112.0, may(2)), reads(110.25, may(4))) == (
        'engine "Plover": reads 110.25 on 2031-05-04 but read 112.0 on 2031-05-02. '
        "A slip now: give the right figure. "
        "A slip before: fleetcare log Plover shows the entry to undo. "
        "Another meter: fleetcare reading Plover 110.25 --on 2031-05-04 --old-meter 112.0"
    )


def test_what_is_to_be_typed_for_a_name_with_a_space_can_be_typed() -> None:
    told_of_spare = one(reads(5, may(2), "Spare A"), reads(4, may(3), "Spare A"))
    assert 'fleetcare reading "Spare A" 4.0 --on 2031-05-03' in told_of_spare


def test_ten_nine_twelve_refuses_the_nine() -> None:
    # Worked by hand: 10 h, then 9 h, then 12 h; without the 9 nothing is wrong.
    new = replace(PLOVER, reading=0)
    found = one(reads(10, may(2)), reads(9, may(3)), reads(12, may(4)), engine=new)
    assert "reads 9.0 on 2031-05-03 but read 10.0 on 2031-05-02" in found
    assert told(reads(10, may(2)), reads(12, may(4)), engine=new) == []


def test_a_figure_below_the_one_the_engine_came_with_is_refused() -> None:
    assert "reads 99.9 on 2031-05-02 but read 100.0 on 2031-05-01" in one(reads(99.9, may(2)))


def test_an_earlier_figure_above_a_later_one_is_refused_whichever_was_written_first() -> None:
    later_first = one(reads(110, may(9)), reads(130, may(5)))
    assert "reads 110.0 on 2031-05-09 but read 130.0 on 2031-05-05" in later_first


@pytest.mark.parametrize(
    "entry",
    [
        reads(99, may(3)),
        done(may(3), 99),
        kinds.Finding(on=may(3), engine="Plover", part="swivel", condition="stiff", reading=9900),
        kinds.Incident(on=may(3), engine="Plover", kind="swamped", reading=9900),
        kinds.Run(on=may(3), engine="Plover", hours=100, reading=9900),
    ],
)
def test_a_figure_given_with_anything_is_held_to_the_same_rule(entry: Entry) -> None:
    assert "reads 99.0 on 2031-05-03 but read 100.0" in one(entry)


def test_the_figures_of_one_day_may_come_in_any_order() -> None:
    assert told(reads(112, may(3)), done(may(3), 108), reads(110, may(3))) == []
    assert told(reads(104, MAY_1), done(MAY_1, 98), reads(105, may(2))) == []


def test_the_highest_figure_of_a_day_is_its_close() -> None:
    assert one(done(may(3), 112), reads(108, may(3)), reads(111, may(4)))
    assert one(reads(104, MAY_1), reads(103, may(2)))
    # 112 to 134 on the next day are 22 hours; from the lower figure they would be 26.
    assert told(done(may(3), 112), reads(108, may(3)), reads(134, may(4))) == []


def test_the_same_figure_day_after_day_is_an_engine_that_did_not_run() -> None:
    assert told(*(reads(100, may(day)) for day in range(1, 20))) == []


def test_every_fall_is_told_and_not_only_the_first() -> None:
    assert len(told(reads(110, may(2)), reads(105, may(3)), reads(104, may(4)))) == 2


# --- other meters -----------------------------------------------------------------------------


def test_a_replaced_meter_goes_on_from_its_own_first_figure() -> None:
    assert told(reads(104, may(2)), meter(may(3), 105, 2), reads(7, may(4))) == []


def test_on_the_day_of_a_new_meter_both_meters_may_have_been_read() -> None:
    log = [reads(104, may(2)), meter(may(3), 106, 2)]
    both = [*log, reads(105, may(3)), reads(3, may(3)), done(may(3), 106)]
    assert told(*both, reads(4, may(4))) == []
    assert "reads 2.5 on 2031-05-04 but read 3.0 on 2031-05-03" in one(*both, reads(2.5, may(4)))
    between = one(*log, reads(1, may(3)))
    assert "reads 1.0 on 2031-05-03, which neither the old meter nor the new one" in between


def test_a_figure_below_the_old_meters_previous_one_is_the_new_meters() -> None:
    # 50 lies below 104, the old one's previous figure, so the new one ran 48 h in a day.
    found = one(reads(104, may(2)), meter(may(3), 106, 2), reads(50, may(3)))
    assert "more than 24 h a day" in found


def test_a_meter_that_rolled_over_goes_on_from_zero() -> None:
    # Worked by hand: a meter of four digits, from 9990 over 10000 to 5 is 15 hours.
    old = replace(PLOVER, reading=999000, digits=4)
    assert told(meter(may(3), 10000, 0), reads(5, may(3)), engine=old) == []
    assert "reads 5.0 on 2031-05-03 but read 9990.0" in one(reads(5, may(3)), engine=old)


def test_the_old_meters_last_figure_cannot_lie_below_what_it_read() -> None:
    found = one(reads(104, may(2)), meter(may(3), 103, 0))
    assert "reads 103.0 on 2031-05-03 but read 104.0 on 2031-05-02" in found
    assert found.endswith("--old-meter 104.0")


def test_a_meter_is_not_fitted_where_there_is_one() -> None:
    assert one(meter(may(3), None, 0)) == (
        'engine "Plover": already has a meter on 2031-05-03. '
        "Give the old one's last figure too: --old-meter FIGURE"
    )


def test_a_meter_is_fitted_where_there_was_none() -> None:
    assert told(meter(may(3), None, 12.3, "Teal"), reads(14, may(4), "Teal")) == []
    assert "neither the old meter" in one(meter(may(3), None, 12.3, "Teal"),
                                          reads(12, may(3), "Teal"))  # fmt: skip


def test_no_old_meter_can_have_read_where_there_was_none() -> None:
    found = one(meter(may(3), 12, 0, "Teal"))
    assert found == 'engine "Teal": had no meter before 2031-05-03 that could have read'


def test_an_engine_without_a_meter_cannot_be_read() -> None:
    assert one(reads(12, may(3), "Teal")) == (
        'engine "Teal": has no meter on 2031-05-03, so it cannot read 12.0. '
        "Log its runs, or say that a meter was fitted: fleetcare reading … --fitted"
    )


def test_a_stopped_meter_reads_no_more_until_another_is_fitted() -> None:
    stopped = [reads(104, may(2)), meter(may(3), 105, None)]
    assert told(*stopped, runs(3, may(4)), done(may(3), 105)) == []
    assert "has no meter on 2031-05-04" in one(*stopped, reads(106, may(4)))
    assert "neither the old meter nor the new one" in one(*stopped, reads(106, may(3)))
    fitted = [*stopped, meter(may(9), None, 0)]
    assert told(*fitted, reads(2, may(9)), reads(4, may(12))) == []
    assert "reads 1.0 on 2031-05-12 but read 2.0" in one(
        *fitted, reads(2, may(9)), reads(1, may(12))
    )


def test_a_meter_entry_without_a_figure_says_nothing() -> None:
    assert "without a figure on 2031-05-03" in one(meter(may(3), None, None, "Teal"))
    assert "without a figure on 2031-05-03" in one(meter(may(3), None, None))


def test_a_meter_may_be_replaced_on_the_day_the_engine_came() -> None:
    assert told(meter(MAY_1, 101, 0), reads(20, MAY_1), reads(30, may(2))) == []


# --- a day has 24 hours -----------------------------------------------------------------------


def test_runs_of_one_day_do_not_exceed_it() -> None:
    assert told(runs(12, may(3)), runs(12, may(3)), runs(24, may(4))) == []
    assert one(runs(12, may(3)), runs(12.01, may(3))) == (
        'engine "Plover": ran 24.01 h on 2031-05-03, more than a day'
    )


def test_fuel_burned_on_one_day_does_not_exceed_it() -> None:
    # Teal of unknown power burns 1.55 l/h (0.31 l x 10 hp / 2): 24 h are 37.2 l, by hand.
    def burns(litres: float) -> Entry:
        return kinds.Run(on=may(3), engine="Teal", fuel=round(litres * 100))

    assert told(burns(37.2)) == []
    assert told(burns(18.6), runs(12, may(3), "Teal")) == []
    assert "burned more on 2031-05-03 than a day allows" in one(burns(37.21))
    assert "burned more on 2031-05-03 than a day allows" in one(burns(18.6), burns(18.61))
    assert "ran and burned more on 2031-05-03 than a day allows" in one(
        burns(18.6), runs(12.01, may(3), "Teal")
    )


def test_readings_leave_no_more_than_24_hours_for_a_day() -> None:
    assert told(reads(124, may(2)), reads(172, may(4))) == []
    found = one(reads(124, may(2)), reads(172.01, may(4)))
    assert "ran 48.01 h by its meter from 2031-05-02 to 2031-05-04, more than 24 h a day" in found
    assert "slip" in found and "replaced" in found


def test_a_new_meter_hides_no_hours_beyond_the_day() -> None:
    # By hand: 104 to 106 on the old one, 2 to 25 on the new one, are 25 h from 2 to 3 May.
    changed = [reads(104, may(2)), meter(may(3), 106, 2)]
    assert told(*changed, reads(24, may(3))) == []
    assert "ran 25.0 h by its meter from 2031-05-02 to 2031-05-03" in one(
        *changed, reads(25, may(3))
    )
    assert "ran 498.0 h by its meter from 2031-05-03 to 2031-05-04" in one(
        *changed, reads(500, may(4))
    )
    assert "ran 56.0 h by its meter" in one(reads(104, may(2)), meter(may(3), 160, 0))


def test_a_fitted_meter_counts_from_the_close_of_the_day_before() -> None:
    fitted = meter(may(3), None, 10, "Teal")
    assert told(fitted, reads(34, may(3), "Teal")) == []
    assert "from 2031-05-02 to 2031-05-03" in one(fitted, reads(34.01, may(3), "Teal"))


# --- how it is told ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hundredths", "text"),
    [(41200, "412.0"), (325, "3.25"), (320, "3.2"), (5, "0.05"), (0, "0.0"), (100, "1.0")],
)
def test_hours_are_written_as_a_person_writes_them(hundredths: int, text: str) -> None:
    assert hours_text(hundredths) == text


def test_only_the_engines_asked_for_are_looked_at() -> None:
    fleet = Fleet("f1", Settings(), BOATS, {"Plover": PLOVER, "Teal": TEAL})
    found = history([reads(90, may(2)), reads(90, may(2), "Teal")], may(30))
    assert [fault.where for fault in faults(fleet, found, ["Teal"])] == ['engine "Teal"']
    assert len(faults(fleet, found)) == 2
