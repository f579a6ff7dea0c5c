"""Subscribers added, renewed, revoked, and everyone's file written, as one with the fleet file.

What was sent is kept before the files are written, and the files are written while no other
program may write to the fleet file: a program killed between the two leaves every file whole, and
the next run brings them up to date.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from fleetcare.errors import Fault, RefusedError
from fleetcare.fleet.settings import changed
from fleetcare.share import folder as folders
from fleetcare.share.audiences import Audience
from fleetcare.share.feeds import LOOKS, Feed, current
from fleetcare.share.folder import Published
from fleetcare.share.sight import Sight
from fleetcare.share.subscribers import (
    Subscriber,
    contents,
    feeds_for,
    find,
    free_name,
    hash_of,
    new_token,
    subscribers,
)
from fleetcare.store.append import set_value
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.sent import Connection
from fleetcare.store.subscribers import (
    add_subscriber,
    change_hash,
    data_version,
    drop_subscriber,
)

FOLDER_SETTING = "publish_folder"
Look = Callable[[], Sight]
Made = tuple[dict[Audience, Feed], list[Subscriber], int]


def add(
    file: FleetFile, look: Look, who: tuple[str, Audience, str], folder: Path | None, now: datetime
) -> tuple[Subscriber, str]:
    """A new subscriber (name, audience, alarm) and the secret of their address, told only here.

    With a folder their first file is written there; when that fails nobody is added.
    """
    name, audience, alarm = who
    token = new_token()

    def act(connection: Connection, seen: Sight) -> Subscriber:
        free = free_name(name, subscribers(connection, seen.fleet))
        new = Subscriber(free, audience, alarm, hash_of(token), now.isoformat())
        add_subscriber(connection, new.row)
        _first_file(connection, seen, new, token, folder, now)
        return new

    return current(file, look, act), token


def renew(
    file: FleetFile, look: Look, name: str, folder: Path | None, now: datetime
) -> tuple[Subscriber, str]:
    """A new secret for a subscriber; the old address is gone at once."""
    token = new_token()

    def act(connection: Connection, seen: Sight) -> tuple[Subscriber, str]:
        old = find(name, subscribers(connection, seen.fleet))
        new = replace(old, hash=hash_of(token), made=now.isoformat())
        change_hash(connection, old.name, new.hash, new.made)
        _first_file(connection, seen, new, token, folder, now)
        return new, old.hash

    new, before = current(file, look, act)
    if folder is not None:
        folders.withdraw(folder, before, new.name)
    return new, token


def _first_file(
    connection: Connection, seen: Sight, new: Subscriber, token: str,
    folder: Path | None, now: datetime,
) -> None:  # fmt: skip
    """Write a new address's file, and remember the folder if the fleet has none yet."""
    if folder is None:
        return
    folders.open_folder(folder, seen.fleet.id)
    _remember(connection, seen, folder)
    made = contents(feeds_for(connection, seen, [new], now), [new])
    folders.put(folder, token, made[new.hash], new.name)


def _remember(connection: Connection, seen: Sight, folder: Path) -> None:
    """Let the fleet know the folder of its feeds, if it knows none yet."""
    settings = seen.fleet.settings
    if settings.publish_folder:
        return
    after = changed(settings, FOLDER_SETTING, str(folder))
    if isinstance(after, Fault):
        raise RefusedError(str(after))
    set_value(connection, FOLDER_SETTING, str(folder))


def revoke(file: FleetFile, name: str, folder: Path | None) -> tuple[Subscriber, bool]:
    """End a subscriber's feed; whether there was a file of it in the folder to remove."""
    with file.writing() as connection:
        old = find(name, subscribers(connection, file.fleet()))
        drop_subscriber(connection, old.name)
    return old, folder is not None and folders.withdraw(folder, old.hash, old.name)


def publish(file: FleetFile, look: Look, folder: Path, now: datetime | None) -> Published:
    """Bring every subscriber's file in the folder up to date.

    `now` is None for another day than today, of which nothing is remembered.
    """

    def settle(connection: Connection, seen: Sight) -> Made:
        everyone = subscribers(connection, seen.fleet)
        folders.open_folder(folder, seen.fleet.id)
        if now is not None:
            _remember(connection, seen, folder)
        return feeds_for(connection, seen, everyone, now), everyone, data_version(connection)

    for _ in range(LOOKS):
        feeds, everyone, version = current(file, look, settle)
        texts = contents(feeds, everyone)
        with file.writing(keep=False) as connection:
            if data_version(connection) == version:  # nobody wrote since: these are the newest
                return folders.publish(folder, texts, everyone)

    def all_at_once(connection: Connection, seen: Sight) -> Published:
        feeds, everyone, _ = settle(connection, seen)
        return folders.publish(folder, contents(feeds, everyone), everyone)

    return current(file, look, all_at_once)
