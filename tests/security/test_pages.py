"""No name, note or task becomes mark-up in any page or drawing."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from lxml import etree, html

from fleetcare.show.pages import environment
from tests.browser.hostile import ENGINES
from tests.fuzz.door import heard

PAGES = {
    "board": ["board", "--html", "x.html"],
    "history": ["history", ENGINES[0], "--html", "x.html"],
    "history of quotes": ["history", ENGINES[1], "--html", "x.html"],
    "history of an end": ["history", ENGINES[3], "--html", "x.html"],
    "sheet": ["sheet", "--html", "x.html", *ENGINES[:5]],
    "labels": ["labels", "--html", "x.html", *ENGINES[:5]],
}  # fmt: skip
DRAWINGS = {
    "plan": ["plan", "--effort", "0", "--svg", "x.svg"],
    "wear": ["wear", ENGINES[0], "--svg", "x.svg"],
    "forecast": ["forecast", "held", "--svg", "x.svg"],
}
ACTIVE = {"script", "img", "iframe", "object", "embed", "link", "base", "meta"}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_holds_no_element_of_anybody_elses(pages: Path, name: str) -> None:
    said = heard(PAGES[name])
    assert said.code == 0, said.err
    text = Path("x.html").read_text(encoding="utf-8")
    assert "hacked" in text, "the texts are on the page"
    tree = html.document_fromstring(text)
    kinds = Counter(item.tag for item in tree.iter() if isinstance(item.tag, str))
    assert {tag: kinds[tag] for tag in ACTIVE & kinds.keys()}.keys() <= {"script", "meta"}
    assert all("hacked" not in (item.text or "") for item in tree.iter("script"))
    assert all("<" not in (item.text or "") for item in tree.iter("style"))
    for item in tree.iter():
        if isinstance(item.tag, str):
            assert not [key for key in item.attrib if key.startswith("on")], item.tag
            links = [item.get(key, "") for key in ("href", "src", "action", "xlink:href")]
            assert not [link for link in links if link and not link.startswith(("#", "data:"))]
    assert kinds["script"] <= (1 if name == "board" else 0)


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_well_formed_and_holds_nothing_that_acts(pages: Path, name: str) -> None:
    said = heard(DRAWINGS[name])
    if said.code == 1 and not Path("x.svg").exists():
        assert name != "plan", said.err  # too little is known for it to be drawn
        return
    tree = etree.fromstring(Path("x.svg").read_bytes())
    tags = {etree.QName(item).localname for item in tree.iter() if isinstance(item.tag, str)}
    assert not tags & {"script", "foreignObject", "image", "a", "use", "animate", "set"}
    assert not [key for item in tree.iter() for key in item.attrib if key.startswith("on")]


def test_every_template_escapes_and_none_is_a_users() -> None:
    made = environment()
    assert made.autoescape is True
    for text in ("<b>", '"', "'", "&", "{{ 7*7 }}"):
        assert "<b>" not in made.from_string("{{ x }}").render(x=text)
    assert made.from_string("{{ x }}").render(x="{{ 7*7 }}") == "{{ 7*7 }}"


SAFE = {
    "history.html: running": "in CSS, where _in_css writes it",
    "history.html: numbered": "our own words",
    "history.html: section.drawing": "SVG, each text of it escaped",
    "history.html: ' class=right'": "our own word",
    "labels.html: sheet": "SVG, each text of it escaped",
}


def test_what_a_template_takes_as_it_is_is_known() -> None:
    """Each has its page above, where it would show."""
    folder = Path(__file__).parents[2] / "fleetcare" / "show" / "templates"
    found = {
        f"{path.name}: {what.strip()}"
        for path in sorted(folder.glob("*.html"))
        for what in re.findall(r"\{\{([^}|]*)(?:if[^}]*)?\|\s*safe", path.read_text("utf-8"))
    }
    assert found == set(SAFE)


def test_a_feed_holds_only_lines_of_its_own(pages: Path) -> None:
    """Names that end a line would add properties, or whole events, of their own (RFC 5545)."""
    import icalendar

    assert heard(["feed", "write", "x.ics"]).code == 0
    raw = Path("x.ics").read_bytes()
    lines = raw.replace(b"\r\n ", b"").split(b"\r\n")
    assert lines.pop() == b""
    assert all(re.match(rb"[A-Z-]+[;:]", line) for line in lines)
    assert b"\n" not in raw.replace(b"\r\n", b"") and b"\r" not in raw.replace(b"\r\n", b"")
    counted = Counter(line for line in lines if line.startswith((b"BEGIN", b"END")))
    read = icalendar.Calendar.from_ical(raw)
    assert counted[b"BEGIN:VEVENT"] == counted[b"END:VEVENT"] == len(read.walk("VEVENT")) > 0
    assert counted[b"BEGIN:VALARM"] == 0


def test_a_raw_fleet_makes_a_feed_of_its_own_lines_too(raw: Path) -> None:
    assert heard(["feed", "write", "x.ics"]).code == 0
    content = Path("x.ics").read_bytes()
    lines = content.replace(b"\r\n ", b"").split(b"\r\n")
    assert not [line for line in lines if re.search(rb"[\x00-\x08\x0b-\x1f\x7f]", line)]
    assert not [line for line in lines if line.startswith(b"fleetcare: stored")]
