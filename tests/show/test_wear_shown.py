"""How wear is shown: text, blocks, SVG, and the rule set it writes, read back by the reader."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from xml.etree import ElementTree

import pytest

from fleetcare.repair.costs import Rates
from fleetcare.repair.findings import Group, Lives, PartLife
from fleetcare.repair.wear import Wear, curve, judged
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import read_set
from fleetcare.rules.shipped import all_texts, read_book
from fleetcare.show.wear import wear_detail, wear_text, wear_values
from fleetcare.show.wear_plot import plot, svg
from fleetcare.show.wear_rules import shorter_rules

BOOK = read_book(None, {"small-petrol", "hire"})
DAY = date(2031, 8, 1)
HOSTILE = '</title><script>alert("1")</script>&\u202e\x1b[31m'
WORN = [(0.1, 0.4), (0.0, 0.5), (0.9, None), (0.2, 0.7), (0.6, None)]


def item(
    task: str = "impeller", water: int = 0, ages: list[tuple[float, float | None]] | None = None,
    engine: str = "Plover", ruleset: str = "small-petrol", use: str = "hire",
) -> Wear:  # fmt: skip
    rule = BOOK.sets[ruleset].rules[task]
    limit = (rule.limits or (None, None, None))[water]
    assert limit is not None
    size = limit.hours / 100 if limit.hours else limit.months or limit.days or 0
    unit = "h" if limit.hours else "months" if limit.months else "days"
    lives = [
        PartLife(engine, DAY.toordinal() - at, at, "seen", *age)
        for at, age in enumerate(ages if ages is not None else WORN, 1)
    ]
    return judged(
        Lives(Group(ruleset, task, water, use), rule, float(size), unit, lives), BOOK, Rates()
    )


def detail(one: Wear, width: int = 80) -> str:
    return wear_detail([(one, curve(one))], Rates(), width, whole=True)


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_nothing_is_wider_than_the_screen(width: int) -> None:
    one = item()
    texts = (detail(one, width), wear_text([one, item("gear oil")], Rates(), width, True))
    for text in texts:
        assert max(map(len, text.splitlines())) <= width


def test_the_blocks_show_the_curve_falling_and_the_limit_standing() -> None:
    lines = plot(item(), curve(item()), 72)
    rows = [line.replace("\u00a0", " ") for line in lines[1:11]]
    columns = {row.index("│") for row in rows}
    assert len(columns) == 1
    for column in range(6, 70):
        if column in columns:
            continue
        cells = "".join(row.ljust(72)[column] for row in rows)
        assert re.fullmatch(r" *░*▓*█*", cells)  # from the top: gone, perhaps, likely, surely
    assert len(rows[0].rstrip()) < len(rows[-1].rstrip())
    fine, worn = (line.replace("\u00a0", " ") for line in lines[11:13])
    assert fine.startswith("fine") and sum(map(int, re.findall(r"\d", fine))) == 2
    assert worn.startswith("worn") and sum(map(int, re.findall(r"\d", worn))) == 3


def test_the_svg_is_one_whole_file_with_every_finding_on_it() -> None:
    one = item()
    drawn = svg([(one, curve(one))], "impeller")
    root = ElementTree.fromstring(drawn)
    spaced = "{http://www.w3.org/2000/svg}"
    rings = root.findall(f".//{spaced}circle[{spaced}title]")
    spans = root.findall(f".//{spaced}g[{spaced}title]")
    assert (len(rings), len(spans)) == (2, 3)
    assert any("limit 300 h" in (text.text or "") for text in root.iter(f"{spaced}text"))
    assert not re.search(r"(href|src|url\()", drawn)


def test_the_same_findings_draw_the_same_bytes() -> None:
    assert svg([(item(), curve(item()))], "x") == svg([(item(), curve(item()))], "x")
    assert detail(item()) == detail(item())


def test_a_hostile_name_stays_text() -> None:
    one = item(engine=HOSTILE, use=HOSTILE)
    drawn = svg([(one, curve(one))], HOSTILE)
    root = ElementTree.fromstring(drawn)
    assert not [tag for tag in root.iter() if "script" in str(tag.tag)]
    assert "\x1b" not in drawn and "\u202e" not in drawn
    assert "\x1b" not in detail(one)


def test_the_detail_says_what_stands_behind_the_advice() -> None:
    text = " ".join(detail(item()).split())
    assert "5 findings of impeller vanes, each of a life of its own: 2 fine, 3 worn out." in text
    assert "150 h, not 300 h" in text
    assert "Less than half of a limit is never advised." in text
    assert "codes and licensed practice come first" in text
    few = " ".join(detail(item(ages=[(0.9, None)])).split())
    assert "1 finding says too little to judge the limit" in few
    assert "cost least together is not for so few" in few


def test_one_failure_asks_for_its_cause() -> None:
    assert "look for its cause before you change the limit" in " ".join(
        detail(item(ages=[(0.0, 0.6)])).split()
    )


def test_what_holds_is_never_shown_as_longer() -> None:
    one = item(ages=[(2.0, None)] * 9)
    assert "300 h holds" in " ".join(wear_text([one], Rates(), 80, False).split())
    assert wear_values(one)["shorter_limit"] is None
    assert wear_values(one)["ratio"] > 1


def test_values_give_ages_in_the_limits_unit() -> None:
    out = wear_values(item())
    assert (out["limit"], out["unit"], out["shorter_limit"]) == (300.0, "h", 150.0)
    assert out["lives"][0] == {
        "engine": "Plover", "on": "2031-07-31", "entry": 1, "condition": "seen", "fine_at": 30.0,
        "worn_by": 120.0,
    }  # fmt: skip
    few = wear_values(item(ages=[(0.9, None)]))
    assert (few["ratio"], few["least_cost_at"]) == (None, None)


def read_back(text: str, name: str = "ours") -> RuleSet:
    return read_set(name, {**all_texts(None), name: (text, f"{name}.toml")})


def test_the_rule_set_it_writes_is_read_back_with_the_shorter_limits() -> None:
    base = BOOK.sets["small-petrol"]
    text = shorter_rules("ours", base, [item()], DAY)
    assert text is not None
    ours = read_back(text)
    assert ours.extends == "small-petrol"
    fresh, brackish, salt = ours.rules["impeller"].limits or (None, None, None)
    assert fresh is not None and salt is not None and brackish == salt
    assert (fresh.hours, fresh.months) == (15_000, 36)
    assert (salt.hours, salt.months) == (15_000, 12)  # salt is never easier than fresh
    source = ours.rules["impeller"].source
    assert source.startswith("our own findings up to 2031-08-01: fresh, hire: 5 findings, 3 worn")
    assert base.rules["impeller"].source in source
    same = {name for name, rule in ours.rules.items() if rule == base.rules[name]}
    assert same == set(base.rules) - {"impeller"}


def test_a_limit_in_months_is_shortened_to_whole_days() -> None:
    text = shorter_rules("ours", BOOK.sets["small-petrol"], [item("passages", water=2)], DAY)
    assert text is not None
    fresh, _, salt = read_back(text).rules["passages"].limits or (None, None, None)
    assert fresh is not None and salt is not None
    assert (salt.months, salt.days) == (None, 182)  # half of 12 months, rounded down
    assert fresh == (BOOK.sets["small-petrol"].rules["passages"].limits or (None,))[0]


def test_of_two_uses_in_one_water_the_shorter_holds() -> None:
    milder = item(ages=[(0.8, 1.0)] * 2 + [(1.0, None)] * 4, use="club")
    assert milder.shorter is None or milder.shorter > 150
    text = shorter_rules("ours", BOOK.sets["small-petrol"], [milder, item()], DAY)
    assert text is not None
    fresh = (read_back(text).rules["impeller"].limits or (None,))[0]
    assert fresh is not None and fresh.hours == 15_000


def test_no_limit_of_another_set_and_none_that_holds_is_written() -> None:
    base = BOOK.sets["small-petrol"]
    assert shorter_rules("ours", base, [item(ages=[(1.0, None)] * 9)], DAY) is None
    assert shorter_rules("ours", base, [item(ruleset="hire")], DAY) is None


def test_any_name_and_title_is_written_as_text() -> None:
    base = BOOK.sets["small-petrol"]
    odd = RuleSet('a "b" \\ \x7f', 'T "q" \\ \n', base.basis, base.rules, base.access)
    one = item()
    lives = one.lives
    lives.group = Group(odd.name, "impeller", 0, "hire")
    text = shorter_rules('x"y', odd, [one], DAY)
    assert text is not None
    head = tomllib.loads(text)["set"]
    assert (head["name"], head["extends"]) == ('x"y', odd.name)
