"""How the dates have held, in words and as a picture."""

from __future__ import annotations

import os
import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from pathlib import Path

import pytest

from fleetcare.due.held import Judgement, LeftOut, Looked, Ran
from fleetcare.fleet.components import Component
from fleetcare.rules.rule import Rule
from fleetcare.show.held import HEAD, held_more, held_rows, held_text
from fleetcare.show.held_svg import MOST_LINES, held_svg

SVG = "{http://www.w3.org/2000/svg}"
GOLDEN = Path(__file__).parent / "golden" / "held.svg"
MOST_BYTES = 200_000
FIRST = 741_000  # a day of October 2029
HOSTILE = (
    "<script>alert(1)</script>",
    'Plover" onload="x',
    "]]> & &amp; <!--",
    "Smew\x00\x08\x1b[31m",
    "half a letter \ud800",
    "かわうそ",
    "x" * 80,
    "",
)


def looked(
    at: int, came: int | None = 60, engine: str = "Plover", task: str = "impeller", late: int = 90,
    known_to: int = 2000,
) -> Looked:  # fmt: skip
    """A date said on day `at` for days at + 30, 60 and `late`, which came on day at + `came`."""
    day = FIRST + at
    return Looked(
        day, engine, "Otter", "hire", False, Rule(task, "Impeller", "gearcase", "invented"),
        Component(engine, "gearcase"), day - 100, "hours", Fraction(5000), day + 30, day + 60,
        day + late, None if came is None else day + came, FIRST + known_to,
    )  # fmt: skip


def judgement(*dates: Looked, hours: tuple[Ran, ...] = (), every: int = 1) -> Judgement:
    days = [item.looked_on for item in dates]
    return Judgement(
        dates, hours, LeftOut(3, 2, 1), every, min(days, default=None), max(days, default=None)
    )


def some(count: int) -> Judgement:
    """Dates of all kinds: every fifth came earlier or later, spans of many widths."""
    return judgement(
        *(
            looked(at % 900, (60, 35, 10, 80, 140)[at % 5], f"E{at % 30}", late=70 + at % 300)
            for at in range(count)
        )
    )


def drawn(seen: Judgement) -> ET.Element:
    return ET.fromstring(held_svg(seen))


def texts(picture: ET.Element) -> list[str]:
    return [
        item.text or (item[0].tail or "" if len(item) else "")
        for item in picture.iter(f"{SVG}text")
    ]


def marks(picture: ET.Element) -> dict[str, int]:
    """How many bars, dots and rings the longest path of each kind draws."""
    found: dict[str, int] = {}
    for path in picture.iter(f"{SVG}path"):
        kind = path.get("class", "")
        found[kind] = max(found.get(kind, 0), path.get("d", "").count("M"))
    return found


@pytest.mark.parametrize("count", [0, 1, 2, 19, 50, 51, 360, 2000, 8000])
def test_the_picture_is_well_formed_and_small_for_any_number_of_dates(count: int) -> None:
    content = held_svg(some(count))
    assert len(content) <= MOST_BYTES
    picture = ET.fromstring(content)
    assert picture.tag == f"{SVG}svg"
    assert picture.get("role") == "img"
    assert int(picture.get("height", "0")) <= 1500
    assert "nan" not in content.decode().lower()


def test_every_date_has_its_bar_and_its_dot() -> None:
    seen = judgement(looked(0), looked(31, 20), looked(62, 100), looked(92, 45), looked(93, None))
    found = marks(drawn(seen))
    assert (found["b"], found["d"], found["o"]) == (5, 3, 3)  # three beside their bars
    assert marks(drawn(some(2000)))["b"] == MOST_LINES


@pytest.mark.parametrize(("came", "side"), [(45, -1), (60, 0), (75, 1)])
def test_a_dot_stands_left_of_the_middle_when_it_came_before_it(came: int, side: int) -> None:
    paths = list(drawn(judgement(looked(0, came))).iter(f"{SVG}path"))
    (dot,) = (_starts(item) for item in paths[:-3] if item.get("class") == "d")  # then the legend
    (middle, *_) = (_starts(item)[0] for item in paths if item.get("class") == "z")
    assert (dot[0][0] > middle[0]) - (dot[0][0] < middle[0]) == side


def _starts(path: ET.Element) -> list[tuple[int, int]]:
    return [(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)", path.get("d", ""))]


@pytest.mark.parametrize("name", HOSTILE)
def test_names_are_shown_and_never_obeyed(name: str) -> None:
    content = held_svg(judgement(looked(0, engine=name, task=name)))
    picture = ET.fromstring(content)
    assert {item.tag for item in picture.iter()} <= {
        SVG + tag for tag in ("svg", "title", "desc", "style", "rect", "text", "path")
    }
    assert not any(key.startswith("on") for item in picture.iter() for key in item.attrib)


def test_a_long_name_is_shortened_and_whole_in_its_tip() -> None:
    picture = drawn(judgement(looked(0, engine="x" * 80)))
    tips = [item.text or "" for item in picture.iter(f"{SVG}title")]
    assert any("x" * 80 in tip for tip in tips)
    assert all("x" * 20 not in text for text in texts(picture))


def test_it_says_in_words_what_it_shows_and_that_it_left_some_out() -> None:
    said = " ".join(texts(drawn(some(2000))))
    assert "Dates said, and when the hours ran out" in said
    assert "Of 2,000 dates" in said
    assert "360 of 2,000 drawn" in said
    assert "days from the middle day said to the day the hours ran out" in said
    assert "No date to tell of yet" in " ".join(texts(drawn(judgement())))
    assert "Too few dates to tell" in " ".join(texts(drawn(some(19))))


def test_it_is_drawn_in_black_grey_and_white_alone() -> None:
    for colour in re.findall(rb"#([0-9a-f]{3,6})\b", held_svg(some(100))):
        assert len(set(colour)) == 1, colour


def test_the_same_dates_give_the_same_bytes_in_whatever_order_they_come() -> None:
    seen = some(300)
    assert held_svg(seen) == held_svg(seen)
    assert held_svg(judgement(*reversed(seen.dates))) == held_svg(seen)


def test_the_picture_is_as_it_was_when_it_was_looked_at() -> None:
    content = held_svg(some(24))
    if os.environ.get("FLEETCARE_RENEW_GOLDEN") == "1":
        GOLDEN.write_bytes(content)
    assert content == GOLDEN.read_bytes()


# -- words ---------------------------------------------------------------------------------------


def words_of(seen: Judgement, width: int = 80) -> str:
    return " ".join(held_text(seen, width).split())


def test_the_verdict_comes_first_and_its_numbers_add_up() -> None:
    first = held_text(some(100), 80).splitlines()[0]
    # a fifth came too early; of the two fifths said for before day 80 and 140, 2 and 14 too late
    assert first == "Of 100 dates, 64 held (64 %), 20 came earlier, 16 later."
    assert held_text(some(19), 80).startswith("Too few dates to tell: of 19 dates, ")
    assert "of 1 date, 1 held" in words_of(some(1))
    assert held_text(judgement(), 80).startswith("No date to tell of yet")


@pytest.mark.parametrize("count", [0, 1, 19, 20, 3000])
@pytest.mark.parametrize("width", [24, 40, 80, 132])
def test_no_line_is_wider_than_the_screen(count: int, width: int) -> None:
    assert max(map(len, held_text(some(count), width).splitlines())) <= width


def test_what_was_left_out_is_told() -> None:
    said = words_of(judgement(looked(0), looked(1, None, known_to=50)))
    assert "Left out: 1 open, " in said
    for words in ("3 decided by the calendar", "2 used up already", "1 out of sight"):
        assert words in said
    assert "every 3 months" in words_of(judgement(looked(0), every=3))


def test_hours_are_compared_in_words() -> None:
    ran = Ran(FIRST, "Plover", "hire", False, 30, (10.0, 10.0, 10.0), 12.0, 16.0, 11.0)
    said = words_of(judgement(looked(0), hours=(ran,) * 20))
    assert "Hours of the next 30 days: pinball loss 50 % below that of the last four" in said
    assert "100 % above that of the same days last year (20 looks)." in said
    assert "Hours of" not in words_of(judgement(looked(0), hours=(ran,) * 19))


def test_each_date_is_a_row_of_plain_values() -> None:
    held, tied, late = held_rows([looked(0), looked(0, 30), looked(0, None)])
    assert tuple(held) == HEAD
    assert (held["verdict"], held["held"], held["off_days"]) == ("held", 1.0, 0)
    assert (tied["verdict"], tied["held"]) == ("held", 0.5)
    assert (late["verdict"], late["came_on"], late["off_days"]) == ("later", None, None)
    (still,) = held_rows([looked(0, known_to=70)])
    assert (still["verdict"], still["held"]) == ("open", None)
    more = held_more(some(30))
    assert [item["of"] for item in more["figures"]] == ["all"]
    assert more["left_out"] == {"calendar": 3, "used_up": 2, "beyond_ten_years": 1}
