"""The parts of the board hold what the commands say of the same things."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from fleetcare.cli.board_facts import facts_of
from fleetcare.cli.context import Desk
from fleetcare.plan.kept import as_text
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.repair.wear import curve
from fleetcare.show.board import board
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_hours import months_of
from fleetcare.show.wear_plot import at
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.plans import keep_plan
from tests.cli.typed import fleetcare
from tests.show.board_fleets import TODAY, demo, listed, ondrel, ondrel_facts, ondrel_page, page
from tests.show.board_reader import NAMES, day

ON_TOP = (
    "Boat 14", "tell-tale weak, 28 Jun", "overheated, 5 Jul", "vanes missing (2)",
    "First: intakes look, tell-tale hose, impeller", "Then to be seen: tell-tale strong cool",
)  # fmt: skip


class Page:
    """A board's parts."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tree = html.document_fromstring(
            text.encode(), parser=html.HTMLParser(encoding="utf-8")
        )

    def all(self, path: str) -> list[Any]:
        found: list[Any] = self.tree.xpath(path)
        return found

    def texts(self, path: str) -> list[str]:
        return [item.text_content() for item in self.all(path)]

    def article(self, engine: str) -> Any:
        (found,) = [
            one for one in self.all("//article") if one.xpath("string(header/h3)") == engine
        ]
        return found


@pytest.fixture(scope="module")
def path() -> Path:
    return ondrel()


@pytest.fixture(scope="module")
def facts() -> Facts:
    return ondrel_facts()


@pytest.fixture(scope="module")
def seen() -> Page:
    return Page(ondrel_page())


# ---- must not go out


def test_every_held_engine_stands_on_top_with_why_and_what_lifts_it(seen: Page, path: Path) -> None:
    rows = listed(path, "due")["rows"]
    held = list(dict.fromkeys(row["engine"] for row in rows if row["held"]))
    assert seen.texts("//ul[@class='holds']/li/p[1]/a") == held
    first = seen.texts("//ul[@class='holds']/li")[0]
    assert [told for told in ON_TOP if told not in first] == []


def test_boats_stand_under_the_verdict_of_the_morning_list(seen: Page, path: Path) -> None:
    verdicts = {row["boat"]: row["verdict"] for row in listed(path, "morning")["rows"]}
    but = seen.texts("//ul[@class='buts']/li/b")
    (go,) = seen.texts("//h3[span[@class='clear']]/following-sibling::p[1]")
    assert set(but) == {boat for boat, verdict in verdicts.items() if verdict == "go, but"}
    assert set(go.split(", ")) == {boat for boat, verdict in verdicts.items() if verdict == "go"}
    held = {boat for boat, verdict in verdicts.items() if verdict == "held"}
    assert held <= set(seen.texts("//ul[@class='holds']//p[1]/b"))


def test_a_boat_that_goes_but_has_as_much_against_it_as_in_the_morning_list(
    seen: Page, path: Path
) -> None:
    reasons = {
        row["boat"]: row["reason"].split("; ")
        for row in listed(path, "morning")["rows"]
        if row["verdict"] == "go, but"
    }
    many = {
        boat: len(told) - 1 + int(told[-1].split()[0]) if told[-1].endswith(" more") else len(told)
        for boat, told in reasons.items()
    }
    assert len(set(many.values())) > 2
    for item in seen.all("//ul[@class='buts']/li"):
        text = " ".join(item.text_content().split())
        more = int(text.split(" and ")[1].split()[0]) if text.endswith(" more") else 0
        assert more + 1 == many[item.xpath("string(b)")], text


def test_boats_that_are_laid_up_are_named_beside_those_that_go(seen: Page) -> None:
    (names,) = seen.texts("//h3[starts-with(., 'laid up')]/following-sibling::p[1]")
    assert names == "Boat 9, Boat 22"


def test_a_fleet_where_nothing_is_held_says_so(tmp_path: Path) -> None:
    text = Page(page(demo(tmp_path, "pim"), date(2026, 4, 1)))
    assert text.texts("//section[@id='held']/p[1]") == ["No engine is held."]


def test_an_engine_that_is_held_is_named_though_no_job_is_listed_of_it(facts: Facts) -> None:
    bare = Page(board(replace(facts, rows=(), flags={}, verdicts=(), wears=())))
    assert bare.texts("//ul[@class='holds']/li/p[1]/a") == ["OB-14", "OB-17"]
    assert len(bare.all("//article")) == 26
    assert set(bare.texts("//article/p")) == {"No job is listed of it."}


# ---- what it leads to


def test_every_precursor_stands_under_what_it_leads_to_with_its_chain(
    seen: Page, facts: Facts, path: Path
) -> None:
    for harm in ("overheating", "seized swivel"):
        rows = listed(path, "due", "--leads-to", harm)["rows"]
        meant = {
            (row["task"], row["engine"])
            for row in rows
            if row["status"] in ("overdue", "no record")
        }
        assert meant
        told = set()
        for head in seen.all("//section[@id='chains']/h4"):
            if head.xpath("string(preceding-sibling::h3[1])") != harm:
                continue
            task = head.text_content()
            rule = facts.book.sets["hire"].rules[task]
            chain = head.xpath("following-sibling::*[1]/li")
            assert "; ".join(step.text_content() for step in chain) == rule.chain
            engines = head.xpath("following-sibling::ul[1]/li/a")
            told |= {(task, engine.text_content()) for engine in engines}
        assert told == meant


def test_a_precursor_tells_what_else_was_seen_of_its_part(seen: Page) -> None:
    (swivel,) = [
        one for one in seen.texts("//ul[@class='whose']/li")
        if one.startswith("OB-21") and "787" in one
    ]  # fmt: skip
    assert swivel.endswith("swivel stiff, 20 Jun")


# ---- coming days


def days_due(rows: list[dict[str, Any]], as_of: date) -> dict[str, set[tuple[str, str]]]:
    """What the due list has to come within thirty days, by day; what is put off when it is back."""
    meant: dict[str, set[tuple[str, str]]] = {}
    for row in rows:
        on = row["put_off_until"] or row["due_on"]
        if row["status"] in ("due", "clear") and on is not None:
            on = max(on, as_of.isoformat())
            if on <= (as_of + timedelta(30)).isoformat():
                meant.setdefault(on, set()).add((row["engine"], row["task"]))
    return meant


def days_told(seen: Page, as_of: date) -> dict[str, set[tuple[str, str]]]:
    told: dict[str, set[tuple[str, str]]] = {}
    for item in seen.all("//ul[@class='days']/li"):
        said = item.xpath("string(b)").removesuffix(" today")
        on = day(said[4:], as_of.year)
        assert on is not None
        assert date.fromisoformat(on).strftime("%a") == said[:3]
        for line in item.xpath(".//ul[@class='jobs']/li"):
            engine = line.xpath("string(a)")
            tasks = line.text_content().removeprefix(engine).strip().split(", ")
            told.setdefault(on, set()).update((engine, task) for task in tasks)
    return told


def test_coming_days_hold_what_falls_due_and_what_comes_back(seen: Page, path: Path) -> None:
    rows = listed(path, "due")["rows"]
    assert days_told(seen, TODAY) == days_due(rows, TODAY)
    assert any(row["put_off_until"] for row in rows)


def test_coming_days_end_with_the_thirtieth(tmp_path: Path) -> None:
    path, then = demo(tmp_path, "tavvik"), date(2026, 5, 31)
    rows = listed(path, "due", as_of=then)["rows"]
    due = {row["due_on"] for row in rows if row["status"] in ("due", "clear")}
    assert {"2026-06-30", "2026-07-01"} <= due
    told = days_told(Page(page(path, then)), then)
    assert max(told) == "2026-06-30"
    assert told == days_due(rows, then)


def planned(first: int) -> Plan:
    """Work at two places on one day, and a day that has passed."""
    job = PlannedJob("swing test", None, 0, 3, False, 10)
    visits = (Visit("OB-21", "Boat 21", (), 30, (job, job)),)
    day_of = [ServiceDay(first + at, place, 200 + at, 360, visits)
              for at, place in ((-2, "Quay"), (4, "Quay"), (4, "Slip & <b>"))]  # fmt: skip
    return Plan(first - 5, first + 60, tuple(day_of), (), (), 0, None, "by hand")


def test_the_kept_plans_days_stand_among_the_coming_ones(facts: Facts) -> None:
    text = Page(board(replace(facts, plan=planned(TODAY.toordinal()))))
    (item,) = [one for one in text.all("//ul[@class='days']/li") if one.xpath("div/p")]
    assert item.xpath("string(b)") == "Wed 22 Jul"
    heads = [one.text_content() for one in item.xpath("div/p")]
    assert heads == ["service day Quay, 204 of 360 min", "service day Slip & <b>, 204 of 360 min"]
    visits = [one.text_content() for one in item.xpath("div/ul[@class='jobs planned']/li")]
    assert visits == ["OB-21, Boat 21: swing test, swing test"] * 2


def test_the_plan_comes_from_the_fleet_file(tmp_path: Path) -> None:
    path = demo(tmp_path, "pim")
    with FleetFile(path) as file, file.writing() as connection:
        keep_plan(connection, 1, "no plan that can be read")
    assert facts_of(Desk(fleet=str(path)), TODAY).plan is None
    plan = planned(TODAY.toordinal())
    with FleetFile(path) as file, file.writing() as connection:
        keep_plan(connection, 2, as_text(plan))
    assert facts_of(Desk(fleet=str(path)), TODAY).plan == plan


def test_a_plan_that_has_run_out_says_when_it_ended(facts: Facts) -> None:
    text = Page(board(replace(facts, plan=planned(TODAY.toordinal() - 100))))
    assert "The kept plan ended on 8 Jun." in text.texts("//section[@id='days']/p")


# ---- readings, hours, findings


def test_the_readings_are_those_of_the_due_list(seen: Page, path: Path) -> None:
    worth = listed(path, "due")["readings"]
    told = seen.texts("//ul[@class='reads']/li")
    assert len(told) == len(worth) > 0
    lines = fleetcare("due", "--fleet", path, "--as-of", TODAY.isoformat()).out
    for said, item in zip(told, worth, strict=True):
        assert said.startswith(f"{item['engine']}, {item['boat']} ")
        likely, most = re.findall(r"likely (\d+) h since, perhaps (\d+) h", said)[0]
        assert f"not read for {item['age_days']} days; likely {likely} h" in said
        assert abs(item["likely_hours"] - int(likely)) <= 0.5 >= abs(item["most_hours"] - int(most))
        assert f"{likely} h likely since, perhaps {most} h" in " ".join(lines.split())
        assert said.endswith(", ".join(item["could_change"]))


def test_hours_by_month_and_water_are_those_of_the_year(seen: Page, path: Path) -> None:
    rows = seen.all("//table[@class='hours']/tbody/tr")
    heads = [head.text_content() for head in seen.all("//table[@class='hours']//th[@scope='col']")]
    assert heads == ["month", "drawn", "fresh", "brackish", "hours"]
    assert len(rows) == 13
    bars = {}
    for row in rows:
        name, year = row.xpath("string(th)").split()
        first = date(int(year), NAMES.index(name) + 1, 1)
        last = min(TODAY, (first + timedelta(31)).replace(day=1) - timedelta(1))
        span = ("--from", first.isoformat(), "--to", last.isoformat())
        total = listed(path, "year", *span)["total"]
        cells = [float(cell.text_content()) for cell in row.xpath("td[@class='num']")]
        meant = [total["hours_fresh"], total["hours_brackish"], total["hours"]]
        assert cells == pytest.approx(meant, abs=0.0501)
        bars[total["hours"]] = sum(
            float(rect.get("width").removesuffix("%")) for rect in row.xpath("td/svg/rect")
        )
    most = max(bars)
    for hours, width in bars.items():
        assert width == pytest.approx(hours / most * 100, abs=0.02)


def test_months_begin_with_the_first_known_engine_and_hold_every_hour(path: Path) -> None:
    early = facts_of(Desk(fleet=str(path)), date(2025, 5, 20)).carriage
    months = months_of(list(early.uses.values()), early.as_of)
    assert [month.first for month in months] == [date(2025, 4, 1), date(2025, 5, 1)]
    whole = sum(
        use.hours_to(early.as_of, early.as_of) - use.closes.hours[0] for use in early.uses.values()
    )
    assert sum(month.hours for month in months) == whole > 0


def test_findings_stand_with_what_they_ask_for_and_lately_answered_ones_too(seen: Page) -> None:
    told = seen.texts("//ul[@class='found']/li")
    assert told[0].startswith("6 Jul OB-14, Boat 14: impeller vanes missing (2)")
    assert "held impeller, water tube" in told[0]
    (stiff,) = [one for one in told if "swivel stiff" in one]
    assert stiff.startswith("20 Jun OB-21, Boat 21")
    assert "wanted swing test, swivel grease" in stiff
    days = [day(" ".join(one.split()[:2]), TODAY.year) for one in told]
    lately = [one for one in days[5:] if one is not None]
    assert lately == sorted(lately, reverse=True)
    assert min(lately) >= (TODAY - timedelta(90)).isoformat()


# ---- an engine's own section


def test_a_swap_stands_on_the_time_line_on_its_day(seen: Page, facts: Facts) -> None:
    section = seen.article("OB-19")
    line = section.xpath(".//svg[@class='line']")[0]
    (swap,) = [one for one in facts.history.swaps if "OB-19" in (one.engine, one.other)]
    first = date(2025, 4, 1).toordinal()
    x = round(600 * (swap.day - first) / (TODAY.toordinal() - first))
    assert f"M{x},0V60" in line.xpath("string(path[@class='s']/@d)")
    assert "8 Jul gearcase exchanged with Spare B" in section.xpath("string(.//ul[@class='log'])")


def test_the_time_line_has_a_corner_for_each_reading(seen: Page, facts: Facts) -> None:
    log = facts.history.of("OB-21")
    points = seen.article("OB-21").xpath("string(.//svg[@class='line']/polyline/@points)").split()
    days = sorted({on for on in log.figure_days if on < TODAY.toordinal()})
    first = date(2025, 4, 1).toordinal()
    across = [round(600 * (on - first) / (TODAY.toordinal() - first)) for on in days if on > first]
    assert [int(point.split(",")[0]) for point in points] == [0, *across, 600]
    heights = [int(point.split(",")[1]) for point in points]
    assert heights == sorted(heights, reverse=True)
    assert heights[0] == 50


def test_laid_up_is_a_strip_from_the_lay_up_to_the_launch(seen: Page, facts: Facts) -> None:
    (idle,) = facts.carriage.uses["OB-17"].idle
    first, last = date(2025, 4, 1).toordinal(), TODAY.toordinal()
    begin, end = (round(600 * (on - first) / (last - first)) for on in idle)
    strip = seen.article("OB-17").xpath("string(.//path[@class='q']/@d)")
    assert strip == f"M{begin},50H{end}"


def test_a_part_of_which_enough_was_found_shows_its_curve_and_its_own_life(
    seen: Page, facts: Facts, path: Path
) -> None:
    lives = {
        row["task"]: row["life_used"] for row in listed(path, "due", "--engine", "OB-17")["rows"]
    }
    (impeller,) = [one for one, _ in facts.wears if one.lives.group.task == "impeller"]
    (figure,) = [
        one for one in seen.article("OB-17").xpath(".//figure")
        if one.text_content().startswith("impeller:")
    ]  # fmt: skip
    here = at(curve(impeller), lives["impeller"])
    good = f"of 100 such parts {round(here.middle * 100)} are still good at this life"
    assert good in figure.text_content()
    assert "38 looked at, 0 worn out" in figure.text_content()
    to = curve(impeller)[-1].age
    x = float(figure.xpath("string(.//path[@class='m']/@d)").split(",")[0].removeprefix("M"))
    assert x == pytest.approx(300 * lives["impeller"] / to, abs=0.06)
    symbol = figure.xpath("string(.//use/@href)").removeprefix("#")
    assert seen.all(f"//symbol[@id='{symbol}']/polyline")


def test_wear_is_drawn_where_the_command_says_more_than_too_few(facts: Facts, path: Path) -> None:
    rows = listed(path, "wear", "--all")["rows"]
    meant = {(row["task"], row["water"]) for row in rows if row["verdict"] != "too few findings"}
    words = ("fresh", "brackish", "salt")
    drawn = {(one.lives.group.task, words[one.lives.group.water]) for one, _ in facts.wears}
    assert drawn == meant
    assert len(drawn) > 5


# ---- the whole


def test_the_same_facts_give_the_same_bytes(seen: Page, facts: Facts, path: Path) -> None:
    assert board(facts) == seen.text == page(path)


def test_looking_changes_nothing_in_the_log(tmp_path: Path) -> None:
    path = demo(tmp_path, "pim")
    before = fleetcare("log", "--fleet", path).out
    page(path)
    assert fleetcare("log", "--fleet", path).out == before
