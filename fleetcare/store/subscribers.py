"""Who subscribed to which feed. Of an address only its hash is ever kept."""

from __future__ import annotations

import sqlite3

# Name, audience, alarm, hash of the address, when it was made (ISO 8601 with its zone).
SubscriberRow = tuple[str, str, str, str, str]


def fetch_subscribers(connection: sqlite3.Connection) -> list[SubscriberRow]:
    """Every subscriber, in the order they were added."""
    return connection.execute(
        "select name, audience, alarm, hash, made from subscriber order by id"
    ).fetchall()


def add_subscriber(connection: sqlite3.Connection, row: SubscriberRow) -> None:
    """Add a subscriber; the caller has made sure that the name is free."""
    connection.execute(
        "insert into subscriber (name, audience, alarm, hash, made) values (?, ?, ?, ?, ?)", row
    )


def change_hash(connection: sqlite3.Connection, name: str, hashed: str, made: str) -> None:
    """Give a subscriber another address; the old one belongs to nobody from now on."""
    connection.execute(
        "update subscriber set hash = ?, made = ? where name = ?", (hashed, made, name)
    )


def drop_subscriber(connection: sqlite3.Connection, name: str) -> None:
    """Remove a subscriber; the address belongs to nobody from now on."""
    connection.execute("delete from subscriber where name = ?", (name,))


def data_version(connection: sqlite3.Connection) -> int:
    """A number that changes when another connection has written to the file."""
    number: int = connection.execute("pragma data_version").fetchone()[0]
    return number
