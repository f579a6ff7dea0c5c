"""The sheet as PDF, as other programs read it."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from fleetcare.show.sheet import Sheet
from fleetcare.show.sheet_pdf import sheet_pdf
from fleetcare.show.sheet_view import sheet_view
from tests.show.paper import A4, LETTER, Tool, codes, is_of, pages, said, sizes
from tests.show.sheet_fleet import ALL, BOOK, DAY, HOSTILE, RULES, hostile_sheet, sheet

FOOT = "Mon 12 May 2031"


def pdf(made: Sheet, path: Path, paper: str = "a4") -> Path:
    path.write_bytes(sheet_pdf(sheet_view(made), FOOT, DAY, paper))
    return path


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return pdf(sheet(), tmp_path_factory.mktemp("pdf") / "whole.pdf")


def test_every_job_of_forty_stands_in_it_once_and_never_cut_in_two(whole: Path, tool: Tool) -> None:
    assert len(ALL) >= 40
    found = pages(tool, whole)
    everything = " ".join(found)
    for rule in RULES.rules.values():
        assert everything.count(f". {rule.title} ") == 1
    for page in found:
        begun = sum(page.count(f". {RULES.rules[task].title} ") for task in ALL)
        assert begun == page.count("not done Note")
    assert everything.count("not done Note") == len(ALL)


def test_every_caution_and_every_condition_word_stands_in_it(whole: Path, tool: Tool) -> None:
    # typst writes its own ff and fi as one sign; pdftotext may give either
    everything = flat(" ".join(pages(tool, whole, "-raw")))
    wanted = [caution for rule in RULES.rules.values() for caution in rule.cautions]
    wanted += [caution for step in RULES.access.values() for caution in step.cautions]
    wanted += sheet_view(sheet()).cautions
    assert [text for text in wanted if flat(text) not in everything] == []
    for rule in RULES.rules.values():
        for word in BOOK.conditions.get(rule.part, {}):
            assert flat(word) in everything


def flat(text: str) -> str:
    return text.replace("ﬀ", "ff").replace("ﬁ", "fi").replace("ﬂ", "fl").replace(" ", "")


def test_access_steps_stand_in_working_order(whole: Path, tool: Tool) -> None:
    everything = " ".join(pages(tool, whole))
    begin = everything.index("To reach it, in this order")
    part = everything[begin : everything.index("Close up in the reverse order")]
    steps = [step.access.name for step in sheet().visits[0].steps]
    places = [part.index(f"{at}. {name} ·") for at, name in enumerate(steps, 1)]
    assert places == sorted(places)


def test_pages_are_numbered_and_bear_the_engine_and_the_day(whole: Path, tool: Tool) -> None:
    found = pages(tool, whole)
    for at, page in enumerate(found, 1):
        assert page.endswith(f"{FOOT} Plover page {at} of {len(found)}")


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_it_has_the_size_of_the_paper_asked_for(
    tool: Tool, tmp_path: Path, paper: str, size: tuple[float, float]
) -> None:
    found = sizes(tool, pdf(sheet(tasks=("plugs",)), tmp_path / "paper.pdf", paper))
    assert found and all(is_of(size, one) for one in found)


def test_the_code_is_the_engine_s_name(tool: Tool, tmp_path: Path) -> None:
    assert codes(tool, pdf(hostile_sheet(("plugs",)), tmp_path / "codes.pdf")) == list(HOSTILE)


def test_hostile_names_are_read_as_they_are_written(tool: Tool, tmp_path: Path) -> None:
    everything = " ".join(pages(tool, pdf(hostile_sheet(("plugs",)), tmp_path / "names.pdf")))
    tight = everything.replace(" ", "")
    for name in HOSTILE:
        assert name.replace(" ", "") in tight.replace("\u202b", "").replace("\u202c", "")


def test_no_letter_leaves_the_paper(tool: Tool, tmp_path: Path) -> None:
    path = pdf(hostile_sheet(), tmp_path / "edges.pdf")
    boxes = said(tool("pdftotext"), "-bbox", path, "-").decode()
    right = [float(edge) for edge in re.findall(r'xMax="([\d.]+)"', boxes)]
    left = [float(edge) for edge in re.findall(r'xMin="([\d.]+)"', boxes)]
    margin, wide = 12 / 25.4 * 72, A4[0] / 25.4 * 72
    assert len(right) > 500
    assert max(right) <= wide - margin + 1 and min(left) >= margin - 1


def test_no_name_is_written_over_another_column(tool: Tool, tmp_path: Path) -> None:
    made = hostile_sheet(names=("W" * 22, *HOSTILE))
    path = pdf(made, tmp_path / "columns.pdf")
    text = said(tool("pdftotext"), "-bbox", "-l", "1", path, "-").decode()
    found = re.findall(
        r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)<', text
    )
    words = [(*map(float, edges), word) for *edges, word in found]
    assert len(words) > 100
    over = [
        (one[4], other[4])
        for at, one in enumerate(words)
        for other in words[at + 1 :]
        if min(one[2], other[2]) - max(one[0], other[0]) > 2
        and min(one[3], other[3]) - max(one[1], other[1]) > (one[3] - one[1]) / 2
    ]
    assert over == []


def test_the_same_sheet_gives_the_same_bytes_with_the_day_of_its_figures(tool: Tool) -> None:
    view = sheet_view(sheet(tasks=("plugs",)))
    assert sheet_pdf(view, FOOT, DAY) == sheet_pdf(view, FOOT, DAY)
    assert sheet_pdf(view, FOOT, DAY) != sheet_pdf(view, FOOT, date(2031, 5, 13))


def test_it_bears_its_title_and_is_tagged_for_readers(tool: Tool, whole: Path) -> None:
    info = said(tool("pdfinfo"), whole).decode()
    assert "Work sheet: Plover, Mon 12 May 2031" in info
    assert "Tagged:          yes" in info
