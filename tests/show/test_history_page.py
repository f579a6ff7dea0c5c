"""A history's facts against days and hours worked by hand, and what its page and PDF say."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from lxml import etree, html

from fleetcare.due.rows import due_and_standing
from fleetcare.fleet.names import wrong_with
from fleetcare.log.entries import Entry, PutOff, Reading
from fleetcare.log.history import history
from fleetcare.show.history_page import history_document, history_page, plain
from fleetcare.show.history_page_facts import Past, Written, carriers_of, past_of
from fleetcare.show.history_page_form import Document, Section
from fleetcare.show.history_page_pdf import history_pdf
from fleetcare.show.words import ENGLISH, Words, language
from fleetcare.usage.outlooks import Forecast
from tests.built import fleet_of
from tests.exchange.bring import SHIPPED
from tests.oracle.cases import tables
from tests.show.messages import messages

YARD = """
boat Otter, hire, lies in fresh from 2031-01-01
boat Heron, club, lies in salt from 2031-01-01
engine Plover on Otter since 2031-05-01, reading 100, 6 hp, 4 stroke
engine Teal on Heron since 2031-05-01, reading 40, 6 hp, 4 stroke
"""
DAY = date(2031, 9, 1)


def past(lines: str, name: str = "Plover", as_of: date = DAY, **changed: Any) -> Past:
    """The past of an engine out of the fleet notation; each entry written on its day by jetty."""
    fleet, entries = fleet_of(tables(YARD + lines))
    if changed:
        engine = replace(fleet.engines[name], **changed)
        fleet = replace(fleet, engines={**fleet.engines, name: engine})
    known = history(entries, as_of)
    rows, stands = due_and_standing(fleet, known, SHIPPED, as_of, name, Forecast(SHIPPED.uses, {}))
    others = carriers_of(fleet, known, as_of, name)
    return past_of(
        fleet, known, SHIPPED, as_of, name, rows, stands.get(name, []),
        written(entries, [name]), written(entries, others),
    )  # fmt: skip


def written(entries: list[Entry], names: list[str]) -> list[Written]:
    return [
        Written(entry.number, entry.on, "jetty", entry.on, entry)
        for entry in sorted(entries, key=lambda entry: (entry.on, entry.number))
        if getattr(entry, "engine", "") in names or getattr(entry, "other", "") in names
    ]


def with_entries(told: Past, *more: Written) -> Past:
    return replace(told, entries=(*told.entries, *more))


def days(*pairs: tuple[int, int]) -> list[tuple[str, str]]:
    return [(date.fromordinal(first).isoformat(), date.fromordinal(last).isoformat())
            for first, last in pairs]  # fmt: skip


def document(told: Past, words: Words = ENGLISH) -> Document:
    return history_document(told, SHIPPED, words)


def section(told: Past, key: str, words: Words = ENGLISH) -> Section:
    return next(item for item in document(told, words).sections if item.key == key)


def rows_of(told: Past, key: str) -> list[list[str]]:
    table = section(told, key).table
    assert table is not None
    return [[cell.text for cell in row] for row in table.rows]


# -- facts ----------------------------------------------------------------------------------------

MOVED = """
Plover reads 110 on 2031-05-11
Otter moves to brackish on 2031-06-01
Plover into store on 2031-07-01
Plover onto Heron on 2031-08-01
"""


def test_where_it_was_is_told_boat_by_boat_and_water_by_water() -> None:
    told = past(MOVED)
    assert [(stay.boat, stay.water, *days((stay.first, stay.last))[0]) for stay in told.stays] == [
        ("Otter", 0, "2031-05-01", "2031-05-31"),
        ("Otter", 1, "2031-06-01", "2031-06-30"),
        (None, 1, "2031-07-01", "2031-07-31"),
        ("Heron", 2, "2031-08-01", "2031-09-01"),
    ]
    assert rows_of(told, "boats") == [
        ["1 May 2031", "31 May 2031", "Otter", "hire", "fresh", "10"],
        ["1 Jun 2031", "30 Jun 2031", "Otter", "hire", "brackish", "0"],
        ["1 Jul 2031", "31 Jul 2031", "in store", "", "brackish", "0"],
        ["1 Aug 2031", "today", "Heron", "club", "salt", "0"],
    ]


def test_a_store_before_any_boat_has_no_known_water() -> None:
    told = past("engine Snipe in store since 2031-05-01, reading 7", "Snipe")
    assert rows_of(told, "boats") == [
        ["1 May 2031", "today", "in store", "", "not known, counts as salt", "0"]
    ]


def test_lay_ups_are_stretches_and_the_open_one_lasts_till_today() -> None:
    told = past("Plover laid up on 2031-06-01\nPlover launched on 2031-06-11\n"
                "Plover laid up on 2031-08-30")  # fmt: skip
    assert days(*told.laid_up) == [("2031-06-01", "2031-06-10"), ("2031-08-30", "2031-09-01")]
    assert "laid up since 30 Aug 2031" in dict(document(told).facts)["Today"]


def test_a_stretch_afloat_without_a_figure_is_named_with_its_days() -> None:
    told = past("Plover reads 110 on 2031-05-31\nPlover runs 2 on 2031-07-01\n"
                "Plover reads 130 on 2031-08-02")  # fmt: skip
    # 30 days of June lie between 31 May and 1 July: not more than 30; 2 July to 1 August are 31
    assert [(days((first, last))[0], count) for first, last, count in told.gaps] == [
        (("2031-07-02", "2031-08-01"), 31)
    ]
    assert ("No reading and no run for 31 days afloat: 2 Jul 2031 to 1 Aug 2031."
            in section(told, "gaps").lines)  # fmt: skip


def test_days_laid_up_or_in_store_are_no_gap() -> None:
    told = past("Plover reads 110 on 2031-05-31\nPlover laid up on 2031-06-10\n"
                "Plover launched on 2031-08-25")  # fmt: skip
    # 9 days to 9 June and 8 days from 25 August to today are left of the 93
    assert told.gaps == ()
    assert ("No stretch of more than 30 days afloat is without a reading or a run."
            in section(told, "gaps").lines)  # fmt: skip


def test_the_days_since_the_last_figure_are_a_gap_too() -> None:
    told = past("Plover reads 110 on 2031-07-31")
    assert [count for *_, count in told.gaps] == [90, 32]  # 2 May to 30 July, 1 August to today


SWAP = """
Teal reads 50 on 2031-05-11
Teal impeller done at 60 on 2031-05-21
Teal plugs done at 60 on 2031-05-21
Teal impeller found supple on 2031-05-22
Plover swaps gearcase with Teal on 2031-06-01
Teal impeller done at 70 on 2031-06-02
Plover reads 150 on 2031-09-01
"""


def test_a_component_that_came_brings_its_way_and_its_hours() -> None:
    told = past(SWAP)
    legs = {item.kind: [(leg.engine, *days((leg.first, leg.last))[0], leg.hours)
                        for leg in item.legs] for item in told.components}  # fmt: skip
    # Teal ran 20 h to 21 May and 10 h over the 12 days to 2 June, 10 of them before the swap;
    # Plover 50 h over 123 days, 93 of them from the swap on
    assert legs["gearcase"] == [
        ("Teal", "2031-05-01", "2031-05-31", 2000 + Fraction(1000 * 10, 12)),
        ("Plover", "2031-06-01", "2031-09-01", Fraction(5000 * 93, 123)),
    ]
    assert legs["powerhead"] == [("Plover", "2031-05-01", "2031-09-01", 5000)]
    assert told.away == {"gearcase": "Teal"}
    rows = rows_of(told, "components")
    assert rows[2][:2] == ["gearcase", "Teal"]
    assert rows[2][2].startswith("under Teal 1 May 2031 to 31 May 2031, 28.3 h; here since 1 Jun")
    assert section(told, "components").lines == ("Its own gearcase is under Teal now.",)


def test_work_on_a_component_before_it_came_is_told_and_nothing_else_of_its_engine() -> None:
    rows = rows_of(past(SWAP), "earlier")
    assert [(row[0], row[1], row[3], row[-1]) for row in rows] == [
        ("21 May 2031", "impeller", "", "Teal"),
        ("22 May 2031", "found", "impeller supple", "Teal"),
    ]


def test_work_on_what_a_donor_had_before_is_not_told() -> None:
    told = past(
        """
        engine Snipe on Otter since 2031-05-01, reading 7, 6 hp, 4 stroke
        Teal impeller done at 44 on 2031-05-11      # on Teal's own gearcase
        Snipe impeller done at 9 on 2031-05-12      # on the one that is here now
        Snipe swaps gearcase with Teal on 2031-06-01
        Teal gear oil done at 50 on 2031-06-11
        Plover swaps gearcase with Teal on 2031-07-01
        Teal gear oil done at 60 on 2031-07-11
        """
    )
    assert [(row[0], row[1], row[-1]) for row in rows_of(told, "earlier")] == [
        ("12 May 2031", "impeller", "Snipe"), ("11 Jun 2031", "gear oil", "Teal")
    ]  # fmt: skip


def test_held_days_are_stretches() -> None:
    told = past("Plover tell tale found weak on 2031-06-01")
    assert told.held == ()  # no such part: nothing is judged by it
    told = past("Plover swivel found seized on 2031-06-01\nPlover swivel strip done on 2031-06-21\n"
                "Plover swivel found free one hand on 2031-06-21")  # fmt: skip
    assert days(*told.held)[0][0] == "2031-06-01"


# -- what it says ---------------------------------------------------------------------------------


def test_the_head_says_what_it_is_and_how_far_it_ran() -> None:
    told = past("Plover reads 150.5 on 2031-08-30", family="single 6", year=2028,
                steering="tiller", also=("Old Grey",))  # fmt: skip
    made = document(told)
    assert made.kind == "single 6, 6 hp, four-stroke, built 2028, tiller"
    facts = dict(made.facts)
    assert facts["Known since"] == "1 May 2031, when its meter read 100"
    assert facts["Also called"] == "Old Grey"
    assert facts["Today"] == "on Otter, in fresh water"
    assert facts["Engine hours"] == "150.5 h; last read 150.5 on 30 Aug 2031"
    assert facts["Run since then"].startswith("50.5 h in fresh water")
    assert facts["The log"] == "1 entry 30 Aug 2031 to 30 Aug 2031"
    assert facts["This history"] == "as of 1 Sep 2031"


def test_it_says_first_whether_it_may_go_out_and_what_leads_to_harm() -> None:
    calm = document(past(""))
    assert calm.verdict.startswith("Not held; but this leads to overheating or a seized swivel:")
    assert calm.look in ("overdue", "no-record")
    held = document(past("Plover overheated on 2031-08-30"))
    assert held.verdict == "Held, it must not go out: overheated on 30 Aug."
    assert held.look == "held"
    waiting = rows_of(past("Plover overheated on 2031-08-30"), "waiting")
    assert waiting[0][:3] == ["held", "overheated", "30 Aug 2031"]
    assert "impeller" in waiting[0][3]


def test_every_job_stands_with_the_life_used_today() -> None:
    told = past("Plover impeller done at 100 on 2031-05-01\nPlover reads 150 on 2031-09-01")
    rows = {row[0]: row for row in rows_of(told, "due")}
    assert len(rows) == len(told.rows)
    mine = {row.task: row for row in told.rows}["impeller"]
    assert mine.life is not None
    assert rows["impeller"][2] == f"{round(mine.life * 100)}\u00a0%"
    assert rows["impeller"][4] == "1 May 2031 at 100 h"
    assert rows["impeller"][5].endswith("50 h, 123 days since done")
    table = section(told, "due").table
    assert table is not None
    bars = {row[0].text: row[2].life for row in table.rows}
    assert bars["impeller"] == round(mine.life * 1000)
    assert max(bar for bar in bars.values() if bar is not None) <= 2000


def test_put_offs_are_told_with_their_reasons() -> None:
    told = past(
        "Plover gear oil put off until 2031-10-01 because no oil on the shelf on 2031-08-20"
    )
    assert rows_of(told, "put-off") == [
        ["20 Aug 2031", "gear oil", "1 Oct 2031", "no oil on the shelf", "jetty", "1"]
    ]
    whys = {row[0]: row[5] for row in rows_of(told, "due")}
    assert "put off to 1 Oct: no oil on the shelf" in whys["gear oil"]


def test_meters_swaps_and_moves_are_told_as_changes() -> None:
    rows = rows_of(
        past(
            "Plover meter 120 then 3 on 2031-06-01\nPlover swaps gearcase with Teal on 2031-06-02\n"
            "Plover into store on 2031-06-03\nPlover onto Heron on 2031-06-04\n"
            "Plover laid up on 2031-06-05\nPlover launched on 2031-06-06\n"
            "Plover meter stops at 9 on 2031-06-07\nPlover meter fitted at 0 on 2031-06-08"
        ),
        "changes",
    )
    assert [row[1] for row in rows] == [
        "meter replaced: old one's last 120, new one's first 3",
        "exchanged its gearcase with Teal", "into store", "mounted on Heron", "laid up",
        "launched", "meter stopped or gone; last figure 9", "meter fitted; first figure 0",
    ]  # fmt: skip


def test_months_hold_the_readings_the_runs_and_the_hours_between() -> None:
    told = past("Plover reads 110 on 2031-05-11\nPlover runs 3 in salt on 2031-06-02\n"
                "Plover is hired for 2 on 2031-06-03\nPlover burns 10 l on 2031-06-04\n"
                "Plover reads 130 on 2031-06-30")  # fmt: skip
    rows = {row[0]: row for row in rows_of(told, "months")}
    assert list(rows) == ["May 2031", "Jun 2031"]
    assert rows["May 2031"][1] == "11:\u00a0110"
    assert rows["Jun 2031"][1] == "30:\u00a0130"
    assert rows["Jun 2031"][2] == (
        "2:\u00a03\u00a0h salt, 3:\u00a02\u00a0h hire time, 4:\u00a010\u00a0l"
    )
    # 20 h from 12 May to 30 June, of which the runs are on their days
    assert float(rows["May 2031"][3]) + float(rows["Jun 2031"][3]) == pytest.approx(30, abs=0.1)


# -- withdrawn ------------------------------------------------------------------------------------


def withdrawn_reading() -> Past:
    told = past("Plover reads 110 on 2031-05-11")
    wrong = Reading(on=date(2031, 5, 12), number=90, engine="Plover", reading=99900, note="slip")
    return with_entries(
        told, Written(90, wrong.on, "jetty", wrong.on, wrong, withdrawn=True),
        Written(91, date(2031, 5, 13), "office", date(2031, 5, 14), None, withdraws=90),
    )  # fmt: skip


def withdrawn_job() -> Past:
    told = past("Plover impeller done at 100 on 2031-05-01")
    wrong = replace(told.entries[0], withdrawn=True)
    mark = Written(91, date(2031, 5, 13), "office", date(2031, 5, 14), None, withdraws=wrong.number)
    return replace(told, entries=(wrong, mark))


def test_what_was_withdrawn_is_struck_through_and_said_with_who_and_when() -> None:
    page = html.fromstring(history_page(document(withdrawn_job()), "a4", ENGLISH))
    (work,) = page.xpath("//section[@id='work']//tbody/tr")
    assert [item.text for item in work.iter("s")] == ["1 May 2031", "impeller", "100", "jetty", "1"]
    assert "withdrawn by office on 14 May 2031 (entry 91)" in work.text_content()
    (back,) = page.xpath("//section[@id='withdrawn']//tbody/tr")
    assert [cell.text_content().strip() for cell in back] == [
        "14 May 2031",
        "1",
        "1 May 2031: impeller",
        "office",
        "",
        "91",
    ]


def test_a_withdrawn_reading_is_struck_in_its_month_and_counts_nowhere() -> None:
    told = withdrawn_reading()
    (row,) = section(told, "months").table.rows  # type: ignore[union-attr]  # has one
    assert [(piece.text, piece.struck) for piece in row[1].pieces] == [
        ("11:\u00a0110,", False), ("12:\u00a0999 (slip)", True),
        ("(withdrawn by office on 14 May 2031 (entry 91))", False),
    ]  # fmt: skip
    facts = dict(document(told).facts)
    assert facts["Engine hours"].startswith("110 h; last read 110")
    assert facts["The log"].endswith("1 of them withdrawn, struck through below")


def test_a_withdrawal_that_was_withdrawn_is_struck_itself() -> None:
    told = past("Plover reads 110 on 2031-05-11")
    undone = Written(91, date(2031, 5, 13), "office", date(2031, 5, 13), None, 1, withdrawn=True)
    again = Written(92, date(2031, 5, 14), "office", date(2031, 5, 14), None, 91)
    rows = section(with_entries(told, undone, again), "withdrawn").table.rows  # type: ignore[union-attr]
    assert [row[0].pieces[0].struck for row in rows] == [
        True, False
    ]  # fmt: skip


# -- gaps and roles -------------------------------------------------------------------------------


def test_what_is_not_known_is_said() -> None:
    told = past("Plover meter stops at 120 on 2031-06-01\nPlover meter fitted at 0 on 2031-06-20")
    late = Written(50, date(2031, 5, 1), "", date(2031, 8, 1),
                   PutOff(on=date(2031, 5, 1), engine="Plover", task="plugs",
                          until=date(2031, 6, 1)))  # fmt: skip
    lines = section(with_entries(told, late), "gaps").lines
    assert any(line.startswith("What happened before 1 May 2031") for line in lines)
    assert "No meter ran 2 Jun 2031 to 19 Jun 2031; hours are those of its runs." in lines
    assert "1 entry bears no role." in lines
    assert any(line.startswith("1 of 3 entries were written into this file more than 7 days")
               for line in lines)  # fmt: skip
    never = next(line for line in lines if line.startswith("No record of when"))
    assert "impeller" in never


def test_a_new_engine_has_no_unknown_past() -> None:
    told = past("engine Snipe on Otter since 2031-05-01, reading 0, new", "Snipe")
    assert not any(line.startswith("What happened before") for line in section(told, "gaps").lines)


def test_roles_are_counted_and_an_unsigned_entry_is_one() -> None:
    told = past("Plover reads 110 on 2031-05-11\nPlover reads 120 on 2031-05-21")
    bare = replace(told.entries[1], by="")
    told = replace(told, entries=(told.entries[0], bare))
    assert sorted(rows_of(told, "roles")) == [
        ["jetty", "1", "11 May 2031 to 11 May 2031"], ["no role", "1", "21 May 2031 to 21 May 2031"]
    ]  # fmt: skip


# -- page, drawing, PDF ---------------------------------------------------------------------------

SVG = "{http://www.w3.org/2000/svg}"


def test_the_time_line_is_sound_svg_with_a_stretch_for_each_stay_and_a_dot_for_each_reading() -> (
    None
):
    told = past(MOVED + SWAP.replace("Plover reads 150", "Plover overheated at 150"))
    drawing = etree.fromstring(section(told, "line").drawing.encode())
    stays = [item for item in drawing.iter(f"{SVG}rect") if item.get("height") == "24"]
    assert len(stays) == len(told.stays)
    dots = [item for item in drawing.iter(f"{SVG}circle") if item.get("r") == "2.4"]
    closes = [day for day in told.use.closes.days if day <= told.last]
    assert len(dots) == len(closes) + 1  # and one in the legend
    titles = [item.text or "" for item in drawing.iter(f"{SVG}title")]
    assert "1 Sep 2031: overheated" in titles and "1 Jun 2031: gearcase" in titles
    for item in drawing.iter(f"{SVG}rect", f"{SVG}circle"):
        x = float(item.get("x") or item.get("cx") or 0)
        assert 0 <= x <= 1000


def test_hours_stand_where_they_belong_on_the_time_line() -> None:
    told = past("Plover reads 150 on 2031-07-01\nPlover reads 200 on 2031-09-01")
    drawing = etree.fromstring(section(told, "line").drawing.encode())
    dots = [(float(item.get("cx", "")), float(item.get("cy", "")))
            for item in drawing.iter(f"{SVG}circle") if item.get("r") == "2.4"][:3]  # fmt: skip
    (x0, y0), (x1, y1), (x2, y2) = dots
    assert (x1 - x0) / (x2 - x0) == pytest.approx(61 / 123, abs=0.002)  # days to 1 July of 123
    assert (y0 - y1) == pytest.approx(y1 - y2, abs=0.2)  # 50 h each
    assert x0 < x1 < x2 and y0 > y1 > y2


HOSTILE = "<script>alert(1)</script>\"'&"


def hostile() -> Past:
    told = past("Plover reads 110 on 2031-05-11", name="Plover", also=(HOSTILE, "W" * 80))
    assert wrong_with(HOSTILE) is None
    engine = replace(told.engine, name=HOSTILE, family=HOSTILE)
    bad = Reading(on=date(2031, 5, 12), number=7, engine="Plover", reading=11100, note=HOSTILE)
    return replace(
        told, engine=engine, fleet=replace(told.fleet, engines={HOSTILE: engine}),
        entries=(*told.entries, Written(7, bad.on, HOSTILE, bad.on, bad)),
    )  # fmt: skip


def test_nothing_that_people_wrote_becomes_markup_or_style() -> None:
    page = history_page(document(hostile()), "a4", ENGLISH)
    assert "<script" not in page
    tree = html.fromstring(page)
    assert tree.xpath("//h1")[0].text_content() == HOSTILE
    style = tree.xpath("//style")[0].text_content()
    assert "alert(1)" not in style and "</" not in style
    assert re.search(r"@top-left \{ content: \"[A-Za-z0-9 \\]+\" ;", style)


def test_the_pdf_says_what_the_page_says_and_is_the_same_each_time() -> None:
    pytest.importorskip("typst")
    made = document(withdrawn_job())
    assert history_pdf(made, "a4", DAY) == history_pdf(made, "a4", DAY)
    assert history_pdf(document(hostile()), "letter", DAY).startswith(b"%PDF-")


def test_the_plain_form_holds_every_text_of_the_page() -> None:
    made = document(past(SWAP))
    texts = set(re.findall(r"\w+", json.dumps(plain(made), ensure_ascii=False)))
    shown = html.fromstring(history_page(made, "a4", ENGLISH))
    for style in shown.xpath("//style"):
        style.drop_tree()
    said = {word for text in shown.itertext() for word in re.findall(r"\w+", text)}
    assert len(said) > 300
    assert said <= texts


# -- languages ------------------------------------------------------------------------------------


def strange() -> Words:
    """A language in which every message stands between brackets."""
    single = {item.text: f"⟦{item.text}⟧" for item in messages() if not item.more}
    plural = {item.text: (f"⟦{item.text}⟧", f"⟦{item.more}⟧") for item in messages() if item.more}
    return Words("xx", single, plural)


def unbracketed(text: str) -> str:
    """What of a text stands outside of brackets."""
    while (after := re.sub("⟦[^⟦⟧]*⟧", "", text)) != text:
        text = after
    return text


def test_every_heading_and_sentence_of_the_page_is_a_message() -> None:
    told = with_entries(past(MOVED + "Plover overheated on 2031-08-30\nPlover plugs done at 120 on "
                             "2031-08-31"), *withdrawn_reading().entries[1:])  # fmt: skip
    page = html.fromstring(history_page(document(told, strange()), "a4", strange()))
    for item in page.xpath("//th | //h2 | //dt | //li | //footer/p | //section/p"):
        assert not re.search(r"[A-Za-z]{3}", unbracketed(item.text_content())), item.text_content()
    told_in_cells = {unbracketed(text) for cell in page.xpath("//td") for text in cell.itertext()}
    rules = SHIPPED.set_of("small-petrol")
    known = " ".join(
        [*rules.rules, *(rule.title for rule in rules.rules.values()), "Otter Heron jetty office",
         *(harm for rule in rules.rules.values() for harm in rule.leads_to), "overheated slip h",
         *(rule.unseen for rule in rules.rules.values())]
    )  # fmt: skip
    said = {word for text in told_in_cells for word in re.findall("[A-Za-z-]{3,}", text)}
    assert said <= set(re.findall("[A-Za-z-]{3,}", known))


def test_the_page_speaks_german() -> None:
    page = history_page(document(past(SWAP), language("de")), "a4", language("de"))
    assert '<html lang="de">' in page
    assert "Lebenslauf von Plover" in page
    assert "Getriebegehäuse" in page
    assert "1. Mai 2031" in page
    assert not re.search(r"\bdays since\b|\bDue now\b|\bhere since\b", page)
