"""The plan as a strip, in words and as a picture."""

from __future__ import annotations

import os
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from fleetcare.plan.records import (
    NO_ROOM,
    Late,
    Moved,
    Plan,
    PlannedJob,
    ServiceDay,
    Unplaced,
    Visit,
)
from fleetcare.show.plan import Beside, plan_text
from fleetcare.show.plan_strip import BLOCKS, load_mark, strip
from fleetcare.show.plan_svg import MOST_ROWS, described, plan_svg
from fleetcare.show.plan_values import plan_rows, plan_values
from tests.cli.typed import widest
from tests.show.test_held_svg import HOSTILE, SVG, texts

FIRST = date(2031, 6, 2).toordinal()  # a Monday
GOLDEN = Path(__file__).parent / "golden" / "plan.svg"


def job(task: str, late: int = 0, early: int = 0, harm: bool = False) -> PlannedJob:
    return PlannedJob(task, Fraction(3, 4), late, early, harm, 10)


def visit(boat: str | None, engine: str, *jobs: PlannedJob, saved: int = 0) -> Visit:
    return Visit(engine, boat, ("cowl off", "leg off"), 60, jobs, saved)


def day(on: int, *visits: Visit, place: str = "", minutes: int = 60) -> ServiceDay:
    return ServiceDay(FIRST + on, place, minutes, 120, visits)


def plan(*days: ServiceDay, length: int = 28, **more: object) -> Plan:
    values: dict[str, object] = {"unplaced": (), "late": (), "cost": 12_345_678, "bound": None,
                                 "made_by": "by hand", **more}  # fmt: skip
    return Plan(FIRST, FIRST + length - 1, days, **values)  # type: ignore[arg-type]


def open_days(length: int = 28, minutes: int = 120) -> dict[str, tuple[int, ...]]:
    """Closed on Saturday and Sunday."""
    return {"": tuple(minutes if at % 7 < 5 else 0 for at in range(length))}


SOME = plan(
    day(0, visit("Lapwing", "Plover", job("impeller", 2, harm=True), job("bolts", early=9),
                 saved=25),
        visit(None, "Spare", job("oil", 3)), minutes=120),
    day(3, visit("Dunlin", "Knot", job("grease"))),
    day(16, visit("Lapwing", "Plover", job("oil", early=4), job("plugs", early=1)), minutes=15),
    late=(Late("Plover", "impeller", 2, True, True, NO_ROOM), Late("Spare", "oil", 3, False, False,
          NO_ROOM)),
    unplaced=(Unplaced("Knot", "tube", "takes 300 min, and the longest day has 120"),),
    moved=(Moved("Knot", "grease", FIRST + 1, FIRST + 3, "the boat is taken that day"),
           Moved("Plover", "oil", None, FIRST + 16, "came into these days since")),
)  # fmt: skip
BESIDE = Beside(open_days(), {"Plover"}, {"Plover": ["leg off"]}, 2)


# -- strip -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "capacity", "mark"),
    [
        (0, 0, "-"), (0, 360, "·"), (1, 360, "▁"), (45, 360, "▁"), (46, 360, "▂"), (180, 360, "▄"),
        (181, 360, "▅"), (315, 360, "▇"), (316, 360, "█"), (360, 360, "█"),
    ],
)  # fmt: skip
def test_a_days_mark_is_its_share_in_eighths(minutes: int, capacity: int, mark: str) -> None:
    assert load_mark(minutes, capacity) == mark


def test_the_strip_stands_under_its_mondays() -> None:
    ruler, load, late = strip(SOME, open_days(), 80)
    assert load == "load    █··▄·--·····--··▁··--·····--"
    assert late == "late    !"
    assert ruler == "        2 Jun  9      16     23"
    for words, on in (("2 Jun", 0), ("9 ", 7), ("16", 14), ("23", 21)):
        assert ruler.index(words) == 8 + on


def test_a_long_horizon_goes_on_below_and_a_narrow_terminal_sooner() -> None:
    long = plan(length=130)
    lines = strip(long, open_days(130), 80)
    assert len(lines) == 6 and max(map(len, lines)) <= 80
    assert sum(len(line.split()[-1]) for line in lines if line.startswith("load")) == 130
    narrow = strip(long, open_days(130), 40)
    assert max(map(len, narrow)) <= 40
    assert "".join(line[8:] for line in narrow if line.startswith("load")) == "".join(
        line[8:] for line in lines if line.startswith("load")
    )


def test_each_place_has_a_line_of_its_own() -> None:
    there = plan(day(0, visit("Lapwing", "Plover", job("oil")), place="North quay"))
    minutes = {**open_days(), "North quay": (60,) * 28}
    lines = strip(there, minutes, 80)
    assert [line[:8] for line in lines[1:]] == ["load    ", "North q "]
    assert lines[1][8] == "·" and lines[2][8] == BLOCKS[-1]


# -- words -----------------------------------------------------------------------------------------


def test_a_day_of_which_only_some_boats_are_shown_says_how_much_of_it_they_take() -> None:
    some = day(0, visit("Lapwing", "Plover", job("oil")), minutes=120)
    assert "Mon 2 Jun: 120 of 120 min, 60 of them shown here, 1 boat in" in plan_text(
        plan(some), BESIDE, 80
    )


def test_a_visit_says_what_is_late_what_is_early_and_what_it_saves() -> None:
    lines = plan_text(SOME, BESIDE, 80).splitlines()
    at = lines.index("Mon 2 Jun: 120 of 120 min, 1 boat in")
    assert lines[at + 1 : at + 9] == [
        "  Lapwing, Plover, held, 60 min: cowl off, leg off",
        "    2 days late, leads to overheating or a seized swivel: impeller",
        "    9 days early: bolts; 25 min of access saved",
        "    may not come apart: leg off (not known to have been opened for 24 months;",
        "      180 min more are allowed for each)",
        "  in store, Spare, 60 min: cowl off, leg off",
        "    3 days late: oil",
        "",
    ]
    assert "Wed 18 Jun, 15 of 120 min: Lapwing (2)" in lines


def test_the_worst_is_said_in_the_second_line() -> None:
    def second(shown: Plan) -> str:
        return plan_text(shown, BESIDE, 132).splitlines()[1]

    assert second(SOME) == (
        "1 job late, which leads to overheating or a seized swivel; 1 other late; 1 without a "
        "day. Why is told below."
    )
    assert second(replace(SOME, late=SOME.late[1:], unplaced=())) == (
        "1 job late. Why is told below."
    )
    assert second(replace(SOME, late=(), unplaced=())) == "All in time."


def test_what_is_late_left_out_and_moved_is_told_with_its_reason() -> None:
    said = " ".join(plan_text(SOME, BESIDE, 80).split())
    assert "Late and leads to overheating or a seized swivel: 1 (proved: no plan has fewer)" in said
    assert f"Plover: impeller; Mon 2 Jun, 2 days late: {NO_ROOM}" in said
    assert "Late, other jobs: 1, by 3 days at most" in said
    assert "No day found for 1 job: Knot: tube: takes 300 min, and the longest day has 120" in said
    assert "Moved against the kept plan: 2 jobs" in said
    assert "Knot: grease: Tue 3 Jun -> Thu 5 Jun, the boat is taken that day" in said
    assert "Plover: oil: none -> Wed 18 Jun, came into these days since" in said
    assert "2 jobs put off and not planned until they come back." in said
    assert "Weighed cost 123,457 workshop minutes; no bound was proved." in said


@pytest.mark.parametrize(
    ("bound", "words"),
    [
        (12_345_678, "proved to be the least"),
        (12_000_000, "at most 2.8 % above the least possible"),
        (None, "no bound was proved"),
    ],
)
def test_how_good_it_is_is_said_in_words(bound: int | None, words: str) -> None:
    assert words in plan_text(replace(SOME, bound=bound), BESIDE, 80)


def test_what_is_not_proved_is_not_said_to_be() -> None:
    one, two = SOME.late
    unsure = replace(SOME, late=(replace(one, proved=False), two))
    assert "1 (not proved unavoidable)" in plan_text(unsure, BESIDE, 80)
    both = replace(SOME, late=(one, replace(one, proved=False, task="tube"), two))
    assert "(1 proved unavoidable, the rest not proved)" in " ".join(
        plan_text(both, BESIDE, 80).split()
    )


@pytest.mark.parametrize("width", [30, 60, 80, 120])
@pytest.mark.parametrize("whole", [False, True])
def test_no_line_is_wider_than_the_screen(width: int, whole: bool) -> None:
    assert widest(plan_text(SOME, BESIDE, width, whole).splitlines()) <= width


@pytest.mark.parametrize("name", HOSTILE)
def test_names_cannot_paint_or_break_the_page(name: str) -> None:
    strange = plan(day(0, visit(name, name, job(name))))
    text = plan_text(strange, BESIDE, 80)
    assert "\x1b" not in text and "\x00" not in text


def test_rows_and_values_say_the_same() -> None:
    values = plan_values(SOME, {("Plover", "impeller"): "Renew it"}, BESIDE.held, BESIDE.stuck, 2)
    rows = plan_rows(SOME, {("Plover", "impeller"): "Renew it"})
    jobs = [
        (day["on"], visit["engine"], job["task"], job["title"], job["late"])
        for day in values["days"]
        for visit in day["visits"]
        for job in visit["jobs"]
    ]
    placed = [row for row in rows if row["on"] is not None]
    assert jobs == [(r["on"], r["engine"], r["task"], r["title"], r["late"]) for r in placed]
    assert [row["reason"] for row in rows if row["on"] is None] == [
        item["reason"] for item in values["unplaced"]
    ]
    first = values["days"][0]["visits"][0]
    assert first["held"] is True and first["may_not_come_apart"] == ["leg off"]
    assert values["days"][0]["visits"][1]["held"] is False
    assert values["moved"][1]["before"] is None and values["put_off"] == 2


# -- picture ---------------------------------------------------------------------------------------

TAKEN = {"Dunlin": {FIRST + 1, FIRST + 2}, "Teal": {FIRST + 40}}


def drawn(shown: Plan = SOME, taken: dict[str, set[int]] | None = None) -> ET.Element:
    minutes = open_days(shown.last - shown.first + 1)
    return ET.fromstring(plan_svg(shown, minutes, TAKEN if taken is None else taken))


def boxes(picture: ET.Element, kind: str) -> list[ET.Element]:
    return [item for item in picture.iter(f"{SVG}rect") if item.get("class") == kind]


def test_the_picture_says_itself_in_words() -> None:
    picture = drawn()
    assert picture.get("role") == "img" and picture.get("aria-labelledby") == "t d"
    title, desc = picture[0], picture[1]
    assert (title.get("id"), desc.get("id")) == ("t", "d")
    assert title.text == "Service days, 2 Jun to 29 Jun 2031"
    assert desc.text == described(SOME)
    assert described(SOME).startswith(
        "Mon 2 Jun: 120 of 120 minutes, Lapwing, Spare, 2 jobs late. Thu 5 Jun: "
    )
    assert described(SOME).endswith("No day was found for 1 job.")
    assert described(plan()) == "No service days."


def test_visits_late_ones_bookings_and_closed_days_are_told_apart_without_colour() -> None:
    picture = drawn()
    legend = 1
    assert len(boxes(picture, "l")) == 1 + legend  # the impeller leads to harm
    assert len(boxes(picture, "h")) == 1 + legend  # the oil of the spare
    assert len(boxes(picture, "v")) == 2 + legend
    assert len(boxes(picture, "c")) == 8 + legend  # four weekends
    hatched = [item for item in picture.iter(f"{SVG}rect") if item.get("fill") == "url(#b)"]
    assert len(hatched) == 2 + legend
    for colour in re.findall(rb"#([0-9a-f]{3,6})\b", plan_svg(SOME, open_days(), TAKEN)):
        assert len(set(colour)) == 1, colour


def test_bars_are_as_tall_as_their_share_and_say_their_minutes() -> None:
    picture = drawn()
    tall = [float(item.get("height", "0")) for item in boxes(picture, "u")]
    assert tall == [64, 32, 8]
    assert {"120", "60", "15"} <= set(texts(picture))


def test_a_boat_that_is_only_booked_beyond_these_days_has_no_row() -> None:
    names = set(texts(drawn()))
    assert {"Lapwing", "Dunlin", "Spare"} <= names and "Teal" not in names


@pytest.mark.parametrize("count", [0, 1, 61, 366])
def test_any_number_of_days_is_well_formed(count: int) -> None:
    length = max(1, count)
    whole = plan(
        *(day(at, visit(f"B{at % 9}", f"E{at % 9}", job("oil"))) for at in range(count)),
        length=length,
    )
    content = plan_svg(whole, open_days(length), {})
    picture = ET.fromstring(content)
    assert int(picture.get("width", "0")) <= 1300
    assert "nan" not in content.decode().lower() and len(content) < 400_000


def test_more_boats_than_can_be_drawn_are_counted() -> None:
    visits = tuple(visit(f"Boat {at}", f"E{at}", job("oil")) for at in range(MOST_ROWS + 7))
    picture = drawn(plan(day(0, *visits)), {})
    assert "7 more boats are not drawn." in texts(picture)
    assert float(picture.get("height", "0")) < 3000


@pytest.mark.parametrize("name", HOSTILE)
def test_names_are_shown_and_never_obeyed(name: str) -> None:
    picture = drawn(plan(day(0, visit(name, name, job(name)), place=name)), {name: {FIRST}})
    assert {item.tag for item in picture.iter()} <= {
        SVG + tag
        for tag in ("svg", "title", "desc", "style", "defs", "pattern", "rect", "text", "path")
    }
    assert not any(key.startswith("on") for item in picture.iter() for key in item.attrib)


def test_the_picture_is_as_it_was_when_it_was_looked_at() -> None:
    content = plan_svg(SOME, open_days(), TAKEN)
    if os.environ.get("FLEETCARE_RENEW_GOLDEN") == "1":
        GOLDEN.write_bytes(content)
    assert content == GOLDEN.read_bytes()
