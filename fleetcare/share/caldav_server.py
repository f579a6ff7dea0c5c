"""A calendar on a CalDAV server (RFC 4791), through the `caldav` library.

Every change says what it is a change of (If-Match, If-None-Match: RFC 9110, 13.1), so nothing of
anybody's is overwritten unseen. Whatever goes wrong becomes one sentence without the password.
Redirects are not followed, since they could carry the password to another place, answers are
read to a limit, and a password goes over an unencrypted line only when that was asked for.
"""

from __future__ import annotations

import contextlib
import logging
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit, urlunsplit
from xml.sax.saxutils import escape

from fleetcare.errors import RefusedError
from fleetcare.show.event_words import plain

if TYPE_CHECKING:
    from datetime import date

NEEDS = (
    "a calendar server needs the caldav package, which is not installed. "
    'Install it: pip install "fleetcare[caldav]"'
)
MOST_ANSWER = 20_000_000  # octets of one answer, unpacked
AT_ONCE = 50  # to-dos asked for in one request
SECONDS = 30
_HOME = ("localhost", "127.0.0.1", "::1")
_DAV, _CALDAV = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
_SPACES = 'xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"'
_HEAD = '<?xml version="1.0" encoding="utf-8"?>'
_FIND = (
    f"{_HEAD}<D:propfind {_SPACES}><D:prop><D:resourcetype/>"
    "<C:supported-calendar-component-set/></D:prop></D:propfind>"
)


class ConflictError(Exception):
    """The server holds something else than what was to be changed (412)."""


@dataclass(frozen=True, slots=True)
class Item:
    """An object of the calendar: its entity tag and its bytes."""

    etag: str
    content: bytes


@dataclass(slots=True)
class _Answer:
    """An answer read to the limit, in the shape the library asks for."""

    status_code: int
    headers: Any
    content: bytes
    reason: str
    url: str

    @property
    def text(self) -> str:
        return self.content.decode("utf-8", "replace")


class _TooMuchError(Exception):
    pass


class _MovedError(Exception):
    def __init__(self, where: str) -> None:
        super().__init__(where)
        self.where = where


def address(url: str, unencrypted: bool = False) -> str:
    """The calendar's address as it is kept: with a closing slash, without anybody's name in it."""
    try:
        parts = urlsplit(url.strip())
        host, _ = parts.hostname, parts.port
    except ValueError:
        parts, host = urlsplit(""), None
    if parts.scheme not in ("http", "https") or not host:
        raise RefusedError(
            "the calendar's address begins with https://, such as "
            "https://calendar.example/club/jobs/"
        )
    if parts.username or parts.password:
        raise RefusedError("leave name and password out of the address: --user NAME")
    if parts.query or parts.fragment:
        raise RefusedError("the calendar's address has no ? and no # in it")
    if parts.scheme == "http" and host not in _HOME and not unencrypted:
        raise RefusedError(
            f"http://{host} would send the password unencrypted; use https, or say --unencrypted "
            f"on a network of your own"
        )
    path = parts.path if parts.path.endswith("/") else f"{parts.path}/"
    return urlunsplit((parts.scheme, parts.netloc, path, "", ""))


class Server:
    """One calendar on a server. Use it in a `with` statement."""

    def __init__(self, url: str, user: str = "", password: str = "") -> None:
        self.url = url
        self.host = urlsplit(url).netloc
        self._path = urlsplit(url).path
        self._root = url.removesuffix(self._path)
        self._client: Any = _client(url, user, password)

    def __enter__(self) -> Server:
        return self

    def __exit__(self, *error: object) -> None:
        with contextlib.suppress(Exception):
            self._client.close()

    def href(self, uid: str) -> str:
        """Where the to-do of a UID lies: UIDs are plain letters and dashes."""
        return f"{self._path}{uid}.ics"

    # -- looking ----------------------------------------------------------------------------------

    def check(self, kind: str = "VTODO") -> None:
        """Refuse an address that is no calendar, or takes no to-dos."""
        answer = self._ask("PROPFIND", self.url, _FIND, {"Depth": "0"})
        if answer.status == 404:
            raise RefusedError(f"there is no calendar at {self.url}")
        tree = self._tree(answer)
        if tree.find(f".//{_DAV}resourcetype/{_CALDAV}calendar") is None:
            raise RefusedError(f"{self.url} is not a calendar{self._calendars()}")
        takes = [
            comp.get("name", "").upper()
            for comp in tree.iterfind(f".//{_CALDAV}supported-calendar-component-set/*")
        ]
        if takes and kind not in takes:
            what = "to-dos" if kind == "VTODO" else "events"
            raise RefusedError(f"the calendar at {self.url} takes no {what}")

    def _calendars(self) -> str:
        """The calendars that the library finds from there."""
        found: list[str] = []
        with contextlib.suppress(Exception), _quiet():
            found = [str(calendar.url) for calendar in self._client.get_calendars()][:10]
        return f". There are {', '.join(found)}" if found else "; give the address of one"

    def read(self, hrefs: Sequence[str]) -> dict[str, Item]:
        """What lies at these places; what is not there any more is left out."""
        found: dict[str, Item] = {}
        for at in range(0, len(hrefs), AT_ONCE):
            some = hrefs[at : at + AT_ONCE]
            places = "".join(f"<D:href>{escape(href)}</D:href>" for href in some)
            answer = self._ask(
                "REPORT", self.url, f"{_HEAD}<C:calendar-multiget {_SPACES}><D:prop><D:getetag/>"
                f"<C:calendar-data/></D:prop>{places}</C:calendar-multiget>",
                {"Depth": "1"},
            )  # fmt: skip
            by_name = {_last(href): href for href in some}
            for href, item in self._items(answer):
                if _last(href) in by_name:
                    found[by_name[_last(href)]] = item
        for href in hrefs:
            if href not in found:  # nobody's word but the server's own 404 means it is gone
                alone = self.get(href)
                if alone is not None:
                    found[href] = alone
        return found

    def get(self, href: str) -> Item | None:
        """One object, None when it is not there."""
        answer = self._ask("GET", self._root + href, "", {"Accept": "text/calendar"})
        if answer.status in (404, 410):
            return None
        self._want(answer, (200,))
        content = answer._raw_body or str(answer._raw).encode()
        return Item(str(answer.headers.get("ETag", "")), content)

    def events(self, first: date, last: date) -> bytes:
        """Every event of some days, as the server holds them, one calendar after another."""
        span = f'start="{first:%Y%m%d}T000000Z" end="{last:%Y%m%d}T000000Z"'
        answer = self._ask(
            "REPORT", self.url, f"{_HEAD}<C:calendar-query {_SPACES}><D:prop><D:getetag/>"
            f'<C:calendar-data/></D:prop><C:filter><C:comp-filter name="VCALENDAR">'
            f'<C:comp-filter name="VEVENT"><C:time-range {span}/></C:comp-filter></C:comp-filter>'
            f"</C:filter></C:calendar-query>",
            {"Depth": "1"},
        )  # fmt: skip
        return b"\r\n".join(item.content for _, item in self._items(answer))

    def _items(self, answer: Any) -> Iterator[tuple[str, Item]]:
        self._want(answer, (207,))
        for response in self._tree(answer).iterfind(f"{_DAV}response"):
            href = response.findtext(f"{_DAV}href") or ""
            data = response.findtext(f".//{_CALDAV}calendar-data")
            if href and data is not None:
                etag = response.findtext(f".//{_DAV}getetag") or ""
                yield href, Item(etag, data.encode("utf-8", "replace"))

    # -- changing ---------------------------------------------------------------------------------

    def create(self, href: str, content: bytes) -> str:
        """Put a new object there and give its tag; ConflictError when there is one already."""
        return self._put(href, content, {"If-None-Match": "*"})

    def change(self, href: str, content: bytes, etag: str) -> str:
        """Put another version in its place; ConflictError when it is not the one of that tag."""
        return self._put(href, content, {"If-Match": etag or '"none"'})

    def remove(self, href: str, etag: str) -> None:
        """Remove an object; ConflictError when it is not the one of that tag."""
        answer = self._ask("DELETE", self._root + href, "", {"If-Match": etag or '"none"'})
        if answer.status not in (404, 410):
            self._want(answer, (200, 202, 204))

    def _put(self, href: str, content: bytes, condition: dict[str, str]) -> str:
        headers = {"Content-Type": "text/calendar; charset=utf-8", **condition}
        answer = self._ask("PUT", self._root + href, content, headers)
        self._want(answer, (200, 201, 204))
        etag = str(answer.headers.get("ETag", ""))
        if etag:
            return etag
        item = self.get(href)  # a server that stored something else than it got tells no tag
        return item.etag if item else ""

    # -- talking ----------------------------------------------------------------------------------

    def _ask(self, method: str, url: str, body: str | bytes, headers: dict[str, str]) -> Any:
        """One request; whatever goes wrong is told in one sentence."""
        with self._words(), _quiet():
            return self._client.request(url, method, body, headers)

    @contextlib.contextmanager
    def _words(self) -> Iterator[None]:
        from caldav.lib.error import DAVError
        from caldav.lib.http_sync import requests
        from lxml.etree import LxmlError

        ours = (_TooMuchError, _MovedError, UnicodeError, ValueError, TypeError, OSError)
        try:
            yield
        except (DAVError, LxmlError, requests.exceptions.RequestException, *ours) as error:
            raise RefusedError(f"{self.host} {self._sentence(error)}") from None

    def _sentence(self, error: Exception) -> str:
        """What went wrong, without what was sent."""
        from caldav.lib.error import AuthorizationError, RateLimitError
        from caldav.lib.http_sync import requests

        if isinstance(error, _MovedError):
            return sent_on(self.url, error.where)
        found = requests.exceptions
        sentences: tuple[tuple[type[Exception], str], ...] = (
            (_TooMuchError, f"answers with more than {MOST_ANSWER // 1_000_000} MB; not read"),
            (RateLimitError, "asks to be left alone for a while; try again later"),
            (AuthorizationError, "does not take this name and password (401)"),
            (found.SSLError, "has no certificate that can be trusted"),
            (found.Timeout, f"did not answer within {SECONDS} s"),
            (found.ContentDecodingError, "gives an answer that cannot be unpacked"),
            (found.RequestException, "cannot be reached"),
            (OSError, "cannot be reached"),
        )
        if isinstance(error, AuthorizationError) and error.status == 403:
            return "does not let this user do that (403)"
        fitting = (words for kind, words in sentences if isinstance(error, kind))
        return next(fitting, "gives an answer that is not CalDAV")

    def _want(self, answer: Any, statuses: Iterable[int]) -> None:
        if answer.status == 412:
            raise ConflictError
        if answer.status not in statuses:
            if answer.status < 300:
                raise RefusedError(f"{self.host} gives an answer that is not CalDAV")
            raise RefusedError(f"{self.host} refuses it, with status {answer.status}")

    def _tree(self, answer: Any) -> Any:
        self._want(answer, (207,))
        if answer.tree is None or answer.tree.tag != f"{_DAV}multistatus":
            raise RefusedError(f"{self.host} gives an answer that is not CalDAV")
        return answer.tree


def sent_on(url: str, to: str) -> str:
    """What to say of a redirect, which is never followed."""
    where = urlsplit(to)
    if where.scheme == "http" and url.startswith("https:"):
        return "sends us on to an unencrypted address; refused"
    place = urlunsplit((where.scheme, where.netloc.rpartition("@")[2], where.path, "", ""))
    return f"sends us on to {plain(place)[:200]}; if that is right, give that address"


def _last(href: str) -> str:
    return href.rstrip("/").rpartition("/")[2]


def _client(url: str, user: str, password: str) -> Any:
    """The library's client, made to read no more than the limit and to follow nobody."""
    try:
        from caldav import DAVClient
        from caldav.lib import error
        from caldav.lib.http_sync import CaseInsensitiveDict, requests
    except ImportError as missing:
        raise RefusedError(NEEDS) from missing
    error.debug_dump_communication = False  # else an environment variable writes passwords to disk
    with _quiet():
        make: Any = DAVClient
        client: Any = make(
            url=url, username=user or None, password=password or None, timeout=SECONDS,
            enable_rfc6764=False, headers={"User-Agent": "fleetcare"},
        )  # fmt: skip
    session: Any = requests.Session()
    headers_of: Any = CaseInsensitiveDict

    def request(method: str, url: str, **how: Any) -> _Answer:
        answer = session.request(method, url, **how, allow_redirects=False, stream=True)
        try:
            if 300 <= answer.status_code < 400:
                raise _MovedError(str(answer.headers.get("Location", "")))
            content = bytearray()
            for piece in answer.iter_content(65_536):
                content += piece
                if len(content) > MOST_ANSWER:
                    raise _TooMuchError
        finally:
            answer.close()
        headers = {
            name: value for name, value in answer.headers.items() if name.lower() != "set-cookie"
        }
        if answer.status_code >= 400:
            content.clear()  # the status says enough, and the library would parse what it says
        return _Answer(
            int(answer.status_code), headers_of(headers), bytes(content),
            str(answer.reason), url,
        )  # fmt: skip

    client.session = _Session(request, session.close)
    return client


class _Session:
    """What the library asks of a session."""

    def __init__(self, request: Any, close: Any) -> None:
        self.request, self.close = request, close


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep the libraries' own log, which may hold what was sent, off the terminal."""
    logs = [logging.getLogger(name) for name in ("caldav", "niquests", "urllib3", "root")]
    before = [log.disabled for log in logs]
    for log in logs:
        log.disabled = True
    try:
        yield
    finally:
        for log, was in zip(logs, before, strict=True):
            log.disabled = was
