"""A small fleet with a published folder and one subscriber, typed as a user would."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner

from fleetcare.cli.main import cli
from fleetcare.due.rows import due_list
from fleetcare.rules.shipped import read_book
from fleetcare.share.audiences import from_kept
from fleetcare.share.feeds import current, settled_feeds
from fleetcare.share.sight import Sight, sight
from fleetcare.store.fleet_file import FleetFile
from tests.show.feed_reader import Component, read_feed

TOKEN = re.compile(r"([A-Za-z0-9_-]{43})\.ics")


@dataclass
class Feeds:
    """A fleet file, its published folder, and one subscriber with their token."""

    fleet: Path
    folder: Path
    name: str
    token: str

    @property
    def file(self) -> Path:
        return self.folder / f"{self.token}.ics"

    def type(self, *words: object, code: int = 0) -> str:
        return type_(self.fleet, *words, code=code)

    def publish(self) -> str:
        return self.type("feed", "publish")

    def add(self, name: str, *words: object) -> str:
        """Add a subscriber and give their token."""
        return token_in(self.type("feed", "add", name, "--of", *words))


def type_(fleet: Path, *words: object, code: int = 0) -> str:
    """Type a command on a fleet; what it said, results and notes."""
    done = CliRunner().invoke(cli, [*map(str, words), "--fleet", str(fleet)], prog_name="fleetcare")
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done.output


def token_in(text: str) -> str:
    found = set(TOKEN.findall(text))
    assert len(found) == 1, text
    return str(found.pop())


def made(place: Path) -> Feeds:
    """Lapwing with Plover (hire, fresh), Dunlin with Knot (owner, salt), Spare in store.

    The fleet began 40 days ago; Plover was read today. One subscriber, kim, has the whole fleet.
    """
    fleet, folder = place / "fleet.db", place / "feeds"
    fleet.write_bytes(_young_fleet())
    said = type_(fleet, "feed", "add", "kim", "--of", "fleet", "--publish-to", folder)
    return Feeds(fleet, folder, "kim", token_in(said))


@cache
def _young_fleet() -> bytes:
    with TemporaryDirectory() as place:
        fleet = Path(place) / "fleet.db"
        since = ("--since", "40 days ago")
        type_(fleet, "new", "--hemisphere", "northern", "--rules", "small-petrol", "--by", "jetty")
        type_(fleet, "boat", "add", "Lapwing", "--use", "hire", "--water", "fresh", *since)
        type_(fleet, "boat", "add", "Dunlin", "--use", "owner", "--water", "salt", *since)
        plain = ("--hp", "6", "--stroke", "4", *since)
        type_(fleet, "engine", "add", "Plover", "--boat", "Lapwing", *plain, "--reading", 250)
        type_(fleet, "engine", "add", "Knot", "--boat", "Dunlin", *plain, "--no-meter")
        type_(fleet, "engine", "add", "Spare", *plain, "--reading", 90)
        type_(fleet, "reading", "Plover", 260)
        type_(fleet, "done", "Plover", "impeller", "plugs", "--on", "20 days ago")
        return fleet.read_bytes()


# -- a fleet of a day that stands still -----------------------------------------------------------

BEGAN, TODAY = date(2024, 4, 1), date(2024, 7, 18)
NOW = datetime(2024, 7, 18, 22, 20, tzinfo=UTC)


def old_fleet(path: Path) -> None:
    """The same boats and engines in 2024: Plover read on 12 July, Knot run on 16 July."""
    since = ("--since", BEGAN)
    type_(path, "new", "--hemisphere", "northern", "--rules", "small-petrol", "--by", "jetty")
    pier = ("--place", "North Pier")
    type_(path, "boat", "add", "Lapwing", "--use", "hire", "--water", "fresh", *pier, *since)
    type_(path, "boat", "add", "Dunlin", "--use", "owner", "--water", "salt", *since)
    plain = ("--hp", "6", "--stroke", "4", *since)
    type_(path, "engine", "add", "Plover", "--boat", "Lapwing", *plain, "--reading", 250)
    type_(path, "engine", "add", "Knot", "--boat", "Dunlin", *plain, "--no-meter")
    type_(path, "engine", "add", "Spare", *plain, "--reading", 90)
    for engine in ("Plover", "Knot"):
        type_(path, "done", engine, "impeller", "plugs", "--on", "2024-05-02")
        type_(
            path, "done", engine, "swivel grease", "--on", "2024-07-10", "--found", "top and bottom"
        )
    type_(path, "reading", "Plover", 280, "--on", "2024-07-12")
    type_(path, "run", "Knot", 3, "--on", "2024-07-16")


def seen(path: Path, as_of: date = TODAY) -> Sight:
    """The fleet as feeds see it on a day, its dates by pace and not by the forecast."""
    with FleetFile(path) as file:
        fleet, history = file.fleet(), file.history(as_of)
    book = read_book(None, {"small-petrol"}, words=False)
    return sight(fleet, history, book, due_list(fleet, history, book, as_of), as_of)


def sent(
    path: Path, *audiences: str, as_of: date = TODAY, now: datetime = NOW
) -> dict[str, Component]:
    """The feeds of these audiences as they go out, read back by the strict reader."""
    with FleetFile(path) as file:
        look = seen(path, as_of)
        asked = {text: from_kept(text, look.fleet) for text in audiences}
        feeds = current(
            file,
            lambda: look,
            lambda connection, known: settled_feeds(connection, known, asked.values(), now),
        )
    return {text: read_feed(feeds[audience].content()) for text, audience in asked.items()}


def by_title(feed: Component) -> dict[str, Component]:
    """The events of a feed by their titles."""
    return {item["SUMMARY"]: item for item in feed.of("VEVENT")}
