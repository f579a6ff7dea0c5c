"""The lines of a form, whatever people make of them."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.cli.sheet_lines import Line, part_and_condition, read_form
from fleetcare.errors import Fault
from fleetcare.rules.shipped import read_book

steady = settings(deadline=None, derandomize=True, database=None, max_examples=200)
PARTS = read_book(None, {"small-petrol"}).conditions
FORM = """\
on: 2031-05-12
by: workshop
sheet: 3F7K-M2TX
engine: Plover
reading: 120.5
[x] impeller | found: missing | count: 2 | note: two | three
[ ] plugs | note:
also found: tell-tale weak
"""
TASKS = ("impeller", "plugs", "a | b")
some_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)


def test_a_form_is_read_line_by_line() -> None:
    form = read_form(FORM, "f")
    block = form.blocks[0]
    assert form.faults == [] and len(form.blocks) == 1
    assert (form.on and form.on.text, form.by and form.by.text) == ("2031-05-12", "workshop")
    assert (block.engine and block.engine.text, block.number.text) == ("Plover", "3F7K-M2TX")
    assert [line.done for line in block.jobs] == [True, False]
    assert block.jobs[0].where == "f:6"
    assert block.jobs[0].of(TASKS) == (
        "impeller", {"found": "missing", "count": "2", "note": "two | three"}
    )  # fmt: skip


@steady
@given(some_text)
def test_a_note_is_kept_whatever_it_holds(note: str) -> None:
    line = Line("f:1", True, tuple(f" plugs | found: fine | note: {note}".split("|")))
    assert line.of(TASKS) == ("plugs", {"found": "fine", "note": " ".join(note.split())})


def test_a_task_whose_name_holds_the_sign_between_fields_is_found() -> None:
    line = Line("f:1", True, (" A  ", "  b ", " note: x"))
    assert line.of(TASKS) == ("A  |  b", {"note": "x"})


@steady
@given(st.lists(st.one_of(some_text, st.sampled_from(FORM.splitlines())), max_size=12))
def test_no_text_breaks_the_reader_and_each_bad_line_is_named(lines: list[str]) -> None:
    text = "\n".join(lines)
    form = read_form(text, "f")
    for fault in form.faults:
        assert isinstance(fault, Fault) and fault.what
        assert fault.where == "" or 1 <= int(fault.where.partition(":")[2]) <= len(
            text.splitlines()
        )
    for block in form.blocks:
        for line in block.jobs:
            assert isinstance(line.of(TASKS), tuple | Fault)


def test_every_part_and_word_is_told_apart_in_one_line() -> None:
    names = list(PARTS)
    for part, words in PARTS.items():
        for word in words:
            for said in (f"{part} {word}", f"{part.upper()}: {word}"):
                assert part_and_condition(said, names) == (part, word, "")
            assert part_and_condition(f"{part} {word} 3", names) == (part, word, "3")
    assert part_and_condition("bilge wet", names) is None
    assert part_and_condition("swivelled", names) is None
    assert part_and_condition("swivel", names) == ("swivel", "", "")
