"""What the feed server answers, held to the published rules of HTTP.

Sources: RFC 9110 (HTTP Semantics, 2022), RFC 9111 (HTTP Caching, 2022) and RFC 5545 3.1.4; the
section stands beside each check. Where there is none the check is our own design choice.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.share.respond import Reply, Served, respond, served, tag_of, takes_gzip, unavailable
from fleetcare.share.subscribers import hash_of, new_token

TOKEN, OTHER = new_token(), new_token()
CONTENT = b"BEGIN:VCALENDAR\r\n" + b"SUMMARY:Plover: impeller\r\n" * 40 + b"END:VCALENDAR\r\n"
CHANGED = datetime(2031, 5, 12, 8, 30, 0, tzinfo=UTC)
NOW = CHANGED + timedelta(hours=1)
FEEDS: Mapping[str, Served] = {hash_of(TOKEN): served(CONTENT, CHANGED)}
PATH = f"/{TOKEN}.ics"
TAG = tag_of(CONTENT)
ZIP_TAG = tag_of(gzip.compress(CONTENT, mtime=0))
STALE = "Mon, 12 May 2031 08:29:59 GMT"
FRESH = "Mon, 12 May 2031 08:30:00 GMT"


def ask(method: str = "GET", path: str = PATH, now: datetime = NOW, **headers: str) -> Reply:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return respond(FEEDS, method, path, named, now)


def headers_of(reply: Reply) -> dict[str, str]:
    assert len({name.lower() for name, _ in reply.headers}) == len(reply.headers)
    return {name.lower(): value for name, value in reply.headers}


# -- 200 ----------------------------------------------------------------------------------------


def test_a_live_address_gets_its_calendar() -> None:
    reply = ask()
    assert (reply.status, reply.body) == (200, CONTENT)
    told = headers_of(reply)
    assert told["content-type"] == "text/calendar; charset=utf-8"  # RFC 5545 3.1.4
    assert told["content-length"] == str(len(CONTENT))  # RFC 9110 8.6
    assert told["etag"] == TAG
    assert not TAG.startswith("W/")  # strong: RFC 9110 8.8.1
    assert told["cache-control"] == "private, max-age=900"  # RFC 9111 5.2.2.7
    assert told["last-modified"] == FRESH  # RFC 9110 8.8.2
    assert told["date"] == "Mon, 12 May 2031 09:30:00 GMT"  # RFC 9110 6.6.1
    assert told["vary"] == "Accept-Encoding"  # RFC 9110 12.5.5


def test_the_same_address_works_below_f() -> None:
    assert ask(path=f"/f/{TOKEN}.ics") == ask()


def test_head_says_what_get_would_and_sends_no_body() -> None:  # RFC 9110 9.3.2
    for more in ({}, {"accept_encoding": "gzip"}, {"if_none_match": TAG}):
        get, head = ask(**more), ask("HEAD", **more)
        assert (head.status, head.headers, head.body) == (get.status, get.headers, b"")
    assert headers_of(ask("HEAD"))["content-length"] == str(len(CONTENT))
    assert ask("HEAD", "/nothing").headers == ask("GET", "/nothing").headers


def test_other_methods_are_told_which_there_are() -> None:  # RFC 9110 15.5.6
    for method in ("POST", "PUT", "DELETE", "OPTIONS", "TRACE", "PROPFIND", "get", ""):
        reply = ask(method)
        assert reply.status == 405
        assert headers_of(reply)["allow"] == "GET, HEAD"
        assert reply == ask(method, "/nothing")  # it does not tell whether there is a feed


# -- conditions ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "condition",
    [
        TAG, f"W/{TAG}", f'"a", {TAG}', f'{TAG}, "x"', f'"a,b", W/"c",{TAG}', "*", " * ",
        f"{TAG},", f' , {TAG}',
    ],
)  # fmt: skip
def test_if_none_match_compares_weakly_takes_lists_and_any(condition: str) -> None:
    # RFC 9110 13.1.2: weak comparison, a list, or *; 5.6.1.2: empty elements are passed over
    assert ask(if_none_match=condition).status == 304


@pytest.mark.parametrize(
    "condition",
    ['"y"', 'W/"y"', '"a", "b"', TAG.strip('"'), '"*"', "", f"{TAG} {TAG}", TAG[:-1]],
)  # fmt: skip
def test_another_tag_or_none_that_can_be_read_gets_the_whole(condition: str) -> None:
    assert ask(if_none_match=condition).status == 200


def test_if_none_match_beats_if_modified_since() -> None:  # RFC 9110 13.1.3, 13.2.2
    assert ask(if_none_match='"y"', if_modified_since=FRESH).status == 200
    assert ask(if_none_match=TAG, if_modified_since=STALE).status == 304
    assert ask(if_none_match="not a tag", if_modified_since=FRESH).status == 200


def test_if_modified_since_alone_counts() -> None:  # RFC 9110 13.1.3
    assert ask(if_modified_since=FRESH).status == 304
    assert ask(if_modified_since="Tue, 13 May 2031 00:00:00 GMT").status == 304
    assert ask(if_modified_since=STALE).status == 200


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("Monday, 12-May-31 08:30:00 GMT", 304),  # the two obsolete forms of RFC 9110 5.6.7
        ("Mon May 12 08:30:00 2031", 304),
        ("Monday, 12-May-31 08:29:59 GMT", 200),
    ],
)
def test_all_three_forms_of_a_date_are_read(text: str, status: int) -> None:
    assert ask(if_modified_since=text).status == status


@pytest.mark.parametrize(
    "text",
    [
        "yesterday", "", "0", "Mon, 99 May 2031 08:30:00 GMT", "12", "\x00",
        "Mon, 12 May 99999999 08:30:00 GMT",
    ],
)  # fmt: skip
def test_a_date_that_is_none_is_passed_over(text: str) -> None:  # RFC 9110 13.1.3
    assert ask(if_modified_since=text).status == 200


def test_not_modified_says_what_a_cache_needs_and_has_no_body() -> None:  # RFC 9110 15.4.5
    reply = ask(if_none_match=TAG)
    told, whole = headers_of(reply), headers_of(ask())
    assert reply.body == b""
    assert {"etag", "cache-control", "vary", "date"} <= told.keys()
    assert all(told[name] == whole[name] for name in ("etag", "cache-control", "vary", "date"))
    assert not {"content-length", "content-type", "content-encoding"} & told.keys()


def test_a_change_within_the_second_is_never_taken_for_none() -> None:
    # RFC 9110 8.8.2.2: a date tells two states apart only if no second holds both
    early = ask(now=CHANGED - timedelta(seconds=1))
    assert "last-modified" not in headers_of(early)
    assert headers_of(early)["date"] == STALE
    # a client that takes the date of the answer for the state's own is given the new one
    assert ask(if_modified_since=headers_of(early)["date"]).status == 200


# -- gzip ---------------------------------------------------------------------------------------


def test_gzip_has_its_own_tag_and_the_same_content() -> None:  # RFC 9110 8.8.3.3, 12.5.3
    reply = ask(accept_encoding="gzip, deflate")
    told = headers_of(reply)
    assert told["content-encoding"] == "gzip"
    assert gzip.decompress(reply.body) == CONTENT
    assert told["content-length"] == str(len(reply.body))
    assert told["etag"] == ZIP_TAG != TAG
    assert told["vary"] == "Accept-Encoding"
    assert ask(accept_encoding="gzip", if_none_match=ZIP_TAG).status == 304
    assert ask(accept_encoding="gzip", if_none_match=TAG).status == 200
    assert ask(if_none_match=ZIP_TAG).status == 200
    assert headers_of(ask(accept_encoding="gzip", if_none_match=ZIP_TAG))["etag"] == ZIP_TAG


@pytest.mark.parametrize(
    ("accepted", "wanted"),
    [
        (None, False), ("", False), ("gzip", True), ("GZIP", True), ("x-gzip", True), ("*", True),
        ("deflate", False), ("gzip;q=0", False), ("gzip; q=0.000", False), ("gzip;q=0.001", True),
        ("*;q=0", False), ("gzip;q=0, *", False), ("*;q=0, gzip", True), ("br, gzip;q=0.5", True),
        ("identity, gzip;q=0.5", False), ("identity;q=0.5, gzip;q=1.0", True),
        ("gzip;q=many", False), ("gzip;q=2", False), (",,gzip,,", True),
    ],
)  # fmt: skip
def test_gzip_is_sent_to_those_who_take_it(accepted: str | None, wanted: bool) -> None:
    assert takes_gzip(accepted) == wanted  # RFC 9110 12.4.2 and 12.5.3


def test_what_zipping_makes_longer_is_sent_plain() -> None:
    feeds = {hash_of(TOKEN): served(b"x", CHANGED)}
    reply = respond(feeds, "GET", PATH, {"accept-encoding": "gzip"}, NOW)
    assert (reply.body, headers_of(reply)["etag"]) == (b"x", tag_of(b"x"))


def test_the_same_bytes_have_the_same_tags_another_day() -> None:
    again = served(CONTENT, NOW)
    assert (again.plain_tag, again.zipped_tag) == (TAG, ZIP_TAG)
    assert served(CONTENT + b" ", NOW).plain_tag != TAG


# -- addresses ----------------------------------------------------------------------------------

HOSTILE = [
    "", "/", "/f", "/f/", "//", "/index.html", "/.ics", "/f/.ics", f"/{TOKEN}", f"/{TOKEN}.ICS",
    f"/{TOKEN}.ics/", f"/{TOKEN}.ics\n", f"/{TOKEN}.ics\x00", f"/{TOKEN} .ics", f"{PATH}{PATH}",
    f"/g/{TOKEN}.ics", f"//{TOKEN}.ics", f"/f/f/{TOKEN}.ics", f"/../{TOKEN}.ics", f"/./{TOKEN}.ics",
    f"/f/../{TOKEN}.ics", "/../../etc/passwd", "/..%2f..%2fetc/passwd", "/fleet.db", "\\fleet.db",
    f"/{TOKEN[:-1]}.ics", f"/{TOKEN}x.ics", f"/{OTHER}.ics", f"/f/{OTHER}.ics",
    f"/{hash_of(TOKEN)}.ics", f"/{hash_of(TOKEN)[:43]}.ics", f"/{TOKEN.swapcase()}.ics",
    f"/{'é' * 43}.ics", f"/{'٣' * 43}.ics", "/" + "a" * 100_000, f"{PATH};x", "http://x" + PATH,
    "/%00", "/\udcff", "*",
]  # fmt: skip


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_whatever_is_no_live_address_gets_the_same_404(method: str) -> None:
    # so that nobody learns whether an address is unknown, malformed or withdrawn
    replies = {ask(method, path) for path in HOSTILE}
    withdrawn = respond({}, method, PATH, {}, NOW)
    assert replies == {withdrawn}
    assert withdrawn.status == 404


def test_conditions_do_not_tell_addresses_apart() -> None:
    unknown = ask(path=f"/{OTHER}.ics")
    assert ask(path=f"/{OTHER}.ics", if_none_match="*", accept_encoding="gzip") == unknown
    assert ask(path="/", if_modified_since=FRESH) == unknown


@given(st.text(max_size=80), st.text(max_size=60), st.text(max_size=40))
def test_no_path_or_header_breaks_it(path: str, condition: str, since: str) -> None:
    assert ask(path=path).status == 404
    assert ask(path=f"/{path}.ics").status == 404
    reply = ask(if_none_match=condition, if_modified_since=since, accept_encoding=condition)
    assert reply.status in (200, 304)


def test_no_answer_tells_the_address_or_its_hash() -> None:
    replies = [
        ask(), ask("HEAD"), ask("POST"), ask(if_none_match="*"), ask(path=PATH + "x"),
        ask(path=f"/{OTHER}.ics"), ask(accept_encoding="gzip"), unavailable("GET", NOW),
    ]  # fmt: skip
    for reply in replies:
        for secret in (TOKEN, OTHER, hash_of(TOKEN), hash_of(TOKEN)[:6]):
            assert secret not in repr(reply)


def test_every_answer_keeps_to_itself() -> None:
    # no referrer, no index, no guessing of types, nothing to run: our own list
    for reply in (
        ask(),
        ask(if_none_match="*"),
        ask(path="/"),
        ask("POST"),
        unavailable("GET", NOW),
    ):
        told = headers_of(reply)
        assert told["referrer-policy"] == "no-referrer"
        assert told["x-robots-tag"] == "noindex"
        assert told["x-content-type-options"] == "nosniff"
        assert told["content-security-policy"] == "default-src 'none'"
        assert "date" in told
        assert "location" not in told
        assert "set-cookie" not in told


def test_nothing_shared_keeps_an_answer() -> None:  # RFC 9111 5.2.2.5, 5.2.2.7
    assert headers_of(ask(path="/"))["cache-control"] == "no-store"
    assert headers_of(unavailable("GET", NOW))["cache-control"] == "no-store"
    assert "private" in headers_of(ask())["cache-control"]


def test_while_feeds_cannot_be_made_a_subscriber_is_asked_to_wait() -> None:  # RFC 9110 15.6.4
    reply = unavailable("GET", NOW)
    assert (reply.status, headers_of(reply)["retry-after"]) == (503, "300")
    assert unavailable("HEAD", NOW).body == b""
