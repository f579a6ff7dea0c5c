"""fleetcare feed serve as it is run, and the QR code of an address when it is told."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.cli.typed import ROOT, fleetcare, refused, written

PATIENCE = 60  # seconds until a test that waits for an answer gives up
ADDRESS = "https://boats.example/f/"


class Serving:
    """A server in a program of its own: where it listens, what it said when it ended."""

    def __init__(self, *words: str) -> None:
        env = os.environ | {"PYTHONPATH": str(ROOT)}
        self.program = subprocess.Popen(
            [sys.executable, "-m", "fleetcare", "feed", "serve", "--port", "0", *words],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env,
        )  # fmt: skip
        assert self.program.stdout is not None
        self.first = self.program.stdout.readline()  # said once it listens
        found = re.search(r"http://127\.0\.0\.1:(\d+)/f/", self.first)
        if found is None:
            raise AssertionError(self.end())
        self.port = int(found[1])

    def fetch(self, path: str) -> tuple[int, bytes, list[tuple[str, str]]]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            connection.request("GET", path)
            answer = connection.getresponse()
            heads = [head for head in answer.getheaders() if head[0] != "Date"]
            return answer.status, answer.read(), heads
        finally:
            connection.close()

    def end(self, how: int = signal.SIGINT) -> tuple[str, str, int]:
        """What it said on stdout and stderr, and its exit code."""
        if self.program.poll() is None:
            self.program.send_signal(how)
        out, err = self.program.communicate(timeout=PATIENCE)
        return self.first + out, err, self.program.returncode


@contextmanager
def serving(*words: str) -> Iterator[Serving]:
    server = Serving(*words)
    try:
        yield server
    finally:
        server.end()


def added(name: str, *of: str) -> str:
    """The path of a new subscriber's feed at the server."""
    said = fleetcare("feed", "add", name, "--of", *of).out
    return "/f/" + re.findall(r"([A-Za-z0-9_-]{43}\.ics)", said)[0]


def test_a_feed_is_handed_out_fresh_after_every_entry_until_it_is_revoked(small: Path) -> None:
    whole, one = added("jetty", "fleet"), added("anna", "boat", "Lapwing")
    with serving() as server:
        assert "serving 2 feeds at http://127.0.0.1:" in server.first
        status, before, _ = server.fetch(whole)
        assert (status, before[:15]) == (200, b"BEGIN:VCALENDAR")
        assert server.fetch(one)[1] not in (before, b"")
        assert server.fetch(whole)[1] == before
        fleetcare("done", "Plover", "impeller")
        after = server.fetch(whole)[1]
        assert after != before
        fleetcare("feed", "revoke", "jetty")
        gone = server.fetch(whole)
        assert gone == server.fetch(f"/f/{'x' * 43}.ics") == server.fetch("/")
        assert gone[0] == 404
        assert server.fetch(one)[0] == 200
        out, err, code = server.end()
    assert (out.splitlines()[-1], code) == ("stopped", 0)
    for token in (whole[3:-4], one[3:-4]):
        assert token not in out + err


def test_a_service_managers_word_ends_it_as_cleanly(small: Path) -> None:
    server = Serving()
    assert "serving 0 feeds" in server.first
    out, err, code = server.end(signal.SIGTERM)
    assert (out.splitlines()[-1], err, code) == ("stopped", "", 0)


def test_a_new_subscriber_and_a_new_address_are_served_at_once(small: Path) -> None:
    with serving() as server:
        path = added("jetty", "fleet")
        assert server.fetch(path)[0] == 200
        said = fleetcare("feed", "renew", "jetty").out
        new = "/f/" + re.findall(r"([A-Za-z0-9_-]{43}\.ics)", said)[0]
        assert [server.fetch(each)[0] for each in (path, new)] == [404, 200]


def test_it_listens_for_this_machine_unless_more_is_said(small: Path) -> None:
    for host in ("0.0.0.0", "192.0.2.7", "::"):
        said = refused(small, "feed", "serve", "--host", host, "--dry-run")
        assert "can be reached from other machines" in said
        assert "--beyond-this-machine" in said
    more = ("--host", "0.0.0.0", "--beyond-this-machine", "--dry-run")
    assert "at 0.0.0.0" in fleetcare("feed", "serve", *more).out


def test_a_dry_run_says_what_would_be_served(small: Path) -> None:
    assert fleetcare("feed", "serve", "--dry-run").out == (
        "would serve 0 feeds at 127.0.0.1, port 8008\n"
    )
    added("jetty", "fleet")
    assert "would serve 1 feed at" in fleetcare("feed", "serve", "--dry-run").out


def test_without_waitress_it_says_how_to_get_it(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "waitress", None)
    assert "pip install 'fleetcare[serve]'" in refused(small, "feed", "serve", "--port", "0")


# -- QR codes -----------------------------------------------------------------------------------


def test_the_code_of_a_new_address_is_written_as_a_picture(small: Path, tmp_path: Path) -> None:
    from fleetcare.show.qr import qr_svg

    fleetcare("settings", "feed_address", ADDRESS)
    picture = tmp_path / "jetty.svg"
    said = fleetcare("feed", "add", "jetty", "--of", "fleet", "--qr", picture).out
    (subscribe,) = re.findall(r"^  (webcal:\S+)$", said, re.M)
    assert picture.read_bytes() == qr_svg(subscribe)
    assert picture.stat().st_mode & 0o077 == 0  # a secret: for its owner's eyes
    assert "\x1b" not in said  # no code in letters where there is no terminal
    again = fleetcare("feed", "renew", "jetty", "--qr", picture).out
    (other,) = re.findall(r"^  (webcal:\S+)$", again, re.M)
    assert other != subscribe
    assert picture.read_bytes() == qr_svg(other)


def test_a_code_without_an_address_on_the_web_is_refused(small: Path, tmp_path: Path) -> None:
    picture = tmp_path / "jetty.svg"
    said = refused(small, "feed", "add", "jetty", "--of", "fleet", "--qr", picture)
    assert "fleetcare settings feed_address" in said
    assert not picture.exists()
    assert "jetty" not in fleetcare("feed", "list").out


def test_an_address_is_told_once_and_never_again(small: Path) -> None:
    token = added("jetty", "fleet")[3:-4]
    everything = fleetcare("feed", "list").out + fleetcare("feed", "list", "--help").out
    assert token not in everything
    assert token not in repr(written(small))
    assert token.encode() not in small.read_bytes()
