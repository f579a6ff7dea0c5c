"""Labels: the sheets' sizes, text that fits its box, drawings that hold what they should."""

from __future__ import annotations

import re
import unicodedata
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from fleetcare.fleet.names import wrong_with
from fleetcare.show.labels import EDGE, INSET, Label, labels_page, sheets_svg
from fleetcare.show.labels_fit import LINE, fitted, is_tame, width_of
from fleetcare.show.labels_sizes import SHEETS, near_sizes, sheet_named
from fleetcare.show.words import ENGLISH, Words, language

SVG = "{http://www.w3.org/2000/svg}"
LOOKS = ("intakes look", "kill cord")
steady = settings(deadline=None, derandomize=True, database=None, max_examples=60)
names = st.text(min_size=1, max_size=80).filter(lambda text: wrong_with(text) is None)

# Label, paper, left and top margin, step across and down, in millimetres; common practice for
# such sheets, no source; inches are 25.4 mm.
BY_HAND = [
    ("70x36", (210, 297), 24, 0, 4.5, 70, 36),
    ("99.1x67.7", (210, 297), 8, 4.65, 13.1, 101.6, 67.7),
    ("105x74", (210, 297), 8, 0, 0.5, 105, 74),
    ("63.5x38.1", (210, 297), 21, 7.25, 15.15, 66, 38.1),
    ("2-5/8x1in", (215.9, 279.4), 30, 4.7625, 12.7, 69.85, 25.4),
    ("4x2in", (215.9, 279.4), 10, 3.96875, 12.7, 106.3625, 50.8),
]


@pytest.mark.parametrize(("size", "paper", "count", "left", "top", "across", "down"), BY_HAND)
def test_a_sheets_labels_stand_where_the_sheet_has_them(
    size: str, paper: tuple[float, float], count: int, left: float, top: float, across: float,
    down: float,
) -> None:  # fmt: skip
    sheet = sheet_named(size)
    assert sheet is not None
    assert sheet.page == pytest.approx([side * 1000 for side in paper], abs=1)
    places = list(sheet.places())
    assert sheet.labels == len(places) == count
    assert places[0] == pytest.approx((left * 1000, top * 1000), abs=1)
    assert places[1][0] - places[0][0] == pytest.approx(across * 1000, abs=1)
    assert places[sheet.columns][1] - places[0][1] == pytest.approx(down * 1000, abs=1)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_label_overlaps_another_or_the_edge_of_its_paper(sheet: object) -> None:
    assert isinstance(sheet, type(SHEETS[0]))
    places = list(sheet.places())
    for x, y in places:
        assert x >= 0 and x + sheet.width <= sheet.page[0]
        assert y >= 0 and y + sheet.height <= sheet.page[1]
    for at, (x, y) in enumerate(places):
        for other_x, other_y in places[:at]:
            assert abs(x - other_x) >= sheet.width or abs(y - other_y) >= sheet.height


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("70 × 36 mm", "70x36"), ("70X36", "70x36"), ("99,1x67,7", "99.1x67.7"),
        ("2⅝ × 1 in", "2-5/8x1in"), ("2 5/8 x 1 in", "2-5/8x1in"), ("2.625x1in", "2-5/8x1in"),
        ('4" x 2"', "4x2in"), ("4 × 3⅓ in", "4x3-1/3in"), ("70x35", None), ("", None),
    ],
)  # fmt: skip
def test_a_size_is_found_however_its_signs_were_typed(typed: str, meant: str | None) -> None:
    sheet = sheet_named(typed)
    assert (sheet.name if sheet else None) == meant


def test_every_size_has_a_name_of_its_own_and_is_near_to_its_slips() -> None:
    assert len({sheet.name for sheet in SHEETS}) == len({sheet.said for sheet in SHEETS})
    assert len({sheet.said for sheet in SHEETS}) == len(SHEETS) >= 10
    assert all(sheet_named(sheet.said) is sheet for sheet in SHEETS)
    assert "70x36" in near_sizes("70x35")


# -- text in its box ------------------------------------------------------------------------------


@steady
@given(names, st.floats(8, 70), st.floats(3, 40), st.floats(2, 30), st.booleans())
def test_text_fits_its_box_and_nothing_of_it_is_lost(
    text: str, width: float, height: float, largest: float, bold: bool
) -> None:
    text = " ".join(text.split(" "))
    found = fitted(text, width, height, largest, bold)
    assert 0 < found.size <= largest
    assert found.height <= height + 1e-9 or found.size == 0.01
    assert all(wide <= width + 1e-9 for _, wide in found.lines) or found.size == 0.01
    drawn = "".join(line for line, _ in found.lines)
    assert drawn.replace(" ", "") == text.replace(" ", "")


@steady
@given(names, st.floats(10, 60), st.floats(5, 30))
def test_it_could_not_be_a_tenth_larger_in_the_same_lines_broken_the_same_way(
    text: str, width: float, height: float
) -> None:
    found = fitted(text, width, height, 10_000.0, bold=True)
    larger = found.size * 1.1
    whole = len(found.lines) * LINE * larger <= height
    assert not (whole and all(wide * 1.1 <= width for _, wide in found.lines))


def test_a_name_is_broken_between_words_where_it_has_any() -> None:
    found = fitted("The old tender with the green stripe", 40, 20, 12, bold=True)
    assert [line.split() for line, _ in found.lines] == [
        ["The", "old", "tender"], ["with", "the", "green"], ["stripe"]
    ]  # fmt: skip


def test_a_word_too_long_to_be_read_is_broken_and_its_marks_stay_with_it() -> None:
    found = fitted("n\u0303" * 60, 30, 20, 10, bold=True)
    assert len(found.lines) > 1
    assert all(not unicodedata.combining(line[0]) for line, _ in found.lines)


def test_a_short_name_is_as_large_as_asked() -> None:
    assert fitted("OB-14", 40, 20, 9, bold=True).size == 9


def test_widths_are_those_of_the_letters_measured() -> None:
    # Advance widths of Arial Bold and Arial, thousandths of the size: from memory of the type.
    assert width_of("OB-14", bold=True) == pytest.approx(0.778 + 0.722 + 0.333 + 2 * 0.556)
    assert width_of("Hull", bold=False) == pytest.approx(0.722 + 0.556 + 2 * 0.222)
    assert width_of("é", bold=True) == width_of("e", bold=True)


def test_only_lines_of_other_scripts_letters_go_without_a_width() -> None:
    assert [is_tame(text) for text in ("OB-14", "Café", "Ладога", "河口", "بطة", "ברווז")] == [
        False, False, True, True, True, True
    ]  # fmt: skip
    assert not is_tame("\u2031")  # a sign may be as wide as it likes
    assert is_tame("Z" + "\u0351" * 5)
    assert not is_tame("\ufdfd")  # one letter as wide as ten


# -- the drawings ---------------------------------------------------------------------------------


def tree(svg: str) -> etree._Element:
    return etree.fromstring(svg.encode())


def labels_in(svg: str) -> list[etree._Element]:
    return tree(svg).findall(f"{SVG}svg")


def said(label: etree._Element, kind: str) -> str:
    return " ".join(
        text.text or "" for text in label.iter(f"{SVG}text") if text.get("class") == kind
    )


def test_a_label_says_name_boat_and_the_looks_at_every_start() -> None:
    sheet = sheet_named("99.1x67.7")
    assert sheet is not None
    (svg,) = sheets_svg([Label("OB-14", "Boat 14", LOOKS), Label("Spare A", None)], sheet, ENGLISH)
    first, second = labels_in(svg)
    assert (said(first, "name"), said(first, "boat")) == ("OB-14", "Boat 14")
    assert said(first, "looks").replace("\u00a0", " ") == "Every start: intakes look, kill cord"
    assert (said(second, "name"), said(second, "boat"), said(second, "looks")) == (
        "Spare A", "in store", ""
    )  # fmt: skip


def test_a_started_sheet_begins_after_the_labels_that_are_gone() -> None:
    sheet = sheet_named("105x74")
    assert sheet is not None
    pages = sheets_svg([Label(f"OB-{at}", None) for at in range(8)], sheet, ENGLISH, skip=3)
    places = [(x / 1000, y / 1000) for x, y in sheet.places()]
    found = [[(float(item.get("x", "")), float(item.get("y", ""))) for item in labels_in(page)]
             for page in pages]  # fmt: skip
    assert found == [places[3:], places[:3]]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_the_code_keeps_four_modules_of_white_and_the_printers_edge(sheet: object) -> None:
    assert isinstance(sheet, type(SHEETS[0]))
    for name in ("OB-14", "w" * 80, "Ж" * 80):
        (svg,) = sheets_svg([Label(name, "Boat", LOOKS)], sheet, ENGLISH)
        (label,) = labels_in(svg)
        code = next(item for item in label.iter(f"{SVG}path"))
        found = re.fullmatch(r"translate\((\S+) (\S+)\) scale\((\S+)\)", code.get("transform", ""))
        assert found is not None
        left, top, size = map(float, found.groups())
        rows = [int(row) for row in re.findall(r"M\d+ (\d+)", code.get("d", ""))]
        side = size * (max(rows) + 1)
        width, height = sheet.width / 1000, sheet.height / 1000
        texts = [float(text.get("x", "0")) for text in label.iter(f"{SVG}text")]
        white = 4 * size - 0.001
        assert left >= max(INSET, white) and top >= white and height - top - side >= white
        assert sheet.left / 1000 + left >= EDGE - 0.001
        assert sheet.top / 1000 + top >= EDGE - 0.001
        assert min(texts) - left - side >= white
        assert left + side <= 0.45 * width
        assert size > 0.2  # millimetres a module: what a phone reads from a print


@steady
@given(names, names)
def test_any_name_gives_sound_xml_that_says_it_whole(name: str, boat: str) -> None:
    sheet = sheet_named("70x36")
    assert sheet is not None
    (svg,) = sheets_svg([Label(name, boat, LOOKS)], sheet, ENGLISH)
    (label,) = labels_in(svg)
    drawn = said(label, "name").replace(" ", "")
    assert drawn == re.sub("[\ufffe\uffff]|[\U0001fffe\U0001ffff]", "\ufffd", name).replace(" ", "")


def test_a_name_with_markup_is_only_text() -> None:
    sheet = sheet_named("70x36")
    assert sheet is not None
    name = "<script>alert(1)</script>\"'&"
    page = labels_page([Label(name, "</svg><img src=x>")], sheet, ENGLISH)
    assert "<script" not in page
    assert "<img" not in page


def test_names_from_right_to_left_are_set_to_the_right_and_kept_in_their_order() -> None:
    sheet = sheet_named("70x36")
    assert sheet is not None
    (svg,) = sheets_svg([Label("ברווז 7", "Boat 7")], sheet, ENGLISH)
    (label,) = labels_in(svg)
    lines = [text for text in label.iter(f"{SVG}text") if text.get("class") == "name"]
    assert all(line.get("text-anchor") == "end" for line in lines)
    assert all("plaintext" in str(line.get("style")) for line in lines)
    assert {line.get("x") for line in lines} == {"65"}  # 70 less the white edge of 5


def test_the_page_speaks_the_language_asked_for() -> None:
    sheet = sheet_named("70x36")
    assert sheet is not None
    page = labels_page([Label("OB-14", None, LOOKS)], sheet, language("de"))
    assert '<html lang="de">' in page
    assert "Vor jedem Start:" in page
    assert "Every start" not in page
    strange = Words("xx", {"in store": "⟦in store⟧"})
    assert "⟦in store⟧" in labels_page([Label("OB-14", None)], sheet, strange)


def test_the_same_labels_give_the_same_bytes() -> None:
    from fleetcare.show.labels_pdf import labels_pdf

    sheet = sheet_named("4x2in")
    assert sheet is not None
    made = [Label(f"OB-{at}", "Boat", LOOKS) for at in range(12)]
    day = date(2026, 7, 18)
    assert labels_page(made, sheet, ENGLISH) == labels_page(made, sheet, ENGLISH)
    assert labels_pdf(made, sheet, ENGLISH, day) == labels_pdf(made, sheet, ENGLISH, day)
