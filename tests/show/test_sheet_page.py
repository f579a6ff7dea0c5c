"""The sheet's page, read strictly: everything is on it, and nothing that people wrote runs."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest
from lxml import etree

from fleetcare.rules.words import find_condition
from fleetcare.show.qr import modules
from fleetcare.show.sheet import Sheet
from fleetcare.show.sheet_page import code_of, sheet_page
from fleetcare.show.sheet_view import sheet_view
from fleetcare.show.words import Words
from tests.show.sheet_fleet import ALL, BOOK, HOSTILE, RULES, hostile_sheet, sheet

FOOT = "Mon 12 May 2031"
KNOWN = {
    "html", "head", "meta", "title", "style", "body", "main", "section", "header", "div", "article",
    "h1", "h2", "h3", "h4", "p", "ul", "ol", "li", "table", "thead", "tbody", "tr", "th", "td",
    "b", "i", "span", "small", "bdi", "svg", "rect", "path",
}  # fmt: skip


def html(made: Sheet, paper: str = "a4") -> str:
    return sheet_page(sheet_view(made), FOOT, paper)


def tree(made: Sheet) -> etree._Element:
    """The page as strict XML reads it: every tag closed, every sign escaped."""
    return etree.fromstring(html(made).encode(), etree.XMLParser(resolve_entities=False))


def text(item: etree._Element) -> str:
    return " ".join("".join(item.itertext()).split())


def texts(page: etree._Element, path: str) -> list[str]:
    return [text(item) for item in page.findall(path)]


@pytest.fixture(scope="module")
def page() -> etree._Element:
    """The sheet of an engine of which every job of the rules is wanted."""
    return tree(sheet())


def test_every_caution_of_the_rules_stands_on_the_sheet_of_all_jobs(page: etree._Element) -> None:
    said = texts(page, ".//p[@class='care']")
    wanted = [caution for rule in RULES.rules.values() for caution in rule.cautions]
    wanted += [caution for step in RULES.access.values() for caution in step.cautions]
    assert len(wanted) > 35
    assert [caution for caution in wanted if caution not in said] == []


def test_each_job_has_its_own_cautions_in_its_own_frame(page: etree._Element) -> None:
    for job, task in zip(page.findall(".//article"), ordered(page), strict=True):
        said = texts(job, "p[@class='care']")
        assert said[: len(RULES.rules[task].cautions)] == list(RULES.rules[task].cautions)


def ordered(page: etree._Element) -> list[str]:
    """The tasks in the order of the page, known by their titles."""
    titles = {rule.title: task for task, rule in RULES.rules.items()}
    heads = [item.find("h3").text.partition(". ")[2] for item in page.findall(".//article")]
    return [titles[head] for head in heads]


def test_every_job_stands_once_and_is_numbered(page: etree._Element) -> None:
    assert sorted(ordered(page)) == sorted(ALL)
    numbers = [item.find("h3").text.partition(". ")[0] for item in page.findall(".//article")]
    assert numbers == [str(at) for at in range(1, len(ALL) + 1)]


def test_access_steps_stand_before_the_jobs_each_after_what_it_includes(
    page: etree._Element,
) -> None:
    names = [
        item.find("b").text.partition(". ")[2] for item in page.findall(".//li[@class='step']")
    ]
    assert sorted(names) == sorted({name for rule in RULES.rules.values() for name in rule.access}
                                   | {"powerhead off"})  # fmt: skip
    for at, name in enumerate(names):
        assert set(RULES.access[name].includes) <= set(names[:at])
    whole = [item for item in page.iter() if item.get("class") == "step" or item.tag == "article"]
    kinds = [item.tag for item in whole]
    assert kinds == sorted(kinds, key=lambda tag: tag == "article")


def test_what_is_ticked_can_be_typed_back(page: etree._Element) -> None:
    ticked = 0
    for job, task in zip(page.findall(".//article"), ordered(page), strict=True):
        part = RULES.rules[task].part
        words = texts(job, ".//span[@class='word']")
        assert words == list(BOOK.conditions.get(part, {}))
        for word in words:
            assert find_condition(BOOK.conditions, part, word) == BOOK.conditions[part][word]
            ticked += 1
    assert ticked > 150


def test_weights_are_said_in_words_not_in_colour_alone(page: etree._Element) -> None:
    for box in page.findall(".//article//li"):
        mark = box.find(".//small")
        weight = box.get("class").split()[-1]
        said = "" if mark is None else text(mark)
        assert said == {"fine": "", "watch": "watch", "act": "act", "stop": "STOP"}[weight]
    css = "".join(page.find("head/style").itertext())
    own = css[css.index("Read in sunlight") :]
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", own)) <= {"#fff", "#000"}


def test_general_cautions_stand_once_and_the_handbook_comes_first(page: etree._Element) -> None:
    whole = text(page.find("body"))
    for start in ("Before a hand goes near", "Never run it without water", "Propeller off before",
                  "Fuel: no flame or spark"):  # fmt: skip
        assert whole.count(start) == 1
    rule = "handbook, local codes and licensed practice come before everything on this sheet"
    assert whole.count(rule) == 1


@pytest.mark.parametrize("label", ["Hour meter reads", "Role", "Signature", "Also found"])
def test_there_is_a_place_to_write(page: etree._Element, label: str) -> None:
    assert texts(page, ".//p").count(label) == 1


def test_names_are_text_and_nothing_runs() -> None:
    page = tree(hostile_sheet())
    assert {item.tag for item in page.iter()} <= KNOWN
    assert not [
        name for item in page.iter() for name in item.attrib if name.startswith(("on", "href"))
    ]
    assert texts(page, ".//section/header//h2/bdi") == list(HOSTILE)
    for name, visit in zip(HOSTILE, page.findall(".//section[header]"), strict=True):
        assert f"on {name}, {name}" in texts(visit, "header//bdi")
    policy = page.find("head/meta[@http-equiv]").get("content")
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"
    assert "url(" not in html(hostile_sheet()) and "http://" not in html(hostile_sheet())


def test_a_name_cannot_leave_the_style_it_stands_beside() -> None:
    assert html(hostile_sheet()).count("</style>") == 1


def test_several_engines_have_a_first_page_with_what_to_fetch() -> None:
    page = tree(hostile_sheet())
    rows = [texts(item, "td") for item in page.findall(".//tbody/tr")]
    assert [cells[0] for cells in rows] == list(HOSTILE)
    assert {cells[2] for cells in rows} == {"swivel grease, impeller"}
    assert "5 × impeller kit" in [one.replace("\xa0", " ") for one in texts(page, ".//ul/li")]
    assert tree(sheet(tasks=("plugs",))).find(".//tbody") is None


@pytest.mark.parametrize("name", [*HOSTILE, "OB-21"])
def test_the_drawn_code_is_the_modules_of_the_name(name: str) -> None:
    code, wanted = code_of(name), modules(name)
    drawn = [[0] * code.size for _ in range(code.size)]
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", code.path):
        for at in range(int(x), int(x) + int(width)):
            drawn[int(y)][at] += 1
    assert drawn == wanted


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert html(sheet()) == html(sheet())


def test_every_text_of_the_page_goes_through_the_reader_s_language() -> None:
    class Marked(dict[str, str]):
        """A language in which every message stands in brackets."""

        def get(self, message: str, _: object = None) -> str:  # type: ignore[override]
            return f"⟦{message}⟧"

    words = Words("xx", Marked())
    page = etree.fromstring(sheet_page(sheet_view(sheet(), words), FOOT, "a4", words).encode())
    own = rule_texts()
    left = []
    for item in page.find("body").iter():
        for said in (item.text, item.tail, item.get("aria-label")):
            bare = outside(said or "")
            for known in own:
                bare = bare.replace(known, "")
            if re.search(r"[A-Za-z]{2,}", bare):
                left.append(said)
    assert left == []


def outside(text: str) -> str:
    """What stands outside all brackets."""
    while "⟦" in text:
        text = re.sub(r"⟦[^⟦⟧]*⟧", "", text)
    return text


def rule_texts() -> Iterable[str]:
    """What the rules say, which stays as they have it; the names; the number; longest first."""
    found = {"Plover", sheet().visits[0].number}
    for rule in RULES.rules.values():
        found |= {rule.name, rule.title, rule.title.rstrip("."), *rule.cautions}
    for step in RULES.access.values():
        found |= {step.name, *step.cautions, *(part.item for part in step.consumes)}
    found |= {part.item for rule in RULES.rules.values() for part in rule.parts}
    found |= {word for words in BOOK.conditions.values() for word in words}
    return sorted(found, key=lambda text: -len(text))
