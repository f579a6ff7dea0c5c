"""Feeds: from rows to bytes against icalendar alone, and the server under a crowd on loopback."""

from __future__ import annotations

import contextlib
import http.client
import os
import random
import re
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from icalendar import Calendar
from icalendar import Event as Plain

from fleetcare.cli.context import Desk, no_collecting
from fleetcare.cli.looking import view
from fleetcare.share.subscribers import hash_of
from fleetcare.show.calendar import calendar
from fleetcare.show.events import Event, events_of
from fleetcare.show.settling import settled
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.subscribers import add_subscriber, drop_subscriber
from tests.benchmarks.fleets import build

NOW = datetime(2026, 1, 5, 6, tzinfo=UTC)
SUBSCRIBERS, SLOW, REQUESTS, WORKERS, REVOKED = 200, 120, 8000, 16, 20
STATIC = (
    "import sys, waitress\n"
    "from fleetcare.share.serve import LIMITS, address_of\n"
    "body = open(sys.argv[1], 'rb').read()\n"
    "def app(environ, start):\n"
    "    start('200 OK', [('Content-Type', 'text/calendar'), ('Content-Length', str(len(body)))])\n"
    "    return [body]\n"
    "import socket\n"
    "own = socket.create_server(('127.0.0.1', 0))\n"
    "server = waitress.create_server(app, sockets=[own], **LIMITS)\n"
    "print('serving at', address_of(server), flush=True)\n"
    "server.run()\n"
)


def cpu(work: Callable[[], object], times: int = 2) -> float:
    """The least CPU time of several runs, in seconds."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def bytes_line() -> str:
    """1,000 engines x 12 jobs, from rows to bytes, against icalendar given the same events."""
    with tempfile.TemporaryDirectory() as folder, no_collecting():
        path = Path(folder) / "fleet.db"
        as_of = build(path, 1000, 1)
        seen = view(Desk(fleet=str(path)), as_of, words=False)
        rules = {name: seen.book.set_of(item.rules) for name, item in seen.fleet.engines.items()}

        def ours() -> bytes:
            events = events_of(seen.rows, seen.fleet.id, as_of, rules=rules)
            ready, _ = settled(list(events), {}, as_of, NOW)
            return calendar(ready, "Fleet", "note", NOW, uid="x")

        events, _ = settled(
            list(events_of(seen.rows, seen.fleet.id, as_of, rules=rules)), {}, as_of, NOW
        )
        mine, plain = cpu(ours), cpu(lambda: _by_icalendar(events, as_of))
    return (f"feed of {len(events):,} events, rows to bytes {mine:.2f} s CPU, icalendar alone for "
            f"the same {plain:.2f} s, ratio {mine / plain:.2f} (at most 1.5)")  # fmt: skip


def _by_icalendar(events: list[Event], as_of: date) -> bytes:
    whole = Calendar()
    whole.add("prodid", "-//x//x//EN")
    whole.add("version", "2.0")
    for event in events:
        item = Plain()
        item.add("uid", event.uid)
        item.add("dtstamp", NOW)
        item.add("last-modified", NOW)
        item.add("sequence", event.sequence)
        item.add("dtstart", event.on)
        item.add("dtend", event.on + timedelta(1))
        item.add("summary", event.title)
        item.add("description", event.description)
        item.add("categories", list(event.categories))
        item.add("status", "CONFIRMED")
        item.add("transp", "TRANSPARENT")
        whole.add_component(item)
    return bytes(whole.to_ical())


@contextlib.contextmanager
def _running(*words: str) -> Iterator[tuple[int, int]]:
    """A server as a program of its own: its port and its process number."""
    child = subprocess.Popen([sys.executable, *words], stdout=subprocess.PIPE, text=True)
    try:
        assert child.stdout is not None
        found = re.search(r"127\.0\.0\.1:(\d+)", child.stdout.readline())
        assert found is not None
        yield int(found[1]), child.pid
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(30)


def _resident(process: int) -> int:
    text = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    return int(re.search(r"VmRSS:\s+(\d+)", text)[1])  # type: ignore[index]


class Crowd:
    """Subscribers who poll, each with the entity tag of what they have."""

    def __init__(self, port: int, tokens: dict[str, str]) -> None:
        self.port, self.tokens = port, tokens
        self.tags: dict[str, str] = {}
        self.counts: dict[int, int] = {}
        self.wrong: list[str] = []
        self.gone: set[str] = set()
        self.lock = threading.Lock()

    def ask(self, name: str) -> None:
        was_gone = name in self.gone
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        tag = self.tags.get(name)
        headers = {"If-None-Match": tag} if tag else {}
        connection.request("GET", f"/f/{self.tokens[name]}.ics", headers=headers)
        answer = connection.getresponse()
        body = answer.read()
        connection.close()
        with self.lock:
            self.counts[answer.status] = self.counts.get(answer.status, 0) + 1
            if answer.status == 200:
                self.tags[name] = answer.headers["ETag"]
                if not (body.startswith(b"BEGIN:VCALENDAR") and name.encode() in body):
                    self.wrong.append(name)
            if was_gone and answer.status != 404:
                self.wrong.append(f"{name} after it was revoked")
            if answer.status >= 500:
                self.wrong.append(f"{answer.status}")

    def poll(self, requests: int, dice: random.Random) -> float:
        names = [dice.choice(list(self.tokens)) for _ in range(requests)]
        begin = time.perf_counter()
        with ThreadPoolExecutor(WORKERS) as pool:
            list(pool.map(self.ask, names))
        return requests / (time.perf_counter() - begin)


def load_line() -> str:
    """A crowd polling, slow connections, revocations and entries under way."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fleet.db"
        build(path, SUBSCRIBERS, 1)
        tokens = _subscribe(path)
        with _running("-m", "fleetcare", "feed", "serve", "--port", "0", "--fleet", str(path)) as (
            port, process,
        ):  # fmt: skip
            return _under_load(path, port, process, tokens, Path(folder))


def _subscribe(path: Path) -> dict[str, str]:
    """Everybody subscribes to an engine of their own."""
    tokens = {}
    with FleetFile(path) as file, file.writing() as connection:
        for name in file.fleet().engines:
            token = random.Random(name).randbytes(32).hex()[:43]
            add_subscriber(
                connection, (name, f"engine {name}", "", hash_of(token), NOW.isoformat())
            )
            tokens[name] = token
    return tokens


def _under_load(path: Path, port: int, process: int, tokens: dict[str, str], folder: Path) -> str:
    dice, crowd = random.Random(3), Crowd(port, tokens)
    slow = [socket.create_connection(("127.0.0.1", port)) for _ in range(SLOW)]
    for wire in slow:
        wire.send(b"GET /f/x")
    stop = threading.Event()
    meddler = threading.Thread(target=_meddle, args=(path, crowd, stop))
    meddler.start()
    crowd.poll(1000, dice)
    first = _resident(process)
    crowd.poll(REQUESTS - 2000, dice)
    stop.set()
    meddler.join()
    rate = crowd.poll(1000, dice)
    last = _resident(process)
    for wire in slow:
        wire.close()
    sample = folder / "one.ics"
    sample.write_bytes(_one(port, tokens, crowd.gone))
    with _running("-c", STATIC, str(sample)) as (other, _):
        static = Crowd(other, {"x": "x"})
        static.counts = {}
        names = ["x"] * 1000
        begin = time.perf_counter()
        with ThreadPoolExecutor(WORKERS) as pool:
            list(pool.map(lambda _: _plain(other), names))
        plain = len(names) / (time.perf_counter() - begin)
    told = ", ".join(f"{count} x {status}" for status, count in sorted(crowd.counts.items()))
    return (
        f"feed serve, {SUBSCRIBERS} subscribers, {SLOW} slow connections, {len(crowd.gone)} "
        f"revoked under way: {told}; wrong {len(crowd.wrong)} {crowd.wrong[:3]}\n"
        f"  memory after the last 1,000 requests {last / first:.3f} of that after the first "
        f"(at most 1.05); {rate:.0f} requests a second, {rate / plain:.2f} of the same server "
        f"handing out one file"
    )


def _meddle(path: Path, crowd: Crowd, stop: threading.Event) -> None:
    """Revoke some, and log entries, while the crowd polls."""
    dice = random.Random(5)
    for name in dice.sample(sorted(crowd.tokens), REVOKED):
        if stop.is_set():
            return
        with FleetFile(path) as file, file.writing() as connection:
            drop_subscriber(connection, name)
        crowd.gone.add(name)
        subprocess.run(
            [sys.executable, "-m", "fleetcare", "run", dice.choice(sorted(crowd.tokens)), "1",
             "--fleet", str(path), "--quiet"],
            check=False, capture_output=True, env=dict(os.environ),
        )  # fmt: skip


def _one(port: int, tokens: dict[str, str], gone: set[str]) -> bytes:
    token = next(token for name, token in tokens.items() if name not in gone)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", f"/f/{token}.ics")
    body = connection.getresponse().read()
    connection.close()
    return body


def _plain(port: int) -> Any:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/one.ics")
    body = connection.getresponse().read()
    connection.close()
    return body


def report() -> str:
    """Both lines."""
    return f"{bytes_line()}\n{load_line()}"


if __name__ == "__main__":
    print(report())
