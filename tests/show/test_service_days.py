"""Service days on calendars, read back by the strict reader and by two parsers of other people."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.rules.shipped import read_book
from fleetcare.show.calendar import calendar
from fleetcare.show.events import SERVICE_DAY, Event
from fleetcare.show.service_days import service_day_events
from tests.built import fleet_of
from tests.show.feed_reader import Component, read_feed
from tests.show.test_feed_calendar import read_by_ics, read_by_vobject
from tests.trials.example_tables import row, settings_rows

TODAY = date(2031, 6, 2)
FIRST = TODAY.toordinal()
RULES = read_book(None, {"small-petrol"}).sets["small-petrol"]
FLEET, _ = fleet_of(
    {
        "settings": settings_rows(),
        "boats": [row("boats", boat=name, use=use, water="salt", since="2031-04-01")
                  for name, use in (("Lapwing", "hire"), ("Dunlin", "owner"))],
        "engines": [row("engines", engine=name, boat=boat, hp="6", since="2031-04-01",
                        reading="4")
                    for name, boat in (("Plover", "Lapwing"), ("Teal", "Lapwing"),
                                       ("Knot", "Dunlin"), ("Spare", ""))],
        "log": [],
    }
)  # fmt: skip
USES = {"Plover": "hire", "Teal": "hire", "Knot": "owner", "Spare": "owner"}


def visit(engine: str, boat: str | None, *tasks: str, late: int = 0) -> Visit:
    jobs = tuple(PlannedJob(task, None, late, 0, False, 10) for task in tasks)
    return Visit(engine, boat, ("leg off", "pump open"), 70, jobs)


def events(*days: tuple[int, tuple[Visit, ...]], place: str = "") -> tuple[Event, ...]:
    told = tuple(ServiceDay(FIRST + day, place, 210, 360, visits) for day, visits in days)
    plan = Plan(FIRST, FIRST + 60, told, (), (), 0, None, "by hand")
    return service_day_events(plan, FLEET, dict.fromkeys(USES, RULES), USES, TODAY)


SOME = events(
    (
        1,
        (
            visit("Knot", "Dunlin", "swivel grease"),
            visit("Plover", "Lapwing", "impeller", "water tube", late=3),
            visit("Spare", None, "impeller"),
        ),
    ),
    (4, (visit("Plover", "Lapwing", "gear oil"),)),
)


def read(*some: Event) -> list[Component]:
    return read_feed(calendar(some, "Jetty", "", TODAY)).of("VEVENT")


def test_a_day_is_one_event_and_each_visit_another() -> None:
    titles = [(event.on.isoformat(), event.title) for event in SOME]
    assert titles == [
        ("2031-06-03", "Service day: Dunlin, Lapwing, Spare"),
        ("2031-06-03", "Service day: Dunlin, 1 job"),
        ("2031-06-03", "Service day: Lapwing, 2 jobs"),
        ("2031-06-03", "Service day: Spare, 1 job"),
        ("2031-06-06", "Service day: Lapwing"),
        ("2031-06-06", "Service day: Lapwing, 1 job"),
    ]
    assert {event.kind for event in SOME} == {event.status for event in SOME} == {SERVICE_DAY}


def test_every_parser_reads_the_same_days_and_titles() -> None:
    data = calendar(SOME, "Jetty", "", TODAY)
    ours = sorted(
        (event["UID"], event["SUMMARY"], event["DTSTART"]) for event in read_feed(data).of("VEVENT")
    )
    assert ours == sorted((event.uid, event.title, event.on) for event in SOME)
    theirs = sorted(read_by_vobject(data))
    assert theirs == sorted(read_by_ics(data)) and len(theirs) == len(SOME)
    for reading in theirs:
        assert any(event.title in map(str, reading) for event in SOME), reading


def test_a_day_is_taken_from_hire_and_ends_on_the_next() -> None:
    """RFC 5545, 3.8.2.7 and 3.6.1: OPAQUE blocks the day; DTEND is the day after."""
    for item in read(*SOME):
        assert item["TRANSP"] == "OPAQUE"
        assert (item["DTEND"] - item["DTSTART"]).days == 1


def test_the_uid_follows_from_the_fleet_the_day_and_the_first_name_alone() -> None:
    assert len({event.uid for event in SOME}) == len(SOME)
    fewer = events((1, (visit("Plover", "Lapwing", "gear oil"),)))
    assert fewer[0].uid == SOME[0].uid  # the same day with other boats
    assert fewer[1].uid == SOME[2].uid  # the same engine with other jobs
    renamed = replace(
        FLEET, engines={"Heron": replace(FLEET.engines["Plover"], name="Heron", first="Plover")}
    )
    day = ServiceDay(FIRST + 1, "", 70, 360, (visit("Heron", "Lapwing", "gear oil"),))
    plan = Plan(FIRST, FIRST + 60, (day,), (), (), 0, None, "by hand")
    after = service_day_events(plan, renamed, {"Heron": RULES}, {"Heron": "hire"}, TODAY)
    assert after[1].uid == SOME[2].uid and after[1].engine == "Heron"
    other = replace(FLEET, id="11111111-0000-4000-8000-000000000000")
    elsewhere = service_day_events(
        replace(plan, days=(replace(day, visits=fewer_visits()),)), other,
        dict.fromkeys(USES, RULES), USES, TODAY,
    )  # fmt: skip
    assert elsewhere[0].uid != SOME[0].uid
    apart = events((1, (visit("Plover", "Lapwing", "gear oil"),)), place="Quay")
    assert apart[0].uid != SOME[0].uid and apart[0].title == "Service day at Quay: Lapwing"


def fewer_visits() -> tuple[Visit, ...]:
    return (visit("Plover", "Lapwing", "gear oil"),)


def test_the_text_says_on_a_phone_what_to_do_and_what_to_mind() -> None:
    text = SOME[2].description
    lines = text.split("\n")
    assert lines[0] == "Plover on Lapwing, is wanted for the day: 70 min of work."
    assert "To do: impeller, water tube." in lines
    assert "Late by then: impeller, water tube." in lines
    assert "Skipped, impeller, water tube lead to overheating." in lines
    assert "To open, in this order: leg off, pump open." in lines
    parts = next(line for line in lines if line.startswith("Parts: "))
    assert "impeller kit" in parts and "pump housing gasket" in parts
    for step in ("leg off", "pump open"):
        for caution in RULES.access[step].cautions:
            assert f"- {caution}" in lines
    assert lines[-1] == "Its sheet: fleetcare sheet --on 2031-06-03"
    assert any("own handbook, local codes and licensed practice" in line for line in lines)
    day = SOME[0].description
    assert day.startswith("210 of 360 min planned.\nKnot on Dunlin: swivel grease. 70 min.\n")
    assert "2 x impeller kit" in day and "Spare in store: impeller. 70 min." in day


def test_a_task_that_the_rules_no_longer_have_does_no_harm() -> None:
    text = events((1, (visit("Plover", "Lapwing", "gone", "impeller"),)))[1].description
    assert "To do: gone, impeller." in text and "Parts: impeller kit" in text


def test_what_stays_as_it_was_says_the_same_on_another_day() -> None:
    """Nothing of it moves by itself, so that a feed stays as it was sent."""
    day = (4, (visit("Plover", "Lapwing", "gear oil"),))
    told = ServiceDay(FIRST + 4, "", 210, 360, day[1])
    plan = Plan(FIRST, FIRST + 60, (told,), (), (), 0, None, "by hand")
    made = [
        service_day_events(plan, FLEET, dict.fromkeys(USES, RULES), USES, on)
        for on in (TODAY, date(2031, 6, 5))
    ]
    for one, other in zip(*made, strict=True):
        assert (one.title, one.description, one.basis) == (
            other.title, other.description, other.basis,
        )  # fmt: skip


@pytest.mark.parametrize(
    "name", ["Otter\\nTwo", 'He said "go"; and, so', "\u202eLapwing", "かわうそ", "x" * 80]
)
def test_hostile_names_are_read_as_one_title(name: str) -> None:
    boat = replace(FLEET.boats["Lapwing"], name=name)
    fleet = replace(FLEET, boats={name: boat})
    day = ServiceDay(FIRST, "", 70, 360, (visit("Plover", name, "impeller"),))
    plan = Plan(FIRST, FIRST + 9, (day,), (), (), 0, None, "by hand")
    made = service_day_events(plan, fleet, {"Plover": RULES}, {"Plover": "hire"}, TODAY)
    data = calendar(made, "Jetty", "", TODAY)
    titles = sorted(event["SUMMARY"] for event in read_feed(data).of("VEVENT"))
    assert len(titles) == 2 and all("\n" not in title for title in titles)
    assert sorted(event.title for event in made) == titles
    assert sorted(read_by_vobject(data)) == sorted(read_by_ics(data))


def test_a_long_day_names_three_boats_and_counts_the_rest() -> None:
    visits = tuple(visit("Plover", f"Boat {at}", "impeller") for at in range(1, 6))
    assert events((1, visits))[0].title == "Service day: Boat 1, Boat 2, Boat 3 and 2 more"
