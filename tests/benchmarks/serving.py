"""The published folder behind nginx, and what a hundred thousand subscribers would ask of it.

Measured: the CPU time of nginx itself (not of who asks), and the bytes, for a feed sent whole and
for one that had not changed, each on a new TLS connection as calendar programs make them; and how
many feeds change from one night to the next. The rest is multiplied out.
`python -m tests.benchmarks.serving`.
"""

from __future__ import annotations

import functools
import http.client
import os
import random
import re
import ssl
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from fleetcare.cli.context import Desk
from fleetcare.cli.feed_of import look_at
from fleetcare.share.publishing import publish
from fleetcare.share.subscribers import hash_of
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.subscribers import add_subscriber
from tests.benchmarks.fleets import STAMP, build
from tests.share.test_published_folder import SERVING, free_port

BOATS, NIGHTS, ASKED = 200, 21, 1500
SUBSCRIBERS = 100_000
POLLS = (1, 24)  # a day: programs ask between daily and hourly
TICK = os.sysconf("SC_CLK_TCK")


def report() -> str:
    """What was measured, and what it comes to, in lines."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        path = folder / "fleet.db"
        last = build(path, BOATS, 1)
        tokens = _subscribe(path, folder / "feeds")
        changes, size = _nights(path, folder / "feeds", last)
        with _nginx(folder, folder / "feeds") as (port, process):
            whole = _asked(port, process, tokens, again=False)
            same = _asked(port, process, tokens, again=True)
    lines = [
        f"{BOATS} feeds of a boat, {size / 1e3:.1f} kB each; {changes:.2f} of them change a night",
        f"  sent whole: {whole[0] * 1e3:.2f} ms of nginx's CPU, {whole[1] / 1e3:.1f} kB",
        f"  not changed: {same[0] * 1e3:.2f} ms, {same[1]:.0f} bytes",
    ]
    return "\n".join([*lines, *(_day(polls, changes, whole, same) for polls in POLLS)])


def _day(polls: int, changes: float, whole: tuple[float, float], same: tuple[float, float]) -> str:
    """A day of everybody, whose answers are whole as often as their feed changed."""
    asked, sent = SUBSCRIBERS * polls, SUBSCRIBERS * min(changes, polls)
    kept = asked - sent
    cpu, size = (sent * whole[at] + kept * same[at] for at in (0, 1))
    return (
        f"  {SUBSCRIBERS:,} asking {polls} times a day: {asked / 86400:.1f} a second, "
        f"{kept / asked:.0%} answered 304, {size / 1e9:.2f} GB and {cpu / 3600:.2f} CPU hours a day"
    )


def _subscribe(path: Path, feeds: Path) -> list[str]:
    """Everybody has a boat of their own, and an empty file at their address."""
    dice, tokens = random.Random(2), []
    feeds.mkdir(mode=0o711)
    with FleetFile(path) as file, file.writing() as connection:
        for boat in file.fleet().boats:
            token = dice.randbytes(32).hex()[:43]
            add_subscriber(connection, (f"of {boat}", f"boat {boat}", "", hash_of(token), STAMP))
            (feeds / f"{token}.ics").touch()
            tokens.append(token)
    return tokens


def _nights(path: Path, feeds: Path, last: date) -> tuple[float, float]:
    """The share of feeds that change a night, over weeks with their runs and readings."""
    written = []
    for night in range(NIGHTS + 1):
        day = last - timedelta(NIGHTS - night)
        now = datetime(day.year, day.month, day.day, 0, 20, tzinfo=UTC)
        desk = Desk(fleet=str(path))
        with desk.open() as file:
            done = publish(file, functools.partial(look_at, desk, day), feeds, now)
        written.append(done.written)
    sizes = [one.stat().st_size for one in feeds.glob("*.ics")]
    return sum(written[1:]) / NIGHTS / len(sizes), sum(sizes) / len(sizes)


@contextmanager
def _nginx(folder: Path, feeds: Path) -> Iterator[tuple[int, int]]:
    """The example configuration at work with TLS; its port and its worker's process number."""
    port, logs = free_port(), folder / "logs"
    logs.mkdir()
    key, cert = folder / "key.pem", folder / "cert.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-keyout", str(key), "-out", str(cert), "-days", "2",
         "-subj", "/CN=boats.example"], check=True, capture_output=True,
    )  # fmt: skip
    text = (SERVING / "nginx.conf").read_text("utf-8")
    for pattern, there in (
        (r"listen 443 ssl;", f"listen 127.0.0.1:{port} ssl;"), (r"listen \[::\]:443 ssl;", ""),
        (r"ssl_certificate .*;", f"ssl_certificate {cert};"),
        (r"ssl_certificate_key .*;", f"ssl_certificate_key {key};"),
        (r"/srv/feeds/", f"{feeds}/"), (r"/var/log/nginx/", f"{logs}/"),
    ):  # fmt: skip
        text = re.sub(pattern, there, text)
    own = folder / "nginx.conf"
    user = "user root;" if os.getuid() == 0 else ""
    temp = "".join(
        f"{kind}_temp_path {logs}/{kind};"
        for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    own.write_text(
        f"{user} worker_processes 1; daemon off; pid {logs}/pid; error_log {logs}/start.log;"
        f"events {{}} http {{ {temp}\n{text} }}"
    )
    server = subprocess.Popen(["nginx", "-p", str(logs), "-c", str(own), "-e", f"{logs}/start.log"])
    try:
        yield port, _worker_of(server, port)
    finally:
        server.terminate()
        server.wait(30)


def _worker_of(server: subprocess.Popen[bytes], port: int) -> int:
    """The number of the worker, once the server answers."""
    for _ in range(1000):
        try:
            _ask(port, "/", {})
            break
        except OSError:
            if server.poll() is not None:
                raise
    children = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text("ascii")
    return int(children.split()[0])


def _ask(port: int, path: str, headers: dict[str, str]) -> tuple[int, int, str]:
    """Status, bytes of the answer with its head (TLS's own apart), and entity tag."""
    trusting = ssl._create_unverified_context()
    line = http.client.HTTPSConnection("127.0.0.1", port, timeout=30, context=trusting)
    line.request("GET", path, headers={"Accept-Encoding": "gzip", **headers})
    answer = line.getresponse()
    head = sum(len(name) + len(value) + 4 for name, value in answer.getheaders()) + 19
    body = answer.read()
    line.close()
    return answer.status, head + len(body), answer.headers.get("ETag", "")


def _asked(port: int, process: int, tokens: list[str], again: bool) -> tuple[float, float]:
    """CPU seconds of the worker and bytes for one answer, whole or only that nothing changed."""
    tags = {token: _ask(port, f"/f/{token}.ics", {})[2] for token in tokens}
    before, size = _cpu_of(process), 0
    for number in range(ASKED):
        token = tokens[number % len(tokens)]
        status, length, _ = _ask(
            port, f"/f/{token}.ics", {"If-None-Match": tags[token]} if again else {}
        )
        if status != (304 if again else 200):
            raise RuntimeError(f"answered {status}")
        size += length
    return (_cpu_of(process) - before) / ASKED, size / ASKED


def _cpu_of(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICK


if __name__ == "__main__":
    sys.stdout.write(report() + "\n")
