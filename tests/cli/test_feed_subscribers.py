"""Subscribers on the command line: an address told once, listed by handle, ended at once."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from freezegun import freeze_time

from fleetcare.cli.feed_of import joined
from tests.cli.typed import TODAY, fleetcare, one_line, refused, written

ICS = Path("one.ics")
TOKEN = re.compile(r"[A-Za-z0-9_-]{43}")


def titles() -> list[str]:
    text = ICS.read_text(encoding="utf-8").replace("\r\n ", "")
    return re.findall(r"^SUMMARY:(.*)\r?$", text, re.M)


def engines() -> set[str]:
    return {title.partition(":")[0] for title in titles() if ":" in title}


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ((), {"Plover", "Knot", "Spare"}),
        (("--of", "fleet"), {"Plover", "Knot", "Spare"}),
        (("--of", "boat", "lapwing"), {"Plover"}),
        (("--of", "boat Lapwing"), {"Plover"}),
        (("--of=engine", "Knot"), {"Knot"}),
        (("--of", "engine", "Knot", "--alarm"), {"Knot"}),
        (("--of", "use", "club"), set()),
        (("--of", "service-days"), set()),
    ],
)
def test_a_part_of_the_fleet_is_written_by_its_name(
    words: tuple[str, ...], shown: set[str], small: Path
) -> None:
    fleetcare("feed", "write", ICS, *words)
    assert engines() == shown


def test_the_words_of_an_audience_are_taken_together() -> None:
    assert joined(["kim", "--of", "boat", "Boat 7", "--alarm"]) == [
        "kim", "--of", "boat Boat 7", "--alarm"
    ]  # fmt: skip
    assert joined(["--of", "fleet", "kim"]) == ["--of", "fleet", "kim"]
    assert joined(["--of", "task", "swivel grease", "kim"]) == ["--of", "task swivel grease", "kim"]
    assert joined(["--of", "boat", "--alarm"]) == ["--of", "boat", "--alarm"]
    assert joined(["--of"]) == ["--of"]
    assert joined(["--", "--of", "boat", "x"]) == ["--", "--of", "boat", "x"]


def test_an_address_is_told_once_and_then_only_by_its_handle(small: Path) -> None:
    said = fleetcare("feed", "add", "Kim", "--of", "boat", "Lapwing", "--publish-to", "pub")
    (token,) = set(TOKEN.findall(said.out))
    assert said.lines[0].startswith("added Kim: boat Lapwing, handle ")
    assert said.lines[-1].strip() == str(Path("pub").absolute() / f"{token}.ics")
    assert "feed_address" in said.err
    handle = said.lines[0].split()[-1]
    table = fleetcare("feed", "list").lines
    assert table[-1].split() == ["Kim", "boat", "Lapwing", "none", TODAY, handle]
    rows = json.loads(fleetcare("feed", "list", "--format", "json").out)["rows"]
    assert rows == [
        {"name": "Kim", "audience": "boat Lapwing", "alarm": None,
         "made": f"{TODAY}T08:00:00+00:00", "handle": handle}
    ]  # fmt: skip


def test_an_address_on_the_web_is_shown_in_both_forms(small: Path) -> None:
    fleetcare("settings", "feed_address", "https://boats.example/f/")
    said = fleetcare("feed", "add", "Kim", "--of", "fleet", "--publish-to", "pub")
    (token,) = set(TOKEN.findall(said.out))
    assert [line.strip() for line in said.lines[2:4]] == [
        f"https://boats.example/f/{token}.ics",
        f"webcal://boats.example/f/{token}.ics",
    ]
    assert 'not "boats.example"' in refused(small, "settings", "feed_address", "boats.example")


def test_without_a_folder_the_address_is_one_for_a_server_of_ours(small: Path) -> None:
    said = fleetcare("feed", "add", "Kim", "--of", "fleet")
    assert TOKEN.search(said.out)
    assert "--publish-to DIR" in said.err
    told = fleetcare("feed", "publish", "pub")
    assert told.out == f"{Path('pub').absolute()}: 0 feeds, 0 changed.\n"
    assert '"Kim" has no file there' in told.err
    assert "fleetcare feed renew Kim" in told.err


def test_an_alarm_is_the_subscribers_own(small: Path) -> None:
    fleetcare("feed", "add", "Kim", "--of", "fleet", "--publish-to", "pub", "--alarm")
    fleetcare("feed", "add", "Jo", "--of", "fleet")
    alarms = [path.read_bytes().count(b"BEGIN:VALARM") for path in Path("pub").glob("*.ics")]
    assert sorted(count > 0 for count in alarms) == [False, True]
    assert [line.split()[2:4] for line in fleetcare("feed", "list").lines[2:]] == [
        ["day", "before"], ["none", TODAY]
    ]  # fmt: skip


def test_an_overdue_event_steps_in_every_file_each_night(small: Path) -> None:
    fleetcare("feed", "add", "Kim", "--of", "fleet", "--publish-to", "pub")
    fleetcare("feed", "add", "Jo", "--of", "hot-or-stiff")
    with freeze_time("2026-07-19 00:20:00"):
        assert one_line(fleetcare("feed", "publish").out).endswith(": 2 feeds, 2 changed.")
        assert one_line(fleetcare("feed", "publish").out).endswith(": 2 feeds, 0 changed.")
    with freeze_time("2026-07-19 23:20:00"):
        assert one_line(fleetcare("feed", "publish").out).endswith(": 2 feeds, 0 changed.")


def test_what_is_written_and_what_is_published_count_together(small: Path) -> None:
    fleetcare("feed", "add", "Kim", "--of", "engine", "Plover", "--publish-to", "pub")
    with freeze_time("2026-07-19 08:00:00"):
        fleetcare("feed", "write", ICS)
        before = written(small)["sent"]
        fleetcare("feed", "publish")
        assert written(small)["sent"] == before
    (path,) = Path("pub").glob("*.ics")
    of_one = {*re.findall(r"UID:.*|SEQUENCE:\d+", path.read_text(encoding="utf-8"))}
    of_all = {*re.findall(r"UID:.*|SEQUENCE:\d+", ICS.read_text(encoding="utf-8"))}
    assert "SEQUENCE:1" in of_one
    assert len(of_one - of_all) == 1  # the calendar's own UID


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("add", "Kim", "--of", "engine", "Plovr"), 'no engine "Plovr". Did you mean "Plover"?'),
        (("add", "Kim", "--of", "bot Lapwing"), "One of: fleet, boat NAME, engine NAME"),
        (("add", "jO", "--of", "fleet"), 'subscriber "jO" exists already'),
        (("add", "a;b", "--of", "fleet"), 'holds a ";"'),
        (("revoke", "Joe"), 'no subscriber "Joe". Did you mean "Jo"?'),
        (("renew", "Kim"), 'no subscriber "Kim". fleetcare feed list shows them.'),
        (("publish",), "no folder to publish into: fleetcare feed publish DIR"),
        (("write", "x.ics", "--of", "task", "impeler"), 'no task "impeler". Did you mean'),
    ],
)
def test_what_cannot_be_meant_is_refused(words: tuple[str, ...], says: str, small: Path) -> None:
    fleetcare("feed", "add", "Jo", "--of", "fleet")
    assert says in one_line(refused(small, "feed", *words))
    assert len(fleetcare("feed", "list").lines) == 3


def test_nobody_has_a_feed_at_first_and_the_list_says_how(small: Path) -> None:
    assert "fleetcare feed add NAME --of fleet" in one_line(fleetcare("feed", "list").out)
    assert json.loads(fleetcare("feed", "list", "--format", "json").out)["rows"] == []


def test_the_help_lists_the_commands_as_they_say_themselves() -> None:
    from click import Context

    from fleetcare.cli.feed import SUBCOMMANDS, feed

    context = Context(feed)
    for name, _, summary in SUBCOMMANDS:
        command = feed.get_command(context, name)
        assert command is not None
        assert command.name == name
        assert command.get_short_help_str(limit=90) == summary
        assert "Example: fleetcare feed " in (command.help or "")
    said = fleetcare("feed", "--help").out
    assert all(f"  {name}" in said for name, _, _ in SUBCOMMANDS)
    assert feed.get_command(context, "nothing") is None
