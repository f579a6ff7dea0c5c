"""The feed server on its sockets: real waitress, a free port of this machine, no sleeping."""

from __future__ import annotations

import errno
import gzip
import http.client
import socket
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from waitress import wasyncore

from fleetcare.errors import BusyError, RefusedError
from fleetcare.share import serve
from fleetcare.share.serve import App, Feeds, address_of, is_loopback, make_server
from fleetcare.share.subscribers import hash_of, new_token

TOKEN = new_token()
PATH = f"/f/{TOKEN}.ics"
CONTENT = b"BEGIN:VCALENDAR\r\n" + b"SUMMARY:Plover: impeller\r\n" * 40 + b"END:VCALENDAR\r\n"
START = datetime(2031, 5, 12, 8, 0, tzinfo=UTC)
SLOW = 200
PATIENCE = 20  # seconds until a test that waits for an answer gives up


class Desk:
    """What the server asks of the world: feeds, a mark that moves, a clock."""

    def __init__(self) -> None:
        self.contents: dict[str, bytes] = {hash_of(TOKEN): CONTENT}
        self.mark = 0
        self.made = 0
        self.now = START
        self.said: list[str] = []
        self.fault: Exception | None = None

    def make(self) -> Mapping[str, bytes]:
        self.made += 1
        if self.fault is not None:
            raise self.fault
        return dict(self.contents)

    def commit(self, **contents: bytes) -> None:
        self.contents = {hash_of(token): content for token, content in contents.items()}
        self.mark += 1

    def feeds(self) -> Feeds:
        return Feeds(self.make, lambda: self.mark, lambda: self.now)

    def app(self) -> App:
        return App(self.feeds(), lambda: self.now, self.said.append)


@contextmanager
def serving(desk: Desk) -> Iterator[int]:
    """The port of a server that runs meanwhile; its socket listens before this is entered."""
    server = make_server(desk.app(), "127.0.0.1", 0)
    runner = threading.Thread(target=server.run)
    runner.start()
    try:
        yield int(address_of(server).removeprefix("http://127.0.0.1:"))
    finally:
        server.trigger.pull_trigger(lambda: wasyncore.close_all(server._map))
        runner.join(PATIENCE)
        server.task_dispatcher.shutdown()
        assert not runner.is_alive()


def fetch(port: int, path: str = PATH, method: str = "GET", **headers: str) -> tuple[Any, bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    try:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, path, headers=named)
        answer = connection.getresponse()
        return answer, answer.read()
    finally:
        connection.close()


def raw(port: int, request: bytes) -> bytes:
    """Everything the server answers to these octets, until it closes, or has had enough."""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as wire:
        answer = b""
        with suppress(ConnectionResetError, BrokenPipeError):
            wire.sendall(request)
            try:
                wire.shutdown(socket.SHUT_WR)
            except OSError as error:  # reset by the server before we were done with sending
                if error.errno != errno.ENOTCONN:
                    raise
            while chunk := wire.recv(65536):
                answer += chunk
    return answer


# -- on the wire --------------------------------------------------------------------------------


def test_a_subscriber_gets_the_feed_and_then_not_modified() -> None:
    with serving(Desk()) as port:
        whole, body = fetch(port)
        assert (whole.status, body) == (200, CONTENT)
        assert whole.getheader("Content-Type") == "text/calendar; charset=utf-8"
        assert whole.getheader("Server") is None
        again, nothing = fetch(port, If_None_Match=whole.getheader("ETag"))
        assert (again.status, nothing) == (304, b"")
        for name in ("ETag", "Cache-Control", "Vary", "Date"):  # RFC 9110 15.4.5
            assert again.getheader(name) is not None
        zipped, packed = fetch(port, Accept_Encoding="gzip")
        assert zipped.getheader("Content-Encoding") == "gzip"
        assert gzip.decompress(packed) == CONTENT


def test_head_says_the_length_of_get_and_sends_nothing() -> None:  # RFC 9110 9.3.2
    with serving(Desk()) as port:
        get, _ = fetch(port)
        head, body = fetch(port, method="HEAD")
        assert (head.status, body) == (200, b"")
        assert head.getheader("Content-Length") == get.getheader("Content-Length")
        answer = raw(port, f"HEAD {PATH} HTTP/1.0\r\n\r\n".encode())
        assert answer.endswith(b"\r\n\r\n")


def test_honest_subscribers_are_served_while_hundreds_drip() -> None:
    # 200 connections that send an octet now and then: with a limit of 100 connections an honest
    # request was seen to wait for good
    with serving(Desk()) as port:
        slow = [
            socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) for _ in range(SLOW)
        ]
        try:
            for octet in b"GET /":
                for wire in slow:
                    wire.send(bytes([octet]))
                answer, body = fetch(port)
                assert (answer.status, body) == (200, CONTENT)
        finally:
            for wire in slow:
                wire.close()


def test_nothing_listens_on_other_addresses() -> None:
    with serving(Desk()) as port:
        others = {"127.0.0.2"}
        others |= {str(found[4][0]) for found in addresses_of_this_machine()} - {"127.0.0.1"}
        for other in others:
            with pytest.raises(OSError), socket.create_connection((other, port), timeout=PATIENCE):
                pass


def addresses_of_this_machine() -> list[Any]:
    try:
        return socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET, socket.SOCK_STREAM)
    except OSError:
        return []


def test_hostile_requests_get_the_same_404_or_a_plain_refusal() -> None:
    with serving(Desk()) as port:
        unknown = shape(raw(port, f"GET /f/{new_token()}.ics HTTP/1.0\r\n\r\n".encode()))
        assert unknown[0] == b"HTTP/1.0 404 Not Found"
        for path in (
            b"/", b"/f/", b"//", b"/../../etc/passwd", b"/%2e%2e/%2e%2e/etc/passwd", b"/..%2f..",
            b"/%00", b"/%ff%fe", b"/f/%0d%0aX:%20y", b"/fleet.db", b"*", b"/f/" + b"a" * 5000,
            PATH.encode() + b"%00", PATH.encode() + b"/", PATH.encode() + b"%0a",
        ):  # fmt: skip
            assert shape(raw(port, b"GET " + path + b" HTTP/1.0\r\n\r\n")) == unknown, path
        whole, _ = fetch(port)
        assert whole.status == 200


def shape(answer: bytes) -> list[bytes]:
    """The answer's lines, the day and time left out."""
    return [line for line in answer.split(b"\r\n") if not line.startswith(b"Date:")]


def test_too_much_is_refused_and_the_server_goes_on() -> None:
    with serving(Desk()) as port:
        long = b"GET " + PATH.encode() + b" HTTP/1.0\r\nX-A: " + b"a" * 20_000 + b"\r\n\r\n"
        assert raw(port, long)[:13] in (b"HTTP/1.0 431 ", b"")
        big = b"POST " + PATH.encode() + b" HTTP/1.0\r\nContent-Length: 5000\r\n\r\n" + b"a" * 5000
        assert raw(port, big)[:13] in (b"HTTP/1.0 413 ", b"")
        garbage = raw(port, b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n")
        assert b"200 OK" not in garbage
        for answer in (raw(port, long), raw(port, big), garbage):
            assert TOKEN.encode() not in answer
        assert fetch(port)[0].status == 200


def test_a_renewed_address_is_gone_at_the_next_request() -> None:
    desk = Desk()
    with serving(desk) as port:
        assert fetch(port)[0].status == 200
        other = new_token()
        desk.commit(**{other: CONTENT})
        gone, body = fetch(port)
        never, nobody = fetch(port, f"/f/{new_token()}.ics")
        assert (gone.status, body) == (never.status, nobody) == (404, b"not found\n")
        assert sorted(gone.headers.items())[1:] == sorted(never.headers.items())[1:]
        assert fetch(port, f"/f/{other}.ics")[0].status == 200


# -- freshness ----------------------------------------------------------------------------------


def test_feeds_are_made_once_until_something_changes() -> None:
    desk = Desk()
    feeds = desk.feeds()
    assert feeds.current() is feeds.current()
    assert desk.made == 1
    desk.commit(**{TOKEN: b"other"})
    assert feeds.current()[hash_of(TOKEN)].plain == b"other"
    assert desk.made == 2


def test_what_changed_while_feeds_were_made_is_seen_at_once() -> None:
    desk = Desk()
    feeds = desk.feeds()
    make = desk.make

    def overtaken() -> Mapping[str, bytes]:
        made = make()
        if desk.made == 1:
            desk.commit(**{TOKEN: b"written meanwhile"})
        return made

    feeds._make = overtaken
    assert feeds.current()[hash_of(TOKEN)].plain == b"written meanwhile"
    assert desk.made == 2


def test_a_file_that_never_rests_does_not_keep_a_subscriber_waiting() -> None:
    desk = Desk()
    feeds = desk.feeds()
    make = desk.make

    def overtaken() -> Mapping[str, bytes]:
        desk.mark += 1
        return make()

    feeds._make = overtaken
    assert feeds.current()[hash_of(TOKEN)].plain == CONTENT
    assert desk.made == serve.LOOKS
    feeds.current()
    assert desk.made == 2 * serve.LOOKS  # and it is not taken for rest


def test_bytes_that_stay_keep_their_tag_and_moment() -> None:
    desk = Desk()
    feeds = desk.feeds()
    first = feeds.current()[hash_of(TOKEN)]
    desk.now += timedelta(days=1)
    desk.commit(**{TOKEN: CONTENT, new_token(): b"a new one"})
    assert feeds.current()[hash_of(TOKEN)] is first
    desk.commit(**{TOKEN: CONTENT + b" "})
    later = feeds.current()[hash_of(TOKEN)]
    assert later.changed == desk.now + timedelta(seconds=1)


def test_paths_of_no_address_cost_no_look_at_the_file() -> None:
    desk = Desk()
    app = desk.app()
    assert app._reply("GET", "/", {}).status == 404
    assert desk.made == 0


# -- faults -------------------------------------------------------------------------------------


def test_a_file_in_use_asks_the_subscriber_to_come_again_and_says_why_once() -> None:
    desk = Desk()
    app = desk.app()
    desk.fault = BusyError("fleet.db was in use")
    assert [app._reply("GET", PATH, {}).status for _ in range(3)] == [503] * 3
    assert desk.said == ["no feed can be had now: fleet.db was in use"]
    desk.fault = None
    assert app._reply("GET", PATH, {}).status == 200
    desk.fault = BusyError("fleet.db was in use")
    desk.mark += 1
    assert app._reply("GET", PATH, {}).status == 503
    assert len(desk.said) == 2


def test_a_fault_of_ours_tells_nobody_what_was_asked_for(
    capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    desk = Desk()
    desk.fault = ValueError(f"something about {TOKEN}")
    with serving(desk) as port:
        answer, body = fetch(port)
        assert (answer.status, body) == (503, b"try again later\n")
        wire = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
        wire.sendall(f"GET {PATH} HTTP/1.1\r\nHost: x\r\n\r\n".encode())
        wire.close()  # gone before the answer
        fetch(port, method="POST")
    out, err = capfd.readouterr()
    assert TOKEN not in out + err + caplog.text + "".join(desk.said)
    assert desk.said == ["no feed can be had now: a fault of ours (ValueError)"]


def test_no_request_leaves_a_word_in_any_log(
    capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(0)
    with serving(Desk()) as port:
        for path in (PATH, PATH + "x", "/"):
            fetch(port, path)
            fetch(port, path, "HEAD")
            fetch(port, path, "DELETE")
    out, err = capfd.readouterr()
    assert (out, err, caplog.text) == ("", "", "")


# -- where it listens ---------------------------------------------------------------------------


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.9.1", "::1", "localhost"])
def test_loopback_is_known(host: str) -> None:
    assert is_loopback(host)


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.0.2.7", "10.0.0.1", "2001:db8::1", "::ffff:192.0.2.7"]
)
def test_every_other_address_reaches_beyond_this_machine(host: str) -> None:
    assert not is_loopback(host)


def test_a_name_of_nobody_is_refused() -> None:
    with pytest.raises(RefusedError, match="is no address that can be listened on"):
        is_loopback("nobody.invalid")  # RFC 6761 6.4: never resolves


def test_a_port_that_is_taken_is_said() -> None:
    desk = Desk()
    with serving(desk) as port:
        with pytest.raises(RefusedError, match=f"port {port}: .* Choose another --port"):
            make_server(desk.app(), "127.0.0.1", port)
        assert fetch(port)[0].status == 200


def test_an_address_of_another_machine_cannot_be_listened_on() -> None:
    with pytest.raises(RefusedError, match=r"192\.0\.2\.7, port 0: "):  # RFC 5737: of no machine
        make_server(Desk().app(), "192.0.2.7", 0)


def test_without_waitress_it_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "waitress", None)
    with pytest.raises(RefusedError, match=r"pip install 'fleetcare\[serve\]'"):
        make_server(Desk().app(), "127.0.0.1", 0)
