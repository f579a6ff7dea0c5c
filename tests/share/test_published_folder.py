"""The example configurations, tried: nginx as Debian ships it hands out a published folder.

Headers and answers follow RFC 9110 (13.1.2, 13.1.3, 15.4.5) and RFC 5545 (3.1.4: UTF-8 is named
in the type), read from memory. The units are held to systemd's own check of them.
"""

from __future__ import annotations

import http.client
import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from email.utils import formatdate
from pathlib import Path

import pytest

from tests.share.small_feeds import Feeds, made

ROOT = Path(__file__).parent.parent.parent
SERVING = ROOT / "examples" / "serving"
TRIES = 5  # another program may take the free port first


@pytest.fixture
def feeds(tmp_path: Path) -> Feeds:
    return made(tmp_path)


@dataclass(frozen=True)
class Answer:
    """What the server answered."""

    status: int
    headers: dict[str, str]
    body: bytes


@dataclass(frozen=True)
class Server:
    """nginx at work, by the example file."""

    port: int
    logs: Path

    def ask(self, path: str, method: str = "GET", **headers: str) -> Answer:
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as line:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
            line.request(method, path, headers=named)
            answer = line.getresponse()
            return Answer(
                answer.status,
                {name.lower(): value for name, value in answer.getheaders()},
                answer.read(),
            )

    def logged(self) -> str:
        return "".join(path.read_text("utf-8") for path in self.logs.glob("*.log"))


def config(text: str, folder: Path, logs: Path, port: int) -> str:
    """The example file as it stands, without TLS, its port, folder and logs the test's own."""
    for pattern, there in (
        (r"listen 443 ssl;", f"listen 127.0.0.1:{port};"),
        (r"listen \[::\]:443 ssl;", ""),
        (r"ssl_certificate(_key)? .*;", ""),
        (r"/srv/feeds/", f"{folder}/"),
        (r"/var/log/nginx/", f"{logs}/"),
    ):
        text, count = re.subn(pattern, there, text)
        assert count, f"the example says nothing of {pattern}"
    user = "user root;" if os.getuid() == 0 else ""  # folders of tests are closed to others
    temp = "".join(
        f"{kind}_temp_path {logs}/{kind};"
        for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    begin = f"{user} pid {logs}/nginx.pid; error_log {logs}/start.log; events {{}}"
    return f"{begin} http {{ {temp}\n{text} }}"


def free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture
def server(feeds: Feeds, tmp_path: Path, tool: Callable[[str], str]) -> Iterator[Server]:
    nginx, logs = tool("nginx"), tmp_path / "logs"
    logs.mkdir()
    example = (SERVING / "nginx.conf").read_text("utf-8")
    for _ in range(TRIES):
        port = free_port()
        made = logs / "nginx.conf"
        made.write_text(config(example, feeds.folder, logs, port), "utf-8")
        # it comes back when it listens, and works on by itself
        begun = subprocess.run(
            [nginx, "-p", str(logs), "-c", str(made), "-e", str(logs / "start.log")],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if begun.returncode == 0:
            break
    assert begun.returncode == 0, begun.stderr
    try:
        yield Server(port, logs)
    finally:
        subprocess.run([nginx, "-p", str(logs), "-c", str(made), "-s", "stop"], check=True,
                       capture_output=True)  # fmt: skip


def test_a_feed_is_handed_out_with_its_type_and_kept_private(feeds: Feeds, server: Server) -> None:
    answer = server.ask(f"/f/{feeds.token}.ics")
    assert answer.status == 200
    assert answer.body == feeds.file.read_bytes()
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["cache-control"] == "private, max-age=900"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["x-robots-tag"] == "noindex"
    head = server.ask(f"/f/{feeds.token}.ics", "HEAD")
    assert (head.status, head.body) == (200, b"")
    assert head.headers["content-length"] == str(len(answer.body))


def test_an_unchanged_feed_is_not_sent_again(feeds: Feeds, server: Server) -> None:
    path = f"/f/{feeds.token}.ics"
    first = server.ask(path)
    modified = first.headers["last-modified"]
    assert modified == formatdate(feeds.file.stat().st_mtime, usegmt=True)
    for asked in (
        {"If_None_Match": first.headers["etag"]},
        {"If_None_Match": f'"another", W/{first.headers["etag"]}'},
        {"If_Modified_Since": modified},
    ):
        again = server.ask(path, **asked)
        assert (again.status, again.body) == (304, b"")
        assert again.headers["etag"] == first.headers["etag"]
        assert again.headers["cache-control"] == "private, max-age=900"
    assert server.ask(path, If_None_Match='"another"').status == 200
    feeds.publish()  # nothing changed, so neither does the file
    assert server.ask(path, If_None_Match=first.headers["etag"]).status == 304
    feeds.type("done", "Plover", "gear oil", "--found", "clean")
    feeds.publish()
    second = server.ask(path, If_None_Match=first.headers["etag"])
    assert (second.status, second.body) == (200, feeds.file.read_bytes())
    assert second.body != first.body


def test_a_feed_travels_packed_when_it_may(feeds: Feeds, server: Server) -> None:
    import gzip

    plainly = server.ask(f"/f/{feeds.token}.ics")
    packed = server.ask(f"/f/{feeds.token}.ics", Accept_Encoding="gzip")
    assert packed.headers["content-encoding"] == "gzip"
    assert gzip.decompress(packed.body) == plainly.body
    assert "Accept-Encoding" in plainly.headers["vary"]
    assert len(packed.body) * 3 < len(plainly.body)
    again = server.ask(
        f"/f/{feeds.token}.ics", Accept_Encoding="gzip", If_None_Match=packed.headers["etag"]
    )
    assert again.status == 304


def test_nothing_is_listed_and_whatever_is_not_a_feed_is_as_if_it_were_not_there(
    feeds: Feeds, server: Server
) -> None:
    (feeds.folder / "notes.txt").write_text("not for the web")
    unknown = server.ask(f"/f/{'A' * 43}.ics")
    assert unknown.status == 404
    for path in (
        "/", "/f", "/f/", "/f/notes.txt", "/f/.fleetcare-folder", f"/f/{feeds.token}",
        f"/f/{feeds.token}.ics/", f"/f/{feeds.token}.ICS", f"/f/x/../{feeds.token}.ics/..",
        f"/f/{feeds.token}.ics%00", "/f/..%2f..%2fetc%2fpasswd", f"//{feeds.token}.ics",
    ):  # fmt: skip
        answer = server.ask(path)
        assert (answer.status, answer.body) in ((404, unknown.body), (400, answer.body)), path
        assert feeds.token.encode() not in answer.body
    assert server.ask(f"/f/{feeds.token}.ics", "POST").status == 403


def test_a_revoked_address_answers_as_one_that_never_was(feeds: Feeds, server: Server) -> None:
    path = f"/f/{feeds.token}.ics"
    assert server.ask(path).status == 200
    feeds.type("feed", "revoke", feeds.name)
    gone, never = server.ask(path), server.ask(f"/f/{'A' * 43}.ics")
    assert (gone.status, gone.body) == (never.status, never.body) == (404, never.body)


def test_no_log_holds_a_token(feeds: Feeds, server: Server) -> None:
    path = f"/f/{feeds.token}.ics"
    server.ask(path)
    server.ask(f"/F{path}")
    server.ask(f"{path}?{feeds.token}", Referer=f"https://boats.example{path}")
    feeds.type("feed", "revoke", feeds.name)
    server.ask(path)
    server.ask("/")  # one answer more: by then the one before stands in the log
    logged = server.logged()
    assert logged.count("GET /f/...") == 3
    assert " 404 " in logged
    assert feeds.token not in logged


@pytest.mark.parametrize("unit", ["fleetcare-publish.service", "fleetcare-publish.timer"])
def test_the_units_are_what_systemd_takes(unit: str, tmp_path: Path) -> None:
    """Left out where there is no systemd: nothing here needs one."""
    program = shutil.which("systemd-analyze")
    if program is None:
        pytest.skip("systemd-analyze is not installed")
    for path in SERVING.glob("fleetcare-publish.*"):
        text = path.read_text("utf-8")
        here = text.replace("/usr/local/bin/fleetcare", "/bin/true")  # it must be there
        (tmp_path / path.name).write_text(here, "utf-8")
    done = subprocess.run(
        [program, "verify", "--man=no", str(tmp_path / unit)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


@pytest.mark.parametrize("name", ["fleetcare-publish.service", "cron"])
def test_the_lines_for_the_night_publish(name: str, feeds: Feeds, tmp_path: Path) -> None:
    """As they stand, but for where program, fleet and folder lie."""
    line = re.search(r"/usr/local/bin/fleetcare .*", (SERVING / name).read_text("utf-8"))
    assert line is not None
    text = line[0]
    for there, here in (
        ("/usr/local/bin/fleetcare", f"{sys.executable} -m fleetcare"),
        ("/srv/feeds", str(feeds.folder)),
        ("/srv/fleetcare/fleet.db", str(feeds.fleet)),
    ):
        assert there in text
        text = text.replace(there, here)
    feeds.file.write_bytes(b"of yesterday")
    done = subprocess.run(["sh", "-c", text], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stderr == ""
    assert feeds.file.read_bytes().startswith(b"BEGIN:VCALENDAR")
