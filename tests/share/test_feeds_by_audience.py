"""Who is shown what, what is told when figures are old, and how events count across audiences.

Which events an audience takes, and the 14 days after which figures are old, are our design
choice; SEQUENCE and stamps follow RFC 5545, 3.8.7.2 and 3.8.7.4.
"""

from __future__ import annotations

import shutil
import sqlite3
from datetime import date, timedelta
from pathlib import Path

import pytest

from fleetcare.errors import RefusedError
from fleetcare.rules.rule import PRECURSOR_HARMS
from fleetcare.share.audiences import Audience, from_kept, read_audience, shown
from fleetcare.show.events import SERVICE_DAY, About, Event
from fleetcare.store.fleet_file import FleetFile
from tests.share.small_feeds import NOW, TODAY, by_title, old_fleet, seen, sent, type_
from tests.show.feed_reader import Component

LATER = NOW + timedelta(days=1)
EVERY = (
    "fleet", "boat Lapwing", "engine Plover", "place North Pier", "use hire", "hot-or-stiff",
    "service-days", "task impeller",
)  # fmt: skip


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("built") / "fleet.db"
    old_fleet(path)
    return path


@pytest.fixture
def fleet(built: Path, tmp_path: Path) -> Path:
    path = tmp_path / "fleet.db"
    shutil.copy(built, path)
    return path


def titles(feed: Component) -> list[str]:
    return [item["SUMMARY"] for item in feed.of("VEVENT")]


def engines(feed: Component) -> set[str]:
    return {title.partition(":")[0] for title in titles(feed) if ":" in title}


# -- who is shown what ----------------------------------------------------------------------------


def test_each_audience_is_shown_its_own(fleet: Path) -> None:
    feeds = sent(fleet, *EVERY, "engine Spare", "boat Dunlin", "use owner", "use club")
    assert engines(feeds["fleet"]) == {"Plover", "Knot", "Spare"}
    for words in ("boat Lapwing", "engine Plover", "place North Pier", "use hire"):
        assert engines(feeds[words]) == {"Plover"}
        assert set(titles(feeds[words])) < set(titles(feeds["fleet"]))
    assert engines(feeds["boat Dunlin"]) == {"Knot"}
    # an engine that never lay on a boat counts as its owner's
    assert engines(feeds["use owner"]) == {"Knot", "Spare"}
    assert feeds["use club"].of("VEVENT") == []
    assert {title.split(":")[1].split(",")[0] for title in titles(feeds["task impeller"])} == {
        " impeller"
    }


def test_what_leads_to_overheating_or_a_seized_swivel_has_a_feed_of_its_own(fleet: Path) -> None:
    look = seen(fleet)
    harmful = {row.task for row in look.rows if set(row.rule.leads_to) & set(PRECURSOR_HARMS)}
    shown_ = {event.task for event in look.of(Audience("hot-or-stiff"))}
    assert "impeller" in shown_
    assert "swivel grease" in shown_
    assert shown_ <= harmful
    everything = {event.task for event in look.of(Audience("fleet")) if event.kind == "job"}
    assert everything & harmful == shown_
    assert everything - harmful


def test_season_marks_are_those_of_the_uses_concerned(fleet: Path) -> None:
    feeds = sent(fleet, "fleet", "boat Lapwing", "use owner", "hot-or-stiff", "task impeller")
    hire, owner = "Lay-up of hire boats, 31 Oct", "Lay-up of owner boats, 31 Oct"
    assert {hire, owner, "Launch of hire boats, 1 Apr 2025"} < set(titles(feeds["fleet"]))
    assert hire in titles(feeds["boat Lapwing"])
    assert owner not in titles(feeds["boat Lapwing"])
    assert owner in titles(feeds["use owner"])
    for words in ("hot-or-stiff", "task impeller"):
        assert not [title for title in titles(feeds[words]) if "Lay-up" in title]


def test_where_the_season_lasts_all_year_nothing_marks_it(fleet: Path) -> None:
    type_(fleet, "settings", "hemisphere", "tropics")
    feed = sent(fleet, "fleet")["fleet"]
    assert not [title for title in titles(feed) if "Lay-up" in title or "Launch" in title]


def test_an_engine_in_store_stays_with_the_use_of_its_last_boat(fleet: Path) -> None:
    type_(fleet, "engine", "into-store", "Plover", "--on", "2024-07-15")
    feeds = sent(fleet, "use hire", "boat Lapwing", "engine Plover")
    assert engines(feeds["use hire"]) == engines(feeds["engine Plover"]) == {"Plover"}
    assert feeds["boat Lapwing"].of("VEVENT") == []


def service_day(boat: str, use: str, first_name: str) -> Event:
    """A visit to a boat, or the whole day where there is none."""
    return Event(
        uid=f"00000000-0000-4000-8000-{len(boat):012d}", kind=SERVICE_DAY, engine="", boat=boat,
        task="", on=date(2024, 8, 1), title=f"Service day: {boat}", status=SERVICE_DAY,
        description="", categories=(SERVICE_DAY,), stamp=NOW,
        about=About(first_name, boat or None, use),
    )  # fmt: skip


def test_service_days_go_to_whom_they_concern(fleet: Path) -> None:
    """The day to those who see all of it, its visits to those who wait for a boat."""
    from dataclasses import replace

    look = seen(fleet)
    day, visit = service_day("", "", ""), service_day("Lapwing", "hire", "Plover")
    look = replace(look, events=(*look.events, day, visit))
    for words, taken in (
        ("fleet", [day]), ("service-days", [day]), ("boat Lapwing", [visit]),
        ("use hire", [visit]), ("place North Pier", [visit]), ("place Mole", []),
        ("engine Plover", [visit]), ("boat Dunlin", []), ("use owner", []),
        ("engine Knot", []), ("hot-or-stiff", []), ("task impeller", []),
    ):  # fmt: skip
        mine = look.of(from_kept(words, look.fleet))
        assert [event for event in mine if event.kind == SERVICE_DAY] == taken, words


def test_without_service_days_their_feed_is_empty_and_whole(fleet: Path) -> None:
    """RFC 5545, 3.6: a calendar has a component; a lone time zone is one."""
    feed = sent(fleet, "service-days")["service-days"]
    assert [child.kind for child in feed.children] == ["VTIMEZONE"]
    assert feed["DESCRIPTION"] == "No day is planned for work."


def test_every_feed_has_a_name_and_a_uid_of_its_own(fleet: Path) -> None:
    """RFC 7986, 5.1 and 5.3."""
    feeds = sent(fleet, *EVERY)
    assert len({feed["UID"] for feed in feeds.values()}) == len(EVERY)
    assert len({feed["NAME"] for feed in feeds.values()}) == len(EVERY)
    assert feeds["engine Plover"]["NAME"] == "Outboard jobs: Plover"


def test_the_feed_of_a_place_is_of_the_boats_that_lie_there_now(fleet: Path) -> None:
    look = seen(fleet)
    audience = read_audience("place NORTH pier", look.fleet, look.tasks)
    assert (audience.kept, audience.boats) == ("place North Pier", {"Lapwing"})
    assert from_kept(audience.kept, look.fleet).boats == {"Lapwing"}
    feeds = sent(fleet, "place North Pier", "boat Lapwing", "fleet")
    assert titles(feeds["place North Pier"]) == titles(feeds["boat Lapwing"])
    assert feeds["place North Pier"]["NAME"] == "Outboard jobs: North Pier"
    type_(fleet, "boat", "add", "Ruff", "--use", "club", "--water", "salt", "--place", "north pier")
    assert from_kept("place North Pier", seen(fleet).fleet).boats == {"Lapwing", "Ruff"}
    type_(fleet, "engine", "into-store", "Plover", "--on", "2024-07-15")
    assert engines(sent(fleet, "place North Pier")["place North Pier"]) == set()


def test_a_renamed_engine_keeps_its_feed_and_its_events(fleet: Path) -> None:
    before = sent(fleet, "engine Plover")["engine Plover"]
    type_(fleet, "engine", "rename", "Plover", "Heron")
    after = sent(fleet, "engine Plover", now=LATER)["engine Plover"]
    assert engines(after) == {"Heron"}
    assert after["UID"] == before["UID"]
    assert {item["UID"] for item in after.of("VEVENT")} == {
        item["UID"] for item in before.of("VEVENT")
    }
    look = seen(fleet)
    audience = read_audience("engine heron", look.fleet, look.tasks)
    assert (audience.kept, shown(audience, look.fleet)) == ("engine Plover", "engine Heron")


def test_a_renamed_boat_keeps_its_feed(fleet: Path) -> None:
    connection = sqlite3.connect(fleet)
    connection.execute("update boat set name = 'Curlew', also = 'Lapwing' where name = 'Lapwing'")
    connection.commit()
    connection.close()
    feed = sent(fleet, "boat Lapwing")["boat Lapwing"]
    assert engines(feed) == {"Plover"}
    assert feed["NAME"] == "Outboard jobs: Curlew"


def test_a_retired_boat_has_an_empty_feed_that_is_whole(fleet: Path) -> None:
    type_(fleet, "engine", "retire", "Plover", "--on", "2024-07-17")
    type_(fleet, "boat", "retire", "Lapwing", "--on", "2024-07-17")
    feeds = sent(fleet, "boat Lapwing", "engine Plover", "use hire")
    for feed in feeds.values():
        assert [child.kind for child in feed.children] == ["VTIMEZONE"]
        assert feed["DESCRIPTION"] == "No engine is in it now."


@pytest.mark.parametrize(
    ("words", "what"),
    [
        ("engine Plovre", 'no engine "Plovre". Did you mean "Plover"?'),
        ("boat lapwin", 'no boat "lapwin". Did you mean "Lapwing"?'),
        ("place North Pear", 'no place "North Pear". Did you mean "North Pier"?'),
        ("place Mole", 'no place "Mole". fleetcare boat list shows them.'),
        ("use hier", 'no use "hier". Did you mean "hire"?'),
        ("use charter", 'no use "charter". One of: hire, club, owner'),
        ("task impeler", 'no task "impeler". Did you mean "impeller"'),
        ("bote Lapwing", 'no audience "bote Lapwing". Did you mean "boat"? One of: fleet, boat'),
        ("engine", 'the audience "engine" takes a name: --of engine NAME'),
        ("fleet Lapwing", 'the audience "fleet" takes no name'),
        ("", 'no audience ""'),
    ],
)
def test_an_audience_nobody_knows_is_refused_with_the_nearest(
    words: str, what: str, fleet: Path
) -> None:
    look = seen(fleet)
    with pytest.raises(RefusedError) as refused:
        read_audience(words, look.fleet, look.tasks)
    assert str(refused.value).startswith(what)


# -- how events count across audiences ------------------------------------------------------------


def numbers(feed: Component) -> dict[str, tuple[int, object]]:
    return {item["UID"]: (item["SEQUENCE"], item["DTSTAMP"]) for item in feed.of("VEVENT")}


def test_an_event_of_several_feeds_is_settled_once(fleet: Path) -> None:
    first = sent(fleet, *EVERY)
    assert {number for feed in first.values() for number, _ in numbers(feed).values()} == {0}
    feeds = sent(fleet, *EVERY, as_of=TODAY + timedelta(days=1), now=LATER)
    whole = numbers(feeds["fleet"])
    assert {number for number, _ in whole.values()} == {0, 1}  # what is late stepped to today
    for feed in feeds.values():
        assert numbers(feed).items() <= whole.items()


def test_the_next_day_only_what_is_late_has_moved(fleet: Path) -> None:
    before = by_title(sent(fleet, "fleet")["fleet"])
    tomorrow = TODAY + timedelta(days=1)
    after = by_title(sent(fleet, "fleet", as_of=tomorrow, now=LATER)["fleet"])
    for title in before.keys() & after.keys():
        old, new = before[title], after[title]
        if old["DTSTART"] == TODAY and new["DTSTART"] == tomorrow:
            assert (new["SEQUENCE"], new["DTSTAMP"]) == (1, LATER)
        else:
            assert new.values == old.values


def test_days_that_change_nothing_leave_a_feed_as_it_is(fleet: Path) -> None:
    """By the byte: the days that pass are no change, nor is another program's hour."""
    from fleetcare.share.feeds import current, settled_feeds

    # what stands on today steps from day to day; these engines' plugs are far from it
    audience = Audience("task", "plugs")
    contents = set()
    for ahead in (0, 1, 3, 8):
        look = seen(fleet, TODAY + timedelta(days=ahead))
        with FleetFile(fleet) as file:
            feed = current(
                file,
                lambda look=look: look,
                lambda connection, known, now=NOW + timedelta(days=ahead): settled_feeds(
                    connection, known, [audience], now
                ),
            )[audience]
        assert feed.events
        contents.add(feed.content(alarm="same day"))
    assert len(contents) == 1


def test_a_job_done_moves_its_event_in_every_feed_that_has_it(fleet: Path) -> None:
    before = sent(fleet, "fleet", "engine Plover")
    type_(fleet, "done", "Plover", "gear oil", "--found", "clean", "--on", "2024-07-18")
    after = sent(fleet, "engine Plover", now=LATER)
    again = sent(fleet, "fleet", "engine Plover", now=LATER + timedelta(hours=1))
    named = by_title(after["engine Plover"])
    moved = [item for title, item in named.items() if title.startswith("Plover: gear oil, due")]
    assert [item["SEQUENCE"] for item in moved] == [0]  # it had no day before, without record
    for words, feed in again.items():
        uids = {item["UID"] for item in before[words].of("VEVENT")} | {moved[0]["UID"]}
        assert {item["UID"] for item in feed.of("VEVENT")} == uids
        assert numbers(feed)[moved[0]["UID"]] == (0, LATER)


# -- old figures ----------------------------------------------------------------------------------


def test_a_feed_whose_figures_are_over_14_days_old_says_so_in_its_first_event(fleet: Path) -> None:
    """Plover was last read on 12 July; Knot ran on 16 July."""
    for day, warns in ((date(2024, 7, 26), False), (date(2024, 7, 27), True)):
        first, *others = sent(fleet, "engine Plover", as_of=day)["engine Plover"].of("VEVENT")
        begin = (
            "Figures over 14 days old; last reading or run: Plover (12 Jul 2024). Hours run since "
            "then are not in them: take a reading and log it.\n"
        )
        assert first["DESCRIPTION"].startswith(begin) is warns
        assert not [item for item in others if "over 14 days old" in item["DESCRIPTION"]]


def test_engines_in_store_or_laid_up_need_no_reading(fleet: Path) -> None:
    type_(fleet, "lay-up", "Knot", "--on", "2024-07-17")
    feeds = sent(fleet, "engine Spare", "engine Knot", "fleet", as_of=date(2024, 9, 1))
    assert "over 14 days" not in str(feeds["engine Spare"].of("VEVENT")[0]["DESCRIPTION"])
    assert "over 14 days" not in str(feeds["engine Knot"].of("VEVENT")[0]["DESCRIPTION"])
    text = feeds["fleet"].of("VEVENT")[0]["DESCRIPTION"]
    assert "last reading or run: Plover (12 Jul 2024). Hours" in text


def test_a_reading_takes_the_warning_away_and_stamps_what_had_it(fleet: Path) -> None:
    """3.8.7.2: the stamp tells of every revision, though this one is no significant one."""
    late = date(2024, 8, 20)
    (first, *_) = sent(fleet, "engine Plover", as_of=late)["engine Plover"].of("VEVENT")
    type_(fleet, "reading", "Plover", 280, "--on", "2024-08-20")
    feed = sent(fleet, "engine Plover", as_of=late, now=LATER)["engine Plover"]
    (same,) = [item for item in feed.of("VEVENT") if item["UID"] == first["UID"]]
    assert "over 14 days old" in first["DESCRIPTION"]
    assert "over 14 days old" not in same["DESCRIPTION"]
    assert (same["SEQUENCE"], same["DTSTAMP"]) == (first["SEQUENCE"], LATER)
    assert feed["DESCRIPTION"].startswith("Figures as of 20 Aug 2024, the last reading or run")


def test_a_warning_in_one_feed_leaves_the_event_of_another_without_it(fleet: Path) -> None:
    feeds = sent(fleet, "fleet", "engine Plover", as_of=date(2024, 8, 20))
    own = feeds["engine Plover"].of("VEVENT")[0]
    same = next(item for item in feeds["fleet"].of("VEVENT") if item["UID"] == own["UID"])
    warns = "over 14 days old" in same["DESCRIPTION"]
    assert warns is (same is feeds["fleet"].of("VEVENT")[0])
    assert same["SEQUENCE"] == own["SEQUENCE"]
