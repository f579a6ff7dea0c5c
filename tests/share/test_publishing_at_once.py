"""Programs that publish at once, beside others that write: no torn file, no lost state.

Real processes; nothing waits for time. What a power cut does is not tried here.
"""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.share.small_feeds import Feeds, made
from tests.show.feed_reader import read_feed

ROOT = Path(__file__).parent.parent.parent
ROUNDS = 3


@pytest.fixture
def feeds(tmp_path: Path) -> Feeds:
    return made(tmp_path)


def start(feeds: Feeds, *words: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "fleetcare", *map(str, words), "--fleet", str(feeds.fleet)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip


def numbers(content: bytes) -> dict[str, int]:
    return {item["UID"]: item["SEQUENCE"] for item in read_feed(content).of("VEVENT")}


def sent(fleet: Path) -> dict[str, int]:
    connection = sqlite3.connect(fleet)
    try:
        return dict(connection.execute("select uid, sequence from sent").fetchall())
    finally:
        connection.close()


def test_publishers_and_writers_at_once_tear_no_file_and_lose_no_state(feeds: Feeds) -> None:
    token = feeds.add("plover", "engine", "Plover")
    paths = [feeds.file, feeds.folder / f"{token}.ics"]
    contents: list[set[bytes]] = [{path.read_bytes()} for path in paths]
    for number in range(ROUNDS):
        running = [
            start(feeds, "feed", "publish"),
            start(feeds, "feed", "publish"),
            start(feeds, "feed", "write", feeds.folder.parent / "whole.ics"),
            start(feeds, "done", "Plover", "gear oil", "--on", f"{3 * (ROUNDS - number)} days ago",
                  "--found", "clean"),
        ]  # fmt: skip
        while any(each.poll() is None for each in running):
            for path, seen in zip(paths, contents, strict=True):
                seen.add(path.read_bytes())
        for each in running:
            out, err = each.communicate()
            assert each.returncode == 0, out + err
    feeds.publish()
    state = sent(feeds.fleet)
    for path, seen in zip(paths, contents, strict=True):
        last = numbers(path.read_bytes())
        assert last.items() <= state.items()
        for content in seen:
            for uid, number in numbers(content).items():  # each is whole: the strict reader says
                assert number <= last.get(uid, number)
    assert {content.count(b"gear oil\\, due") for content in contents[0]} - {0}
    assert feeds.publish() == f"{feeds.folder}: 2 feeds, 0 changed.\n"
    assert not list(feeds.folder.glob(".fleetcare-half-*"))


def test_a_publisher_killed_half_way_leaves_whole_files_and_the_next_one_ends_it(
    feeds: Feeds,
) -> None:
    tokens = [feeds.token, *(feeds.add(f"n{number}", "fleet") for number in range(9))]
    paths = [feeds.folder / f"{token}.ics" for token in tokens]
    whole = feeds.file.read_bytes()
    old = b"of yesterday"
    for path in paths:
        path.write_bytes(old)
    before = sent(feeds.fleet)
    publisher = start(feeds, "feed", "publish")
    while all(path.read_bytes() == old for path in paths) and publisher.poll() is None:
        pass  # until the first file is new
    publisher.send_signal(signal.SIGKILL)
    publisher.communicate()
    assert {path.read_bytes() for path in paths} <= {old, whole}
    assert sent(feeds.fleet) == before
    feeds.publish()
    assert {path.read_bytes() for path in paths} == {whole}
    assert not list(feeds.folder.glob(".fleetcare-half-*"))


def test_an_address_revoked_while_others_publish_stays_gone(feeds: Feeds) -> None:
    feeds.add("plover", "engine", "Plover")
    for _ in range(2):
        name, token = "guest", feeds.add("guest", "fleet")
        feeds.file.write_bytes(b"of yesterday")
        running = [
            start(feeds, "feed", "publish"),
            start(feeds, "feed", "publish"),
            start(feeds, "feed", "revoke", name),
        ]
        for each in running:
            out, err = each.communicate()
            assert each.returncode == 0, out + err
        assert not (feeds.folder / f"{token}.ics").exists()
    assert len(list(feeds.folder.glob("*.ics"))) == 2
