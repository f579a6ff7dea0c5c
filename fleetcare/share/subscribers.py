"""Subscribers: a name, an audience and a secret address, of which only the hash is kept."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from fleetcare.errors import RefusedError
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import did_you_mean, folded, tidy, wrong_with
from fleetcare.share.audiences import Audience, from_kept
from fleetcare.share.feeds import Feed, current, settled_feeds, unsettled_feed
from fleetcare.share.sight import Sight
from fleetcare.show.calendar import Rendered
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.sent import Connection
from fleetcare.store.subscribers import SubscriberRow, fetch_subscribers

TOKEN_BYTES = 32  # 256 bits, 43 characters
TOKEN_FORM = r"[A-Za-z0-9_-]{43}"
HANDLE = 6  # characters of the hash by which an address is spoken of
_DOMAIN = b"fleetcare feed address\n"  # a hash of ours means nothing anywhere else


@dataclass(frozen=True, slots=True)
class Subscriber:
    """Someone with a feed: whose jobs it shows, its alarm or "", the hash of its address."""

    name: str
    audience: Audience
    alarm: str
    hash: str
    made: str

    @property
    def handle(self) -> str:
        """A few characters that tell addresses apart and give none away."""
        return self.hash[:HANDLE]

    @property
    def row(self) -> SubscriberRow:
        """As the fleet file keeps it."""
        return (self.name, self.audience.kept, self.alarm, self.hash, self.made)


def new_token() -> str:
    """A secret for an address, which nobody can guess."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(token: str) -> str:
    """The only form in which a token is kept."""
    return hashlib.sha256(_DOMAIN + token.encode("utf-8", "surrogatepass")).hexdigest()


def subscribers(connection: Connection, fleet: Fleet) -> list[Subscriber]:
    """Everyone who has a feed, in the order they were added."""
    return [
        Subscriber(row[0], from_kept(row[1], fleet), *row[2:])
        for row in fetch_subscribers(connection)
    ]


def free_name(name: str, others: Collection[Subscriber]) -> str:
    """The name as it is kept; refused when it is none, or taken."""
    wrong = wrong_with(name)
    if wrong:
        raise RefusedError(f'subscriber name "{name!r:.60}" {wrong}; choose another')
    if any(folded(other.name) == folded(name) for other in others):
        raise RefusedError(
            f'subscriber "{tidy(name)}" exists already; choose another name, or give it a new '
            f'address: fleetcare feed renew "{tidy(name)}"'
        )
    return tidy(name)


def find(name: str, others: Collection[Subscriber]) -> Subscriber:
    """The subscriber of that name; refused with the nearest names when there is none."""
    for other in others:
        if folded(other.name) == folded(name):
            return other
    known = [other.name for other in others]
    hint = did_you_mean(name, known) or "fleetcare feed list shows them."
    raise RefusedError(f'no subscriber "{name}". {hint}')


def feeds_for(
    connection: Connection, seen: Sight, everyone: Collection[Subscriber], now: datetime | None
) -> dict[Audience, Feed]:
    """The feeds that these subscribers have, by audience.

    Those of today are remembered as sent: call it inside a write transaction, with a sight that
    is still true. `now` is None for another day, of which nothing is remembered.
    """
    audiences = {each.audience for each in everyone}
    if now is None:
        return {audience: unsettled_feed(seen, audience) for audience in audiences}
    return settled_feeds(connection, seen, audiences, now)


def contents(feeds: Mapping[Audience, Feed], everyone: Collection[Subscriber]) -> dict[str, bytes]:
    """Hash of the address to the bytes of its calendar, for each of these subscribers."""
    rendered: Rendered = {}
    return {
        each.hash: feeds[each.audience].content(alarm=each.alarm or None, rendered=rendered)
        for each in everyone
    }


def live_contents(
    file: FleetFile, look: Callable[[], Sight], now: datetime | None
) -> dict[str, bytes]:
    """Hash of the address to the bytes of its calendar, for every live subscriber."""

    def act(connection: Connection, seen: Sight) -> tuple[dict[Audience, Feed], list[Subscriber]]:
        everyone = subscribers(connection, seen.fleet)
        return feeds_for(connection, seen, everyone, now), everyone

    return contents(*current(file, look, act))
