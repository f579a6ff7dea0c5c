"""Looking things up by boat and engine finds what looking through everything finds."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

from fleetcare.share.audiences import BOAT, ENGINE, FLEET, HARMS, SERVICE_DAYS, TASK, USE, Audience
from fleetcare.share.own import own_events, own_rows
from fleetcare.show.events import EARLY, JOB, SERVICE_DAY, About, Event, midnight

BOATS, ENGINES, USES = ("Lapwing", "Dunlin", None), ("Plover", "Teal", "Knot"), ("hire", "club")
PLAIN = Event("", JOB, "", None, "", date(2031, 5, 1), "", "", "", (), midnight(date(2031, 5, 1)))
EVERYONE = (
    Audience(FLEET), Audience(HARMS), Audience(SERVICE_DAYS), Audience(TASK, "oil"),
    *(Audience(USE, use) for use in USES), *(Audience(ENGINE, name) for name in (*ENGINES, "Auk")),
    *(Audience(BOAT, name or "Smew") for name in BOATS), Audience(BOAT, "Old name", "Dunlin"),
)  # fmt: skip


def test_every_audience_is_shown_the_same_as_by_looking_through_all() -> None:
    dice, shown = random.Random(3), 0
    for _ in range(40):
        abouts = [
            About(dice.choice(ENGINES), dice.choice(BOATS), dice.choice(USES),
                  dice.choice(("oil", "tube")), dice.random() < 0.5)
            for _ in range(12)
        ]  # fmt: skip
        kinds = [dice.choice((JOB, JOB, EARLY, SERVICE_DAY, "season")) for _ in abouts]
        events = [
            replace(PLAIN, uid=str(at), kind=kind, about=about if dice.random() < 0.8 else About())
            for at, (kind, about) in enumerate(zip(kinds, abouts, strict=True))
        ]
        rows, found = own_rows(abouts), own_events(events)
        for each in EVERYONE:
            mine = [about for about in abouts if each.takes(about)]
            assert [abouts[at] for at in rows.places(each) if each.takes(abouts[at])] == mine
            uses = {about.use for about in mine}
            whole = [event.uid for event in events if each.takes_event(event, uses)]
            there = [events[at] for at in found.places(each)]
            assert [event.uid for event in there if each.takes_event(event, uses)] == whole
            shown += len(whole)
    assert shown > 1000


def test_a_boats_feed_looks_at_its_own_jobs_alone() -> None:
    abouts = [About(f"E{number % 50}", f"B{number % 50}") for number in range(600)]
    assert list(own_rows(abouts).places(Audience(BOAT, "B7"))) == list(range(7, 600, 50))
