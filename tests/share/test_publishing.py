"""A published folder: one file a subscriber, whole at every moment, and nothing else touched.

The form of tokens (256 bits, base64 without padding, RFC 4648, 5) makes 43 characters.
"""

from __future__ import annotations

import json
import os
import re
import secrets
from pathlib import Path

import pytest

from fleetcare.share.subscribers import TOKEN_FORM, hash_of, new_token
from tests.share.small_feeds import Feeds, made, type_
from tests.show.feed_reader import read_feed


@pytest.fixture
def feeds(tmp_path: Path) -> Feeds:
    return made(tmp_path)


def kept(folder: Path) -> dict[str, tuple[bytes, int, int]]:
    """Every file of a folder: its bytes, when it was changed, which it is."""
    return {
        path.name: (path.read_bytes(), path.stat().st_mtime_ns, path.stat().st_ino)
        for path in folder.iterdir()
        if path.is_file()
    }


def test_a_token_has_256_bits_and_only_a_hash_of_it_is_kept(feeds: Feeds) -> None:
    assert all(re.fullmatch(TOKEN_FORM, new_token()) for _ in range(50))
    assert len({new_token() for _ in range(50)}) == 50
    assert len(secrets.token_urlsafe(32)) == len(feeds.token) == 43
    stored = feeds.fleet.read_bytes()
    assert feeds.token.encode() not in stored
    assert hash_of(feeds.token).encode() in stored
    # a sum of the bare token, which another program might keep as well, means nothing here
    import hashlib

    assert hash_of(feeds.token) != hashlib.sha256(feeds.token.encode()).hexdigest()


def test_the_first_file_is_made_with_its_subscriber(feeds: Feeds) -> None:
    assert read_feed(feeds.file.read_bytes())["NAME"] == "Outboard jobs"
    assert feeds.file.stat().st_mode & 0o777 == 0o644
    assert feeds.folder.stat().st_mode & 0o777 == 0o711
    assert feeds.type("settings", "publish_folder").split()[-1] != "(not"
    token = feeds.add("jetty", "engine", "Plover")  # the folder is known by now
    assert (feeds.folder / f"{token}.ics").exists()


def test_what_did_not_change_is_left_as_it_is(feeds: Feeds) -> None:
    feeds.add("jetty", "use", "hire")
    before = kept(feeds.folder)
    assert feeds.publish() == f"{feeds.folder}: 2 feeds, 0 changed.\n"
    assert kept(feeds.folder) == before


def test_only_feeds_that_changed_are_written(feeds: Feeds) -> None:
    other = feeds.add("dunlin", "boat", "Dunlin")
    before = kept(feeds.folder)
    feeds.type("done", "Plover", "gear oil", "--found", "clean")
    assert feeds.publish() == f"{feeds.folder}: 2 feeds, 1 changed.\n"
    after = kept(feeds.folder)
    assert after[f"{other}.ics"] == before[f"{other}.ics"]
    assert after[feeds.file.name] != before[feeds.file.name]


def test_files_of_addresses_that_nobody_holds_go_and_others_are_never_touched(
    feeds: Feeds, tmp_path: Path
) -> None:
    unknown = feeds.folder / f"{new_token()}.ics"
    unknown.write_bytes(b"of nobody")
    elsewhere = tmp_path / "elsewhere.ics"
    elsewhere.write_bytes(b"not ours")
    token = new_token()
    others = [
        "notes.txt", "fleet.ics", f"{token[:-1]}.ics", f"{token}x.ics", f"{token}.ics.bak",
        f"{token}.ICS", f".{token}.ics", f"{token[:-1]}!.ics",
    ]  # fmt: skip
    for name in others:
        (feeds.folder / name).write_bytes(b"not ours")
    (feeds.folder / f"{new_token()}.ics").mkdir()
    (feeds.folder / f"{new_token()}.ics").symlink_to(elsewhere)
    before = {path.name for path in feeds.folder.iterdir()}
    assert "1 removed that nobody holds." in feeds.publish()
    assert {path.name for path in feeds.folder.iterdir()} == before - {unknown.name}
    assert {(feeds.folder / name).read_bytes() for name in others} == {b"not ours"}
    assert elsewhere.read_bytes() == b"not ours"


def test_a_subscriber_without_a_file_is_named_with_the_remedy(feeds: Feeds) -> None:
    feeds.file.unlink()
    said = feeds.publish()
    assert said.startswith(f"{feeds.folder}: 0 feeds, 0 changed.\n")
    assert '"kim" has no file there' in said
    assert "fleetcare feed renew kim\n" in said
    feeds.type("feed", "renew", "kim")
    assert feeds.publish() == f"{feeds.folder}: 1 feed, 0 changed.\n"


def test_a_revoked_address_is_gone_at_once_and_the_others_stay(feeds: Feeds) -> None:
    other = feeds.add("jetty", "fleet")
    before = kept(feeds.folder)
    said = feeds.type("feed", "revoke", "KIM")
    assert said == f"revoked kim; its file in {feeds.folder} is removed\n"
    assert not feeds.file.exists()
    assert kept(feeds.folder)[f"{other}.ics"] == before[f"{other}.ics"]
    assert feeds.publish() == f"{feeds.folder}: 1 feed, 0 changed.\n"
    assert 'no subscriber "kim"' in feeds.type("feed", "renew", "kim", code=1)


def test_a_renewed_address_replaces_the_old_one(feeds: Feeds) -> None:
    from tests.share.small_feeds import token_in

    content = feeds.file.read_bytes()
    token = token_in(feeds.type("feed", "renew", "kim"))
    assert token != feeds.token
    assert not feeds.file.exists()
    assert (feeds.folder / f"{token}.ics").read_bytes() == content


def test_another_fleets_folder_is_refused_and_left_alone(feeds: Feeds, tmp_path: Path) -> None:
    before = kept(feeds.folder)
    other = tmp_path / "other.db"
    type_(other, "new")
    for words in (("publish", feeds.folder), ("add", "x", "--of", "fleet", "--publish-to",
                                              feeds.folder)):  # fmt: skip
        assert "holds the feeds of another fleet" in type_(other, "feed", *words, code=1)
    assert kept(feeds.folder) == before
    assert "nobody has a feed yet" in type_(other, "feed", "list")


def test_a_folder_of_another_day_leaves_no_trace(feeds: Feeds) -> None:
    from tests.cli.typed import written

    before = written(feeds.fleet)
    today = feeds.file.read_bytes()
    feeds.type("feed", "publish", "--as-of", "yesterday")
    read = read_feed(feeds.file.read_bytes())
    assert {item["SEQUENCE"] for item in read.of("VEVENT")} == {0}
    assert {item["DTSTAMP"].time().isoformat() for item in read.of("VEVENT")} == {"00:00:00"}
    assert written(feeds.fleet) == before
    feeds.publish()
    assert feeds.file.read_bytes() == today


# -- when it goes wrong ---------------------------------------------------------------------------


def test_a_failure_half_way_leaves_every_file_whole_and_names_no_token(
    feeds: Feeds, monkeypatch: pytest.MonkeyPatch
) -> None:
    tokens = [feeds.token, *(feeds.add(f"n{number}", "fleet") for number in range(4))]
    old = {token: (feeds.folder / f"{token}.ics").read_bytes() for token in tokens}
    feeds.type("done", "Plover", "gear oil", "--found", "clean")
    really, count = os.replace, 0

    def fails_the_third_time(source: Path, target: Path) -> None:
        nonlocal count
        count += 1
        if count == 3:
            raise OSError(28, "No space left on device", str(source), None, str(target))
        really(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", fails_the_third_time)
        said = feeds.type("feed", "publish", code=4)
    assert re.search(r'the file of "\w+" in .* cannot be written: No space left on device', said)
    assert not any(token in said for token in tokens)
    now = {token: (feeds.folder / f"{token}.ics").read_bytes() for token in tokens}
    new = [token for token in tokens if now[token] != old[token]]
    assert len(new) == 2
    assert len({now[token] for token in new}) == 1
    assert not list(feeds.folder.glob(".fleetcare-half-*"))
    assert feeds.publish() == f"{feeds.folder}: 5 feeds, 3 changed.\n"
    assert {(feeds.folder / f"{token}.ics").read_bytes() for token in tokens} == {now[new[0]]}


def test_when_the_first_file_cannot_be_written_nobody_is_added(
    feeds: Feeds, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(source: Path, target: Path) -> None:
        raise OSError(13, "Permission denied", str(source), None, str(target))

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", fails)
        said = feeds.type("feed", "add", "jetty", "--of", "fleet", code=4)
    assert said.endswith(f'the file of "jetty" in {feeds.folder} cannot be written: '
                         "Permission denied\n")  # fmt: skip
    assert "jetty" not in feeds.type("feed", "list")
    assert len(list(feeds.folder.glob("*.ics"))) == 1


def test_a_file_that_cannot_be_removed_is_told_without_its_name(
    feeds: Feeds, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(path: Path, missing_ok: bool = False) -> None:
        raise OSError(13, "Permission denied", str(path))

    with monkeypatch.context() as patched:
        patched.setattr(Path, "unlink", fails)
        said = feeds.type("feed", "revoke", "kim", code=4)
    assert f'the file of "kim" in {feeds.folder} could not be removed: Permission denied' in said
    assert feeds.token not in said
    assert "nobody has a feed yet" in feeds.type("feed", "list")  # it is revoked all the same
    assert "1 removed that nobody holds" in feeds.publish()


def test_a_folder_that_cannot_be_is_refused(feeds: Feeds, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    said = feeds.type("feed", "publish", tmp_path / "file" / "below", code=4)
    assert "cannot be used to publish" in said
    other = tmp_path / "other.db"
    type_(other, "new")
    assert "no folder to publish into" in type_(other, "feed", "publish", code=1)


def test_what_a_killed_program_left_half_made_goes(
    feeds: Feeds, monkeypatch: pytest.MonkeyPatch
) -> None:
    names: list[Path] = []
    replace = Path.replace

    def noted(self: Path, target: Path) -> Path:
        names.append(self)
        return replace(self, target)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", noted)
        feeds.file.write_bytes(b"of yesterday")
        feeds.publish()
    assert [name.parent for name in names] == [feeds.folder]
    for half in (names[0], feeds.folder / ".fleetcare-half-abcd_123"):  # as older ones named it
        half.write_bytes(b"BEGIN:VCAL")
    feeds.publish()
    assert {path.name for path in feeds.folder.iterdir()} == {
        ".fleetcare-folder", feeds.file.name
    }  # fmt: skip


def test_no_output_tells_an_address_again(feeds: Feeds) -> None:
    said = "".join(
        feeds.type("feed", *words)
        for words in (("list",), ("list", "--format", "json"), ("publish",))
    )
    said += feeds.type("check") + feeds.type("log") + feeds.type("settings")
    assert feeds.token not in said
    rows = json.loads(feeds.type("feed", "list", "--format", "json"))["rows"]
    assert rows[0]["handle"] == hash_of(feeds.token)[:6]
    assert feeds.token.encode() not in feeds.file.read_bytes()  # nor does the feed itself
