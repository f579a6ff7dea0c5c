"""fleetcare parts, typed: what to order, the shelf, and what is refused."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections import Counter
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli.context import Desk
from fleetcare.plan.kept import as_text
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.plans import keep_plan
from tests.cli.typed import ROOT, TODAY, fleetcare, one_line, refused, rows, widest, written

NOW = date.fromisoformat(TODAY)


def whole(*words: object) -> dict[str, Any]:
    """Everything that the list's JSON tells."""
    found: dict[str, Any] = json.loads(fleetcare("parts", *words, "--format", "json").out)
    return found


@pytest.fixture(scope="module")
def hire(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented hire fleet, for tests that only look: each list is made once."""
    path = tmp_path_factory.mktemp("hire") / "fleet.db"
    shutil.copy(built / "ondrel.db", path)
    return path


@cache
def seen(path: Path, *words: object) -> dict[str, Any]:
    """The list's JSON of a fleet that nothing changes."""
    return whole("--fleet", path, *words)


def shelf(*words: object) -> dict[str, int | None]:
    return {row["item"]: row["on_shelf"] for row in rows("parts", "shelf", *words)}


# ---- the list


def test_every_line_can_be_ordered_in_time_or_is_named_as_late(hire: Path) -> None:
    found = seen(hire)
    assert found["rows"]
    late = {(wait["engine"], wait["item"], wait["wanted"]) for wait in found["waits"]}
    for line in found["rows"]:
        order_by, wanted = map(date.fromisoformat, (line["order_by"], line["wanted"]))
        assert order_by + timedelta(days=14) <= wanted
        assert line["count"] == sum(one["count"] for one in line["for"])
        uses = [(one["engine"], one["item"], one["on"]) for one in line["for"]]
        assert line["late"] == any(use in late for use in uses)
        assert line["late"] == (line["last_day"] < TODAY)


def test_what_is_ordered_is_what_the_jobs_use_less_the_shelf(hire: Path) -> None:
    found = seen(hire, "--horizon", 90)
    ordered: Counter[str] = Counter()
    for line in found["rows"]:
        ordered[line["item"]] += line["count"]
    on_shelf = {item: count or 0 for item, count in shelf("--fleet", hire, "--all").items()}
    impellers = [
        row for row in rows("due", "--fleet", hire)
        if row["task"] == "impeller" and row["boat"] is not None
        and (row["status"] in ("overdue", "no record")
             or (row["due_on"] or "9") <= (NOW + timedelta(days=90)).isoformat())
    ]  # fmt: skip
    assert ordered["impeller kit"] == len(impellers) - on_shelf["impeller kit"] > 0


def test_the_list_fits_the_terminal_and_a_phone(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert widest(fleetcare("parts").lines) <= 80
    assert widest(fleetcare("parts", "--all").lines) <= 80
    monkeypatch.setattr(Desk, "width", lambda self: 40)
    for words in (("parts",), ("parts", "--all"), ("parts", "shelf"),
                  ("parts", "shelf", "anode")):  # fmt: skip
        said = fleetcare(*words)
        assert widest(said.lines) <= 40
        assert "Order by" not in said.out  # no table of five columns


def test_the_table_tells_what_json_tells(hire: Path) -> None:
    found = seen(hire)
    said = fleetcare("parts", "--fleet", hire, "--all").out
    lines = [line for line in said.splitlines() if line.startswith(("late, now", "now", "21 Jul"))]
    told = [line for line in found["rows"] if line["order_by"] <= "2026-07-21"]
    assert len(lines) == len(told)
    for line, row in zip(lines, told, strict=True):
        assert row["item"] in line
        assert line.startswith("late, now") == row["late"]
    later = fleetcare("parts", "--fleet", hire).out
    assert "Later, until 16 Sep" in later
    assert "Later" not in said


def test_every_form_tells_the_same_lines(hire: Path) -> None:
    found = seen(hire)["rows"]
    ndjson = fleetcare("parts", "--fleet", hire, "--format", "ndjson").out
    assert [json.loads(line) for line in ndjson.splitlines()] == found
    table = list(
        csv.DictReader(io.StringIO(fleetcare("parts", "--fleet", hire, "--format", "csv").out))
    )
    assert [(row["item"], int(row["count"]), row["order_by"]) for row in table] == [
        (row["item"], row["count"], row["order_by"]) for row in found
    ]
    washers = next(row for row in table if row["item"] == "gearcase screw washer")
    assert "single 4" in washers["sizes"] and "OB-14 2026-07-18" in washers["for"]


def test_sizes_are_told_apart_so_that_the_right_ones_are_bought(hire: Path) -> None:
    for line in seen(hire, "--horizon", 90)["rows"]:
        assert sum(size["count"] for size in line["sizes"]) == line["count"]
    assert "One name may stand for several sizes" in " ".join(
        fleetcare("parts", "--fleet", hire).out.split()
    )


def test_pieces_of_a_size_are_not_taken_for_so_many_engines(hire: Path) -> None:
    # two gearcase screw washers an engine: more pieces than engines
    text = " ".join(fleetcare("parts", "--fleet", hire).out.split())
    engines, sizes = re.findall(r"(\d+) engines from \d+ \w+: ((?:\d+ for [\w ]+, )+)", text)[0]
    assert sum(map(int, re.findall(r"(\d+) for ", sizes))) > int(engines)


def test_a_lead_of_its_own_brings_an_item_forward(ondrel: Path) -> None:
    def oil(*words: object) -> str:
        first = next(row for row in whole(*words)["rows"] if row["item"] == "gear oil")
        return str(first["last_day"])

    plain = date.fromisoformat(oil())
    assert oil("--lead", "Gear Oil=20") == (plain - timedelta(days=6)).isoformat()
    assert oil("--margin", 2) == (plain - timedelta(days=2)).isoformat()
    fleetcare("settings", "lead_days", "7")
    assert oil() == (plain + timedelta(days=7)).isoformat()


def test_what_is_on_order_is_not_ordered_again(ondrel: Path) -> None:
    def grease(*words: object) -> int:
        found = [row for row in whole(*words)["rows"] if row["item"] == "marine grease"]
        return sum(int(row["count"]) for row in found)

    plain = grease()
    assert grease("--arrives", "marine grease=2026-07-20:5") == plain - 5
    assert grease("--arrives", "marine grease=2026-07-20") == plain - 1
    waits = whole("--arrives", "marine grease=2026-07-20:5")["waits"]
    assert {(wait["until"], wait["on_order"]) for wait in waits
            if wait["item"] == "marine grease"} == {("2026-07-20", True)}  # fmt: skip
    said = " ".join(fleetcare("parts", "--arrives", "marine grease=2026-07-20:5").out.split())
    assert "wait to 20 Jul for marine grease (on order)" in said


def test_a_supplier_closed_at_weekends_is_ordered_from_earlier(hire: Path) -> None:
    plain = seen(hire)["rows"]
    working = seen(hire, "--supplier-days", "mon tue wed thu fri")["rows"]
    assert sum(row["late"] for row in working) >= sum(row["late"] for row in plain)
    for row in working:
        assert date.fromisoformat(row["order_by"]).weekday() < 5


def test_orders_can_be_put_together_for_weeks(hire: Path) -> None:
    weekly, monthly = seen(hire)["rows"], seen(hire, "--every", 4)["rows"]
    assert len({row["order_by"] for row in monthly}) < len({row["order_by"] for row in weekly})
    assert sum(row["count"] for row in monthly) == sum(row["count"] for row in weekly)


def test_one_item_alone_is_told_in_full(hire: Path) -> None:
    found = seen(hire, "--item", "Gear  OIL")
    assert {row["item"] for row in found["rows"]} == {"gear oil"}
    assert {one["item"] for one in found["ready"]} <= {"gear oil"}
    said = fleetcare("parts", "--fleet", hire, "--item", "gear oil").out
    assert "Later" not in said and "engine oil" not in said


def test_an_item_that_no_job_wants_says_so(small: Path) -> None:
    said = fleetcare("parts", "--item", "base gasket").lines
    assert said[0] == "No base gasket is wanted for the jobs until 16 Sep."
    assert "Order by" not in said


def test_engines_in_store_are_left_out_and_named(hire: Path) -> None:
    assert "Spare B" in seen(hire)["left_in_store"]
    found = seen(hire, "--in-store")
    assert found["left_in_store"] == []
    assert any(one["engine"] == "Spare B" for row in found["rows"] for one in row["for"])


def test_sums_carry_the_sign_of_the_money(ondrel: Path) -> None:
    fleetcare("settings", "money", "€")
    found, said = whole(), " ".join(fleetcare("parts").out.split())
    assert found["money"] == "€"
    assert f"In all {found['cost']:.2f} €" in said
    assert found["cost"] == pytest.approx(sum(row["cost"] or 0 for row in found["rows"]))
    assert set(found["unpriced"]) == {row["item"] for row in found["rows"] if row["cost"] is None}


def test_what_was_paid_last_is_the_price(ondrel: Path) -> None:
    fleetcare("parts", "delivered", "fuel filter", 4, "--cost", "30")
    (row,) = [row for row in rows("parts", "shelf") if row["item"] == "fuel filter"]
    assert (row["price"], row["paid"], row["on_shelf"]) == (7.5, True, 4)


def test_what_may_be_called_for_stands_beside_what_is_sure(hire: Path) -> None:
    found = {one["item"]: one for one in seen(hire)["ready"]}
    kit = found["impeller kit"]
    assert kit["have"] >= 1 and 0 < kit["chance"] < 1
    assert any("overheated, 1 in the year before" in what for what in kit["called_by"])
    for one in found.values():
        assert (one["have"] > 0) == (one["worth"] > one["price"]) or one["have"] == 0
        assert one["buy"] == max(0, one["have"] - one["spare"])  # an order costs nothing beside
    said = fleetcare("parts", "--fleet", hire).out
    assert "Have ready" in said
    assert "Listed where the chance times" in " ".join(said.split())
    dear = {one["item"]: one for one in seen(hire, "--order-cost", 60)["ready"]}
    assert sum(one["have"] for one in dear.values()) > sum(one["have"] for one in found.values())
    told = fleetcare("parts", "--fleet", hire, "--order-cost", 60).out
    both = f"{dear['head bolt set']['have']} (at {dear['head bolt set']['reorder_at']})"
    assert both in told and "(at " not in said


def test_a_horizon_of_a_day_wants_what_is_overdue(hire: Path) -> None:
    found = seen(hire, "--horizon", 1)
    assert {one["on"] for row in found["rows"] for one in row["for"]} <= {TODAY, "2026-07-19"}
    assert found["until"] == "2026-07-19"


# ---- fleets that have little


def test_an_empty_fleet_says_so(fleet: Path) -> None:
    fleetcare("new")
    assert fleetcare("parts").out == "No parts are wanted for the jobs until 16 Sep.\n"
    found = whole()
    assert (found["rows"], found["ready"], found["cost"]) == ([], [], 0)
    assert "Nothing was delivered or counted yet" in fleetcare("parts", "shelf").out
    assert fleetcare("parts", "--format", "csv").lines == [
        "order_by,late,item,count,price,cost,wanted,on_shelf,sizes,for"
    ]


def test_rules_without_parts_want_none(small: Path) -> None:
    Path("intervals").mkdir()
    Path("intervals/plain.toml").write_text(
        '[set]\nname = "plain"\nbasis = "ours"\n[[task]]\nname = "wipe"\ncomponent = "powerhead"\n'
        'limits = { days = 9 }\nminutes = 1\nsource = "our design choice"\n', encoding="utf-8"
    )  # fmt: skip
    fleetcare("settings", "rules", "plain")
    assert fleetcare("parts").out.startswith("No parts are wanted")
    assert "no job uses" in refused(small, "parts", "count", "anode", 3)


def test_a_shelf_that_holds_it_all_leaves_nothing_to_order(small: Path) -> None:
    wanted = {row["item"] for row in whole()["rows"]}
    assert {"marine grease", "gearcase screw washer"} <= wanted
    fleetcare("parts", "count", *(word for item in sorted(wanted) for word in (item, 999)))
    assert fleetcare("parts").out.startswith(
        "Nothing is to be ordered for the jobs until 16 Sep: the shelf has it all."
    )
    assert whole()["waits"] == []


# ---- the kept plan


def keep(path: Path, *visits: tuple[int, str, tuple[str, ...]], made: date = NOW) -> None:
    """Keep a plan of visits: days from today, engine, tasks."""
    days = tuple(
        ServiceDay((NOW + timedelta(days=on)).toordinal(), "", 60, 360, (
            Visit(engine, "Lapwing", (), 60, tuple(
                PlannedJob(task, None, 0, 0, False, 30) for task in tasks)),
        ))
        for on, engine, tasks in visits
    )  # fmt: skip
    first = made.toordinal()
    plan = Plan(first, first + 60, days, (), (), 0, None, "by hand")
    with FleetFile(path) as file, file.writing() as connection:
        keep_plan(connection, first, as_text(plan))


def wanted_of(engine: str, item: str, *words: object) -> list[str]:
    return [
        one["on"] for row in whole(*words)["rows"] if row["item"] == item
        for one in row["for"] if one["engine"] == engine
    ]  # fmt: skip


def test_the_kept_plan_says_when_parts_are_wanted(small: Path) -> None:
    assert wanted_of("Plover", "impeller kit") == []
    keep(small, (10, "Plover", ("impeller",)))
    assert wanted_of("Plover", "impeller kit") == ["2026-07-28"]
    assert "on the days of the kept plan" in fleetcare("parts").out
    assert whole()["planned_on"] == TODAY
    fleetcare("done", "Plover", "impeller")
    assert wanted_of("Plover", "impeller kit") == []


def test_a_plan_made_after_the_day_looked_at_is_not_known_then(small: Path) -> None:
    keep(small, (10, "Plover", ("impeller",)))
    assert wanted_of("Plover", "impeller kit", "--as-of", "2026-07-17") == []


@pytest.mark.parametrize("text", ['{"form": 99}', "[]", "{", '{"form": 1, "days": 3}'])
def test_a_kept_plan_that_cannot_be_read_is_said_and_left(small: Path, text: str) -> None:
    with FleetFile(small) as file, file.writing() as connection:
        keep_plan(connection, NOW.toordinal(), text)
    said = fleetcare("parts")
    assert said.err == "The kept plan cannot be read; days are those the jobs are due on.\n"
    assert "on the days they are due" in said.out


# ---- the shelf


def test_the_shelf_is_counted_out_of_the_log(small: Path) -> None:
    fleetcare("parts", "delivered", "impeller kit", 5, "--on", "2026-07-01", "--cost", "150")
    fleetcare("done", "Plover", "impeller", "--on", "2026-07-02")
    assert shelf() == {"impeller kit": 4}
    said = fleetcare("parts", "count", "Impeller KIT", 3, "--on", "2026-07-03", "--by", "jetty")
    assert said.lines[0].startswith("stored entry ")
    assert said.lines[1] == "  impeller kit: 3 on the shelf, 4 by the log before"
    assert shelf("--as-of", "2026-07-02") == {"impeller kit": 4}
    moves = rows("parts", "shelf", "impeller kit")
    assert [(move["what"], move["change"], move["after"]) for move in moves] == [
        ("delivered", 5, 5), ("used", -1, 4), ("counted", -1, 3),
    ]  # fmt: skip
    assert fleetcare("parts", "shelf", "impeller kit").lines[0] == "impeller kit: 3 on the shelf"


def test_undo_takes_a_delivery_back(small: Path) -> None:
    fleetcare("parts", "delivered", "impeller kit", 5, "anode", 2)
    assert shelf() == {"anode": 2, "impeller kit": 5}
    fleetcare("undo")
    assert shelf() == {}
    fleetcare("undo")  # takes the taking back back
    assert shelf() == {"anode": 2, "impeller kit": 5}


def test_undoing_a_job_gives_its_parts_back(small: Path) -> None:
    fleetcare("parts", "count", "impeller kit", 5, "--on", "2026-07-01")
    fleetcare("done", "Plover", "impeller", "--on", "2026-07-02")
    assert shelf() == {"impeller kit": 4}
    fleetcare("undo")
    assert shelf() == {"impeller kit": 5}


def test_a_shelf_below_nothing_asks_to_be_counted(small: Path) -> None:
    fleetcare("parts", "delivered", "anode", 1, "--on", "2026-07-01")
    fleetcare("done", "Plover", "anodes", "--on", "2026-07-02")
    fleetcare("done", "Knot", "anodes", "--on", "2026-07-02")
    assert shelf() == {"anode": -1}
    assert "not logged: count anode" in fleetcare("parts", "shelf").out
    assert "Count it." in fleetcare("parts", "shelf", "anode").out
    fleetcare("engine", "add", "Smew", "--boat", "Lapwing", "--hp", 6, "--reading", 5)
    said = whole()
    assert said["below_nothing"] == ["anode"]
    assert "so count it: anode (-1)" in " ".join(fleetcare("parts").out.split())


def test_a_delivery_under_a_count_of_its_day_is_said_to_change_nothing(small: Path) -> None:
    fleetcare("parts", "count", "anode", 3)
    said = fleetcare("parts", "delivered", "anode", 2)
    assert "anode was counted on 2026-07-18" in said.err
    assert "If this came later, count again" in said.err
    assert shelf() == {"anode": 3}
    fleetcare("parts", "count", "anode", 5)
    assert shelf() == {"anode": 5}


def test_a_dry_run_keeps_nothing(small: Path) -> None:
    before = written(small)
    said = fleetcare("parts", "count", "anode", 3, "--dry-run")
    assert said.out == f"would store {TODAY} 3 × anode on the shelf\n"
    said = fleetcare("parts", "delivered", "anode", 3, "-n")
    assert said.out == f"would store {TODAY} 3 × anode delivered\n"
    assert written(small) == before


def test_the_same_delivery_twice_is_refused_unless_it_was_two(small: Path) -> None:
    fleetcare("parts", "delivered", "anode", 3)
    told = one_line(refused(small, "parts", "delivered", "anode", 3))
    assert "are logged already by jetty" in told and "--again" in told
    fleetcare("parts", "delivered", "anode", 3, "--again")
    fleetcare("parts", "delivered", "anode", 4)
    assert shelf() == {"anode": 10}


def test_on_a_terminal_the_same_delivery_is_asked_about(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleetcare("parts", "delivered", "anode", 3)
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    said = fleetcare("parts", "delivered", "anode", 3, stdin="n\n", code=1)
    assert said.err.endswith("fleetcare: parts: nothing was stored\n")
    assert shelf() == {"anode": 3}
    fleetcare("parts", "delivered", "anode", 3, stdin="y\n")
    assert shelf() == {"anode": 6}


def test_a_new_item_is_taken_when_it_is_said_to_be_new(small: Path) -> None:
    fleetcare("parts", "count", "bung", 4, "--new")
    assert shelf() == {"bung": 4}
    fleetcare("parts", "count", "BUNG", 3)  # now the log names it
    assert shelf() == {"bung": 3}


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("count", "impeler kit", 3), 'Did you mean "impeller kit"'),
        (("count", "impeler kit", 3), "Is it new? --new takes it"),
        (("count", "impeller kit"), "has no number behind it"),
        (("count", "impeller kit", "x"), 'takes a whole number, not "x"'),
        (("count", "impeller kit", "2.5"), "takes a whole number"),
        (("count", "impeller kit", "100001"), "takes a number from 0 to 100000"),
        (("count", "anode", 1, "Anode", 2), '"anode" is named twice'),
        (("count", "a\x1b[2Jb", 1, "--new"), "holds a control character"),
        (("count", "a;b", 1, "--new"), 'holds a ";"'),
        (("count", "x" * 81, 1, "--new"), "is longer than 80"),
        (("count", "  ", 1, "--new"), "is empty"),
        (("delivered", "anode", 0), "takes a number from 1"),
        (("delivered", "anode", 1, "--cost", "1.234"), "could be 1.234 or 1234"),
        (("delivered", "anode", 1, "plugs", 2, "--cost", "9"), "goes with one item"),
        (("delivered", "anode", 1, "--on", "2026-07-19"), "lies in the future"),
        (("shelf", "anods"), 'Did you mean "anode"'),
        (("--lead", "anode"), 'write --lead "ITEM=DAYS"'),
        (("--lead", "anod=3"), 'Did you mean "anode"'),
        (("--lead", "anode=x"), "takes whole days up to 730"),
        (("--lead", "anode=731"), "takes whole days up to 730"),
        (("--arrives", "anode=2026-07-01"), "has passed; once it is there: fleetcare parts"),
        (("--arrives", "anode=soon"), '"soon" is not a day'),
        (("--arrives", "anode=2026-08-01:few"), "takes a whole number"),
        (("--supplier-days", "moonday"), "takes weekdays, such as"),
        (("--item", "anods"), 'Did you mean "anode"'),
        (("--all", "shelf"), "--all stands before shelf; write it behind"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_in_a_line(
    small: Path, words: tuple[object, ...], hint: str
) -> None:
    assert hint in one_line(refused(small, "parts", *words))


def test_a_number_below_nothing_is_refused(small: Path) -> None:
    assert "below 0 is not taken" in fleetcare("parts", "count", "anode", "-3", code=1).err


# ---- kits


KIT = """[set]
name = "ours"
extends = "small-petrol"
basis = "ours"
[[kit]]
name = "pump service kit"
holds = [{ item = "impeller kit" }, { item = "pump housing gasket" }, { item = "anode" }]
price = 48
source = "our supplier's list"
"""


@pytest.fixture
def kits(small: Path) -> Path:
    """The small fleet with a kit of an impeller kit, a gasket and an anode, cheaper than these."""
    Path("intervals").mkdir()
    Path("intervals/ours.toml").write_text(KIT, encoding="utf-8")
    fleetcare("settings", "rules", "ours")
    return small


def test_a_kit_is_ordered_where_it_is_cheaper(kits: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: 200)
    found = whole()
    (line,) = [row for row in found["rows"] if row["kit"]]
    assert (line["item"], line["count"], line["price"]) == ("pump service kit", 1, 48)
    assert {one["item"] for one in line["for"]} == {"impeller kit", "pump housing gasket", "anode"}
    assert found["saved_by_kits"] == 35 + 18 - 48
    said = " ".join(fleetcare("parts").out.split())
    assert "pump service kit (for 1 anode, 1 impeller kit, 1 pump housing gasket)" in said
    assert "kits save 5.00" in said
    assert "kit pump service kit, 48.00: 1 impeller kit" in fleetcare("rules", "show", "ours").out


def test_a_kit_on_order_brings_what_it_holds(kits: Path) -> None:
    plain, coming = whole(), whole("--arrives", "pump service kit=2026-07-25:9")
    items = {"impeller kit", "pump housing gasket", "anode", "pump service kit"}
    assert items & {row["item"] for row in plain["rows"]}
    assert not items & {row["item"] for row in coming["rows"]}


def test_a_kit_that_arrives_is_what_it_holds(kits: Path) -> None:
    said = fleetcare("parts", "delivered", "Pump service KIT", 2)
    assert shelf() == {"anode": 2, "impeller kit": 2, "pump housing gasket": 2}
    assert said.lines[1:] == [
        "  impeller kit: 2 on the shelf", "  pump housing gasket: 2 on the shelf",
        "  anode: 2 on the shelf",
    ]  # fmt: skip
    assert "count what it holds" in one_line(refused(kits, "parts", "count", "pump service kit", 1))


# ---- hostile names


HOSTILE = (
    "=cmd|' /C calc'!A0",
    "@SUM(1)",
    "<b>bold</b>",
    "يمين",
    "かわうそ" * 9,
    "x" * 300,
)


@pytest.fixture
def hostile(small: Path) -> Path:
    """Names that an import may bring, delivered and used by a rule set of one's own."""
    Path("intervals").mkdir()
    parts = ", ".join(f"{{ item = {json.dumps(name)} }}" for name in HOSTILE)
    Path("intervals/odd.toml").write_text(
        '[set]\nname = "odd"\nbasis = "ours"\n[[task]]\nname = "wipe"\ncomponent = "powerhead"\n'
        f'limits = {{ days = 9 }}\nparts = [{parts}]\nsource = "our design choice"\n',
        encoding="utf-8",
    )
    fleetcare("settings", "rules", "odd")
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["on", "event", "item", "count"])
    writer.writerows(["2026-07-01", "delivery", name, 1] for name in HOSTILE)
    Path("log.csv").write_text(out.getvalue(), encoding="utf-8")
    fleetcare("import", "log.csv")
    return small


def test_hostile_names_do_nothing_to_terminal_or_spreadsheet(hostile: Path) -> None:
    for words in (
        ("parts",),
        ("parts", "--all"),
        ("parts", "shelf"),
        ("parts", "shelf", HOSTILE[2]),
    ):
        said = fleetcare(*words).out
        assert not set(said) & {"\x1b", "\u202e", "\r"}
        assert widest(line for line in said.splitlines() if "xxx" not in line) <= 80
    for words in (("parts",), ("parts", "shelf")):
        table = list(csv.DictReader(io.StringIO(fleetcare(*words, "--format", "csv").out)))
        assert {row["item"].lstrip("'") for row in table} == {*HOSTILE}
        assert not [row for row in table if row["item"][0] in "=+-@"]
    assert {row["item"] for row in rows("parts", "shelf")} == {*HOSTILE}


# ---- the same input


def test_the_same_fleet_gives_the_same_bytes_in_another_process(ondrel: Path) -> None:
    import os
    import subprocess
    import sys

    words = [sys.executable, "-m", "fleetcare", "parts", "--as-of", TODAY, "--format", "json"]
    told = {
        subprocess.run(
            words, capture_output=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        ).stdout
        for seed in ("0", "4711")
    }  # fmt: skip
    assert len(told) == 1


def test_a_look_leaves_the_log_as_it_is(ondrel: Path) -> None:
    before = written(ondrel)
    fleetcare("parts")
    fleetcare("parts", "shelf", "--all")
    assert written(ondrel) == before


def test_a_fleet_file_that_is_no_fleet_is_refused(fleet: Path) -> None:
    fleet.write_text("not a fleet", encoding="utf-8")
    for words in (("parts",), ("parts", "shelf"), ("parts", "count", "anode", 1)):
        assert fleetcare(*words, code=4).out == ""


def test_the_help_of_the_group_names_its_commands_and_its_example_runs(ondrel: Path) -> None:
    said = fleetcare("parts", "--help")
    assert widest(said.lines) <= 80
    for name in ("shelf", "count", "delivered"):
        assert f"  {name} " in said.out
    assert "Example: fleetcare parts --as-of 2026-07-18" in said.out
    assert fleetcare("parts", "--as-of", "2026-07-18").out.startswith("To order for the jobs")
