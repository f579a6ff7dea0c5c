"""A real calendar server in a folder of its own, and a second client that speaks plain HTTP."""

from __future__ import annotations

import base64
import re
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

USER, PASSWORD = "jetty", "p4ss:wörd"
_MAKE = (
    '<C:mkcalendar xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><D:set><D:prop>'
    '<C:supported-calendar-component-set><C:comp name="{kind}"/>'
    "</C:supported-calendar-component-set></D:prop></D:set></C:mkcalendar>"
)


@dataclass(frozen=True)
class Answer:
    """What the server said to the second client."""

    status: int
    text: str
    etag: str


@dataclass(frozen=True)
class SecondClient:
    """Somebody else's program at the same calendar."""

    url: str

    def ask(self, method: str, name: str = "", body: str = "", **headers: str) -> Answer:
        """One request; headers with _ for -."""
        token = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        request = urllib.request.Request(
            self.url + name, body.encode() or None, method=method,
            headers={
                "Authorization": f"Basic {token}",
                "Content-Type": "text/calendar; charset=utf-8",
                **{key.replace("_", "-"): value for key, value in headers.items()},
            },
        )  # fmt: skip
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return Answer(answer.status, answer.read().decode(), answer.headers["ETag"] or "")
        except urllib.error.HTTPError as error:
            with error:
                return Answer(error.code, error.read().decode(), "")

    def make(self, kind: str = "VTODO") -> None:
        """Make the calendar."""
        assert self.ask("MKCALENDAR", body=_MAKE.format(kind=kind)).status == 201

    def names(self) -> list[str]:
        """The names of all its objects."""
        body = '<D:propfind xmlns:D="DAV:"><D:prop><D:getetag/></D:prop></D:propfind>'
        text = self.ask("PROPFIND", body=body, Depth="1").text
        return sorted(re.findall(r"([0-9a-f-]{36}\.ics)", text))

    def todos(self) -> dict[str, str]:
        """Every to-do by its summary's beginning, as text without folds."""
        found = {}
        for name in self.names():
            text = self.ask("GET", name).text.replace("\r\n ", "")
            summary = re.search(r"^SUMMARY:([^,\\]*)", text, re.M)
            assert summary is not None
            found[summary[1]] = text
        return found

    def raw(self) -> list[bytes]:
        """Every object as it lies there."""
        return [self.ask("GET", name).text.encode() for name in self.names()]

    def name_of(self, title: str) -> str:
        """The object whose summary begins so."""
        uid = re.search(r"^UID:(\S+)", self.todos()[title], re.M)
        assert uid is not None
        return f"{uid[1]}.ics"

    def edit(self, title: str, *lines: str, without: str = "STATUS") -> None:
        """Put lines into a to-do in the place of its status, as another program would."""
        name = self.name_of(title)
        before = self.ask("GET", name)
        text = re.sub(rf"^{without}:[^\r\n]*\r\n", "", before.text, flags=re.M)
        text = text.replace("END:VTODO", "\r\n".join([*lines, "END:VTODO"]))
        assert self.ask("PUT", name, text, If_Match=before.etag).status in (201, 204)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def radicale(folder: Path) -> Iterator[str]:
    """The address of a server that runs while this is open."""
    users = folder / "users"
    users.write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
    port = free_port()
    words = [
        "--server-hosts", f"127.0.0.1:{port}", "--storage-filesystem-folder", str(folder / "kept"),
        "--auth-type", "htpasswd", "--auth-htpasswd-filename", str(users),
        "--auth-htpasswd-encryption", "plain", "--auth-delay", "0", "--config", "",
        "--logging-level", "warning",
    ]  # fmt: skip
    with (folder / "log").open("wb") as log:
        server = subprocess.Popen([sys.executable, "-m", "radicale", *words], stderr=log)
    try:
        while server.poll() is None:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except ConnectionRefusedError:
                continue
        assert server.poll() is None, (folder / "log").read_text(encoding="utf-8")
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait()
