"""The small feed server: feeds kept in memory, made again when the fleet file or the day turned.

It holds no name of a path and no file: an address is looked up by its hash, and all it can hand
out are the feeds of live subscribers. `respond` answers; this module keeps its feeds fresh and
sets the limits of the server beneath.
"""

from __future__ import annotations

import ipaddress
import logging
import socket
import threading
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from fleetcare.errors import FleetcareError, RefusedError
from fleetcare.share.respond import ADDRESS, Reply, Served, respond, served, unavailable

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

INSTALL = "feed serve needs waitress: pip install 'fleetcare[serve]'"
LOOKS = 3  # so often are feeds made again when the file changed while they were made
LIMITS: Mapping[str, Any] = {
    "threads": 4,
    # more than slow clients can easily fill: with the server's own 100 an honest one waits
    "connection_limit": 1000,
    "asyncore_use_poll": True,  # select() takes no more than 1024
    "channel_timeout": 30,
    "max_request_header_size": 8192,
    "max_request_body_size": 1024,
    "ident": None,  # what serves is nobody's business
    "expose_tracebacks": False,
    "clear_untrusted_proxy_headers": True,
    "log_socket_errors": False,
}


class Feeds:
    """The feeds by the hash of their address, as the fleet file holds them at each request."""

    def __init__(
        self,
        make: Callable[[], Mapping[str, bytes]],
        mark: Callable[[], object],
        now: Callable[[], datetime],
    ) -> None:
        """`make` gives the bytes by hash, `mark` changes whenever they could be others."""
        self._make, self._mark, self._now = make, mark, now
        self._lock = threading.Lock()
        self._made_at: object = None
        self._feeds: dict[str, Served] = {}

    def current(self) -> Mapping[str, Served]:
        """The feeds, made after every write that was done before this was asked."""
        with self._lock:
            mark = self._mark()
            for _ in range(LOOKS):
                if mark == self._made_at:
                    break
                self._keep(self._make())
                self._made_at = mark  # of before the making: what came meanwhile is seen next
                mark = self._mark()
            return self._feeds

    def _keep(self, contents: Mapping[str, bytes]) -> None:
        """Take new bytes; those that did not change keep their entity tag and moment."""
        changed = self._now() + timedelta(seconds=1)
        before = self._feeds
        self._feeds = {
            hashed: before[hashed]
            if hashed in before and before[hashed].plain == content
            else served(content, changed)
            for hashed, content in contents.items()
        }


class App:
    """The WSGI application: one question to `respond`, and no word of it anywhere else."""

    def __init__(
        self, feeds: Feeds, now: Callable[[], datetime], tell: Callable[[str], None]
    ) -> None:
        """`tell` says to whoever runs the server why feeds cannot be had."""
        self._feeds, self._now, self._tell = feeds, now, tell
        self._told = ""

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        method, path = environ["REQUEST_METHOD"], environ["PATH_INFO"]
        headers = {
            key[5:].replace("_", "-").lower(): value
            for key, value in environ.items()
            if key.startswith("HTTP_")
        }
        reply = self._reply(method, path, headers)
        start(f"{reply.status} {HTTPStatus(reply.status).phrase}", list(reply.headers))
        return [reply.body] if reply.body else []

    def _reply(self, method: str, path: str, headers: Mapping[str, str]) -> Reply:
        now = self._now()
        try:
            feeds = self._feeds.current() if ADDRESS.fullmatch(path) else {}
            reply = respond(feeds, method, path, headers, now)
        except FleetcareError as error:
            self._say(str(error))
            return unavailable(method, now)
        except Exception as error:  # its words could hold what was asked for
            self._say(f"a fault of ours ({type(error).__name__})")
            return unavailable(method, now)
        if ADDRESS.fullmatch(path):
            self._told = ""
        return reply

    def _say(self, why: str) -> None:
        """Tell once, not at every request, why feeds cannot be had."""
        if why != self._told:
            self._told = why
            self._tell(f"no feed can be had now: {why}")


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address, or every address of the name."""
    return all(ipaddress.ip_address(address).is_loopback for _, address in _addresses(host))


def _addresses(host: str) -> list[tuple[socket.AddressFamily, str]]:
    try:
        found = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise RefusedError(f'"{host:.60}" is no address that can be listened on') from None
    return [(family, str(address[0]).partition("%")[0]) for family, *_, address in found]


def make_server(app: App, host: str, port: int) -> Any:
    """The server, listening; its `run` serves until it is interrupted.

    Raises RefusedError when waitress is missing or the address cannot be listened on.
    """
    try:
        import waitress
    except ImportError:
        raise RefusedError(INSTALL) from None
    _hush()
    family, address = _addresses(host)[0]
    try:
        own = socket.create_server((address, port), family=family)
    except (OSError, OverflowError) as error:
        why = getattr(error, "strerror", None) or "it cannot be listened on"
        raise RefusedError(f"{host}, port {port}: {why}. Choose another --port or --host") from None
    return waitress.create_server(app, sockets=[own], **LIMITS)


def address_of(server: Any) -> str:
    """Where the server listens, as the beginning of an address."""
    host, port = server.socket.getsockname()[:2]
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _hush() -> None:
    """Keep the server's own log from anyone: its lines hold the paths that were asked for."""
    log = logging.getLogger("waitress")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    log.propagate = False
