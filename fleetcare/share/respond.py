"""What the feed server answers, as one pure function: no socket, no disk, no clock.

The conditional requests are RFC 9110's (sections 12.5.3, 13.1.2, 13.1.3, 13.2.2 and 15.4.5), the
caching is RFC 9111's (5.2.2.7). An address that is unknown, malformed or withdrawn gets the same
404 to the byte, so that nobody learns which it was; what is asked for never comes back.
"""

from __future__ import annotations

import gzip
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime

from fleetcare.share.subscribers import TOKEN_FORM, hash_of

ADDRESS = re.compile(rf"(?:/f)?/({TOKEN_FORM})\.ics")
MAX_AGE = 900  # seconds for which a subscriber's own cache may keep it: our design choice
METHODS = ("GET", "HEAD")
_ENTITY_TAG = r'(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"'
_TAG_LIST = re.compile(rf"[ \t,]*{_ENTITY_TAG}(?:[ \t]*,[ \t,]*{_ENTITY_TAG})*[ \t,]*")
_QUALITY = re.compile(r"q=(0(?:\.\d{0,3})?|1(?:\.0{0,3})?)", re.IGNORECASE)
_ALWAYS = (
    ("Referrer-Policy", "no-referrer"),
    ("X-Robots-Tag", "noindex"),
    ("X-Content-Type-Options", "nosniff"),
    ("Content-Security-Policy", "default-src 'none'"),
)
_PLAIN = "text/plain; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Served:
    """A feed's bytes, plain and zipped, each with its own entity tag, and when they changed.

    `changed` is a moment in UTC, whole seconds, by which the bytes were certainly there; until it
    is past, no Last-Modified is sent, for the bytes could change once more within its second.
    """

    plain: bytes
    zipped: bytes
    plain_tag: str
    zipped_tag: str
    changed: datetime


@dataclass(frozen=True, slots=True)
class Reply:
    """Status, headers in the order they are sent, body."""

    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes


def served(content: bytes, changed: datetime) -> Served:
    """A feed ready to be sent; the same bytes always zip to the same."""
    zipped = gzip.compress(content, mtime=0)
    return Served(content, zipped, tag_of(content), tag_of(zipped), changed)


def tag_of(content: bytes) -> str:
    """A strong entity tag: it changes with every byte."""
    return f'"{hashlib.sha256(content).hexdigest()[:32]}"'


def respond(
    feeds: Mapping[str, Served], method: str, path: str, headers: Mapping[str, str], now: datetime
) -> Reply:
    """Answer a request; `feeds` are by the hash of their address, `headers` by lower-case name.

    `path` is the path alone, its escapes undone; `now` is in UTC.
    """
    if method not in METHODS:
        return _plain(405, "only GET and HEAD\n", now, method, (("Allow", ", ".join(METHODS)),))
    address = ADDRESS.fullmatch(path)
    feed = feeds.get(hash_of(address[1])) if address else None
    if feed is None:
        return _plain(404, "not found\n", now, method)
    is_zipped = len(feed.zipped) < len(feed.plain) and takes_gzip(headers.get("accept-encoding"))
    tag = feed.zipped_tag if is_zipped else feed.plain_tag
    shared = (
        ("Date", _http_date(now)),
        ("ETag", tag),
        ("Cache-Control", f"private, max-age={MAX_AGE}"),
        ("Vary", "Accept-Encoding"),
        *_ALWAYS,
    )
    if _has_it_already(feed, tag, headers):
        return Reply(304, shared, b"")
    body = feed.zipped if is_zipped else feed.plain
    about = [("Content-Type", "text/calendar; charset=utf-8"), ("Content-Length", str(len(body)))]
    if is_zipped:
        about.append(("Content-Encoding", "gzip"))
    if feed.changed <= now:
        about.append(("Last-Modified", _http_date(feed.changed)))
    return Reply(200, (*shared, *about), b"" if method == "HEAD" else body)


def unavailable(method: str, now: datetime) -> Reply:
    """The answer while feeds cannot be made; why is not the subscriber's business."""
    return _plain(503, "try again later\n", now, method, (("Retry-After", "300"),))


def _plain(
    status: int, text: str, now: datetime, method: str, more: tuple[tuple[str, str], ...] = ()
) -> Reply:
    body = text.encode()
    headers = (
        ("Date", _http_date(now)), ("Cache-Control", "no-store"), *_ALWAYS, *more,
        ("Content-Type", _PLAIN), ("Content-Length", str(len(body))),
    )  # fmt: skip
    return Reply(status, headers, b"" if method == "HEAD" else body)


def _has_it_already(feed: Served, tag: str, headers: Mapping[str, str]) -> bool:
    """Whether the request's conditions say that the client holds these bytes.

    If-None-Match, however malformed, puts If-Modified-Since out of force (RFC 9110, 13.1.3).
    """
    wanted = headers.get("if-none-match")
    if wanted is not None:
        return wanted.strip() == "*" or (
            _TAG_LIST.fullmatch(wanted) is not None
            and any(_same(each, tag) for each in re.findall(_ENTITY_TAG, wanted))
        )
    since = _day_and_time(headers.get("if-modified-since", ""))
    return since is not None and feed.changed <= since


def _same(one: str, other: str) -> bool:
    """Weak comparison: the marks of weakness do not count (RFC 9110, 8.8.3.2)."""
    return one.removeprefix("W/") == other.removeprefix("W/")


def _day_and_time(text: str) -> datetime | None:
    """The moment an HTTP date means, or None for what is none."""
    try:
        found = parsedate_to_datetime(text)
        return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)
    except (ValueError, TypeError, IndexError, OverflowError):
        return None


def takes_gzip(accepted: str | None) -> bool:
    """Whether a client asks for gzip no less than for plain bytes (RFC 9110, 12.5.3)."""
    weights: dict[str, float] = {}
    for item in (accepted or "").split(","):
        coding, *parameters = (part.strip().lower() for part in item.split(";"))
        weight = 1.0
        for parameter in parameters:
            quality = _QUALITY.fullmatch(parameter)
            weight = float(quality[1]) if quality else 0.0
        if coding:
            weights[coding] = weight
    zipped = max(
        weights.get("gzip", weights.get("*", 0.0)), weights.get("x-gzip", 0.0)
    )  # fmt: skip
    return zipped > 0 and zipped >= weights.get("identity", 0.0)


def _http_date(moment: datetime) -> str:
    return format_datetime(moment.astimezone(UTC), usegmt=True)
