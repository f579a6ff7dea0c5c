"""What an event says: enough for someone at the boat, and nothing that breaks a calendar.

The words are our design choice.
"""

from __future__ import annotations

import shlex
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.due.records import NO_RECORD, OVERDUE, STATUSES
from fleetcare.rules.rule import Access, Limit
from fleetcare.show.event_words import describe, log_command, old_figures, plain
from tests.show.feed_rows import IMPELLER, PLUGS, SET, TODAY, day, row, steady


def test_a_description_needs_no_terminal() -> None:
    text = describe(
        row(OVERDUE, date(2031, 5, 2), life_used=Fraction(14, 10), hours_since=28000,
            hours_left=-8000, overdue_since=day(date(2031, 5, 3))),
        TODAY, SET,
    )  # fmt: skip
    assert text.split("\n") == [
        "Renew the cooling-pump impeller. Plover, on Tern.",
        "Why: 140 % of its life is used, by hours.",
        "Limit: 200 h or 12 months in salt water; use in other waters counts by their limits.",
        "Last done on 24 Oct 2030 at 120.4 h; since then: 280 h, 200 days.",
        "80 h past the limit in today's water, salt.",
        "Overdue since 3 May 2031, 9 days ago.",
        "Skipping it leads to overheating. Vanes crack and shed; the pieces lodge in the water "
        "tube.",
        "Parts: impeller kit, 2 x gasket.",
        "Time: 25 min for the job, 40 min to reach it (leg off, pump open).",
        "For someone trained to do it.",
        "Take care:",
        "- Turn the shaft one way only.",
        "- Hold the leg before the last bolt is out.",
        "- Mind the plate.",
        "- Neutral first.",
        "The engine's own handbook, local codes and licensed practice come before every figure "
        "here.",
        "When it is done, log it: fleetcare done Plover impeller",
        "Figures as of 12 May 2031.",
    ]


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        ({"laid_up": True}, "Before launch: the engine is laid up."),
        ({"boat": None}, "Renew the cooling-pump impeller. Plover, in store."),
        ({"opened": "overheated on 2031-05-02"}, "Why: overheated on 2 May 2031."),
        ({"life_used": Fraction(1001, 1000)}, "Why: 101 % of its life is used, by hours."),
        ({"life_used": Fraction(999, 1000)}, "Why: 99 % of its life is used, by hours."),
        ({"governed_by": "calendar"}, "Why: 70 % of its life is used, by the calendar."),
        (
            {"likely_hours": 450},
            "Last done on 24 Oct 2030 at 120.4 h; since then: 140 h, 200 days; some 4.5 h more are "
            "likely, not logged yet.",
        ),
        (
            {"likely_hours": 450, "raised_by_likely_hours": True},
            "Last done on 24 Oct 2030 at 120.4 h; since then: 140 h, 200 days; some 4.5 h more are "
            "likely, not logged yet, which makes it due.",
        ),
        (
            {"last_done_hours": None, "unknown_before": True, "days_since": 1},
            "Last done on 24 Oct 2030; since then: 140 h, 1 day, and unknown hours before the "
            "fleet knew it.",
        ),
        ({"last_done_on": None}, "New on 24 Oct 2030; since then: 140 h, 200 days."),
        ({"hours_left": None, "water": 0}, "Water today: fresh."),
        ({"hours_left": Fraction(1250, 1)}, "12.5 h left in today's water, salt."),
        ({}, "By these figures it is due on 20 Jun 2031."),
        (
            {"due_early": day(date(2031, 6, 1)), "due_late": day(date(2031, 7, 9))},
            "By these figures it is due on 20 Jun 2031; 8 times in 10 between 1 Jun 2031 "
            "and 9 Jul 2031.",
        ),
        (
            {"due_early": day(date(2031, 6, 1)), "due_late": None},
            "By these figures it is due on 20 Jun 2031; 9 times in 10 not before 1 Jun 2031.",
        ),
        ({"put_off_times": 1}, "It was put off once since it was last done."),
        (
            {"rule": replace(IMPELLER, first=(Limit(2000), None, Limit(None, 1))),
             "last_done_on": None},
            "Limit: 200 h or 1 month in salt water; use in other waters counts by their limits.",
        ),
        (
            {"rule": replace(IMPELLER, strictest=True), "strictest_since": day(date(2031, 2, 3))},
            "Limit: 300 h or 36 months in fresh water, 200 h or 12 months in brackish water, "
            "200 h or 12 months in salt water; the strictest water, met on 3 Feb 2031, counts "
            "for the whole time.",
        ),
        ({"rule": replace(PLUGS, who="workshop")}, "For a workshop."),
        ({"rule": PLUGS}, "Limit: 100 h in any water."),
    ],
)  # fmt: skip
def test_a_description_says_what_is_special(changes: dict[str, Any], line: str) -> None:
    assert line in describe(row(**changes), TODAY).split("\n")


def test_a_job_without_record_says_what_is_known_at_least() -> None:
    lines = describe(row(NO_RECORD, None), TODAY).split("\n")
    assert "Why: at least 25 % of its life is used." in lines
    assert (
        "No record of when it was last done; since it was first known on 24 Oct 2030: 140 h, "
        "200 days."
    ) in lines


def test_a_step_reached_by_two_ways_is_counted_and_warned_of_once() -> None:
    loop = {
        "leg off": Access("leg off", 25, ("pump open",), cautions=("Mind the plate.",)),
        "pump open": Access("pump open", 10, ("leg off",), cautions=("Mind the plate.",)),
    }
    text = describe(row(), TODAY, replace(SET, access=loop))
    assert "Time: 25 min for the job, 35 min to reach it (leg off, pump open)." in text
    assert text.count("Mind the plate.") == 1


def test_without_the_rule_set_the_way_there_is_named_and_not_timed() -> None:
    text = describe(row(), TODAY)
    assert "Time: 25 min for the job, to reach it more (leg off, pump open)." in text
    assert "- Turn the shaft one way only." in text


def test_the_last_line_says_of_when_the_figures_are_and_how_far_the_hours_are_known() -> None:
    for known_to, line in (
        (None, "Figures as of 12 May 2031."),
        (TODAY.toordinal(), "Figures as of 12 May 2031."),
        (TODAY.toordinal() - 10, "Figures as of 12 May 2031; hours known to 2 May 2031."),
    ):
        assert describe(row(), TODAY, SET, known_to).split("\n")[-1] == line


def test_a_warning_of_old_figures_names_a_few_engines_and_counts_the_others() -> None:
    late = day(date(2031, 4, 20)) or 0
    assert old_figures([("Plover", late)]) == (
        "Figures over 14 days old; last reading or run: Plover (20 Apr 2031). Hours run since "
        "then are not in them: take a reading and log it."
    )
    assert old_figures([("Knot", None)]).startswith(
        "Figures over 14 days old; last reading or run: Knot (never). "
    )
    many = old_figures([(f"OB-{number}", late) for number in range(1, 9)])
    assert "OB-5 (20 Apr 2031) and 3 more. Hours" in many
    assert "OB-6" not in many


@steady
@given(st.sampled_from(STATUSES), st.booleans(), st.text(max_size=20), st.text(max_size=20))
def test_every_description_warns_and_tells_how_to_log(
    status: str, laid_up: bool, name: str, because: str
) -> None:
    text = describe(row(status, engine=name, laid_up=laid_up, because=because), TODAY, SET)
    assert "handbook, local codes and licensed practice" in text
    assert "log it: fleetcare done " in text
    assert text.endswith("Figures as of 12 May 2031.")


@steady
@given(st.text(min_size=1, max_size=30), st.text(min_size=1, max_size=30))
def test_a_shell_takes_the_names_apart_as_they_are(engine: str, task: str) -> None:
    """Checked with the standard library's reading of POSIX shell words."""
    words = [word for word in shlex.split(log_command(engine, task)) if word != "--"]
    assert words == ["fleetcare", "done", *(plain(name) for name in (engine, task))] or "--" in (
        plain(engine),
        plain(task),
    )


@pytest.mark.parametrize(
    ("engine", "command"),
    [
        ("Plover", "fleetcare done Plover plugs"),
        ("OB-07", "fleetcare done OB-07 plugs"),
        ("Boat 7", 'fleetcare done "Boat 7" plugs'),
        ("Bo's", 'fleetcare done "Bo\'s" plugs'),
        ("a$b", "fleetcare done 'a$b' plugs"),
        ("-7", "fleetcare done -- -7 plugs"),
        ("Ørnen", "fleetcare done Ørnen plugs"),
    ],
)
def test_names_are_quoted_only_when_a_shell_needs_it(engine: str, command: str) -> None:
    assert log_command(engine, "plugs") == command


@steady
@given(st.text())
def test_plain_text_holds_no_control_and_stays_as_it_is(text: str) -> None:
    """RFC 5545, 3.1: no control character is part of a value; a line break would end it."""
    once = plain(text)
    assert not any(ord(char) < 32 or 127 <= ord(char) < 160 for char in once)
    assert not set(once) & set("\u2028\u2029\u202e\u2066")
    once.encode()  # no half of a pair is left
    assert plain(once) == once
