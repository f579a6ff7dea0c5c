"""Addresses as QR codes. Finder patterns and quiet zone: ISO/IEC 18004, from memory."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import zxingcpp

from fleetcare.show.qr import modules, qr_svg, qr_text

TOKEN = "Ab3_-" * 8 + "xyz"
ADDRESS = f"https://boats.example/f/{TOKEN}.ics"
FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
PAINT = re.compile("\x1b\\[[0-9;]*m")


def test_a_code_has_its_three_finders_and_four_modules_of_margin() -> None:
    rows = ["".join(map(str, row)) for row in modules(ADDRESS)]
    size = len(rows)
    assert all(len(row) == size for row in rows)
    for edge in (*rows[:4], *rows[-4:]):
        assert set(edge) == {"0"}
    assert all(row[:4] == row[-4:] == "0000" for row in rows)
    assert [row[4:11] for row in rows[4:11]] == FINDER
    assert [row[-11:-4] for row in rows[4:11]] == FINDER
    assert [row[4:11] for row in rows[-11:-4]] == FINDER
    assert (size - 8 - 17) % 4 == 0  # version n has 17 + 4n modules


@pytest.mark.parametrize("painted", [True, False])
def test_the_terminals_code_is_the_same_module_by_module(painted: bool) -> None:
    lines = [PAINT.sub("", line) for line in qr_text(ADDRESS, painted).split("\n")]
    upper_lower = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
    read: list[list[int]] = []
    for line in lines:
        read.append([upper_lower[letter][0] for letter in line])
        read.append([upper_lower[letter][1] for letter in line])
    wanted = modules(ADDRESS)
    assert read[: len(wanted)] == wanted
    assert all(set(row) == {0} for row in read[len(wanted) :])


def test_it_says_both_colours_so_that_any_ground_will_do() -> None:
    for line in qr_text(ADDRESS).split("\n"):
        assert line.startswith("\x1b[38;5;16;48;5;231m")  # black on white
        assert line.endswith("\x1b[0m")
    assert "\x1b" not in qr_text(ADDRESS, painted=False)


def test_it_fits_a_phones_terminal_unless_the_address_is_long() -> None:
    assert max(map(len, qr_text(ADDRESS, painted=False).split("\n"))) <= 45
    assert len(qr_text(ADDRESS).split("\n")) <= 24


def test_the_picture_is_svg_on_white_and_does_not_spell_the_address() -> None:
    content = qr_svg(ADDRESS)
    root = ET.fromstring(content)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.attrib["width"] == root.attrib["height"] == str(len(modules(ADDRESS)) * 6)
    assert TOKEN.encode() not in content
    assert b"#fff" in content
    assert content == qr_svg(ADDRESS)


@pytest.mark.parametrize("text", ["OB-14", "Ladoga ☂", "名前", "é", "בדיקה"])
def test_letters_beyond_ascii_say_that_they_are_utf_8(text: str) -> None:
    pixels = np.kron(np.array(modules(text), dtype=np.uint8), np.ones((5, 5), dtype=np.uint8))
    read = zxingcpp.read_barcode(255 * (1 - pixels))
    raw = zxingcpp.read_barcode(255 * (1 - pixels), text_mode=zxingcpp.TextMode.HexECI)
    assert read is not None and raw is not None
    assert (read.text, read.bytes) == (text, text.encode())
    # a code that names its letters is ]Q2, and 26 are those of UTF-8 (AIM, from memory)
    sign = "]Q1" if text.isascii() else "]Q2\\000026"
    assert bytes.fromhex(raw.text) == sign.encode() + text.encode()
