"""Tracing a fault: in one line, in JSON, question by question, and what is logged of it."""

from __future__ import annotations

import json
import os
import pty
import select
import shlex
import sys
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import ROOT, fleetcare, refused, rows, widest, written

WEAK = ("--seen", "tell-tale=weak", "--seen", "hot when=at idle")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


def traced(*words: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(fleetcare("trace", *words, "--format", "json").out)
    return found


def chance(found: dict[str, Any], cause: str) -> float:
    return next(item["chance"] for item in found["causes"] if item["cause"] == cause)


# -- in one line ---------------------------------------------------------------------------------


@pytest.mark.usefixtures("ondrel")
def test_the_json_keeps_its_contract() -> None:
    found = traced("OB-14", "overheating", "--seen", "telltale=pulsing")
    assert set(found) >= {"fleetcare", "as_of", "symptom", "causes", "next_test", "cautions"}
    assert found["symptom"] == "overheating"
    assert all({"cause", "chance", "because"} <= set(item) for item in found["causes"])
    assert {"test", "minutes", "tells"} <= set(found["next_test"])
    assert sum(item["chance"] for item in found["causes"]) == pytest.approx(1, abs=1e-5)
    assert [item["chance"] for item in found["causes"]] == sorted(
        (item["chance"] for item in found["causes"]), reverse=True
    )
    tells = found["next_test"]["tells"]
    assert sum(item["chance"] for item in tells) == pytest.approx(1, abs=1e-5)
    assert "judgement, not statistics" in found["judgement"]


@pytest.mark.usefixtures("ondrel")
def test_the_reason_comes_from_the_record() -> None:
    found = traced("OB-14", "overheating")
    because = next(item["because"] for item in found["causes"] if item["cause"] == "worn pump")
    life = next(
        row["life_used"] for row in rows("due", "--engine", "OB-14") if row["task"] == "impeller"
    )
    assert f"impeller at {round(life * 100)} % of its time" in because
    assert "impeller vanes missing, 6 Jul" in because
    said = fleetcare("trace", "OB-14", "overheating").out
    assert "It is held: tell-tale weak, 28 Jun" in said
    assert "On the record already: Pump" in said


@pytest.mark.usefixtures("ondrel")
def test_the_order_of_what_was_seen_changes_nothing() -> None:
    seen = ["tell-tale=weak", "hot when=at idle", "intakes=clear", "outlet=clear"]
    turned = [word for item in reversed(seen) for word in ("--seen", item)]
    straight = [word for item in seen for word in ("--seen", item)]
    one, other = traced("OB-23", "overheating", *straight), traced("OB-23", "overheating", *turned)
    assert {**one, "seen": 0} == {**other, "seen": 0}


@pytest.mark.usefixtures("ondrel")
def test_stopping_comes_before_anything_else_is_said() -> None:
    said = fleetcare("trace", "OB-23", "overheating", "--seen", "tell-tale=none").lines
    assert said[1].startswith("STOP. No water at the tell-tale: stop the engine.")
    assert said.index("First:") > 1
    found = traced("OB-23", "overheating", "--seen", "tell-tale=none")
    assert "No restart" in found["stop"][0]


@pytest.mark.usefixtures("ondrel")
def test_the_shares_are_said_to_be_judgement_and_the_handbook_comes_first() -> None:
    said = " ".join(fleetcare("trace", "OB-21", "stiff-steering").out.split())
    assert "The shares are our judgement, not statistics." in said
    assert "own handbook, local codes and trained hands come before all of this" in said


@pytest.mark.usefixtures("ondrel")
def test_the_next_test_says_its_minutes_what_it_opens_and_what_each_outcome_means() -> None:
    said = fleetcare(
        "trace", "OB-23", "overheating", "--seen", "tell-tale=strong", "--seen", "hotwhen=at speed",
        "--seen", "intakes=clear",
    ).out  # fmt: skip
    assert "Next: thermostat, 25 min, 17 of it for cowl off, thermostat cover off" in said
    assert "Before a hand goes there:" in said
    assert "kill cord off" in said and "scald" in said
    assert "  sluggish: Found. Renew it" in said


@pytest.mark.usefixtures("ondrel")
@pytest.mark.parametrize("symptom", ["overheating", "stiff-steering"])
def test_it_fits_its_columns(symptom: str) -> None:
    said = fleetcare("trace", "OB-14", symptom)
    assert widest(line for line in said.lines if "fleetcare " not in line) <= 80


@pytest.mark.usefixtures("ondrel")
def test_the_command_it_prints_leads_to_the_same_place() -> None:
    said = fleetcare("trace", "OB-23", "overheating", *WEAK, "--skip", "intakes").lines
    line = next(line for line in said if line.startswith("  fleetcare trace"))
    words = shlex.split(line)[1:]
    assert words[-2:] == ["--seen", "outlet=clear"]
    assert fleetcare(*words[:-2]).lines == said


@pytest.mark.usefixtures("ondrel")
def test_names_may_be_typed_as_people_type_them() -> None:
    plain = traced("ob-23", "stiff steering", "--seen", "linkoff=free")
    assert plain["seen"] == {"link off": "free one hand"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("OB-23", "overheat1ng"), 'Did you mean "overheating"?'),
        (("OB-99", "overheating"), "OB-9"),
        (("OB-23", "overheating", "--seen", "tell-tale"), "is not TEST=OUTCOME"),
        (("OB-23", "overheating", "--seen", "tel-tail=weak"), 'Did you mean "tell-tale"?'),
        (("OB-23", "overheating", "--seen", "tell-tale=wek"), 'Did you mean "weak"'),
        (("OB-23", "overheating", "--seen", "tell-tale=weak 3"), "takes no count"),
        (("OB-23", "overheating", "--seen", "pump=missing"), 'how many? --seen "pump=missing N"'),
        (("OB-23", "overheating", "--skip", "pmp"), 'Did you mean "pump"?'),
        (
            ("OB-23", "overheating", "--seen", "tell-tale=none", "--seen", "tell-tale=hot"),
            '"tell-tale" cannot be both "none" and "hot": give one',
        ),
        (("OB-23", "overheating", "--as-of", "2020-01-01"), "not known yet by then"),
        (("OB-23", "overheating", "--log", "--format", "json"), "run the commands under log"),
    ],
)
def test_what_is_no_answer_is_refused_in_words(
    ondrel: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(ondrel, "trace", *words)


@pytest.mark.usefixtures("ondrel")
def test_answers_that_do_not_go_together_are_told() -> None:
    seen = ("tell-tale=none", "outlet=clear", "intakes=clear", "pump=supple", "tank run=strong")
    said = fleetcare(
        "trace", "OB-23", "overheating", *(word for item in seen for word in ("--seen", item))
    ).out
    assert "The answers hardly go together" in said


# -- logging ---------------------------------------------------------------------------------------


def test_a_script_is_told_the_commands_and_they_run_as_printed(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare(
        "trace", "OB-23", "overheating", *WEAK, "--seen", "pump=missing 2"
    ).lines  # fmt: skip
    assert written(ondrel) == before
    start = said.index("To log what was seen (--log does all of it):")
    commands = [line for line in said[start:] if line.startswith("  fleetcare ")]
    assert commands == [
        "  fleetcare incident OB-23 overheated",
        "  fleetcare found OB-23 tell-tale weak",
        '  fleetcare found OB-23 "impeller vanes" missing --count 2',
    ]
    for command in commands:
        fleetcare(*shlex.split(command)[1:])
    assert "OB-23" in fleetcare("morning").out


def test_log_keeps_what_was_seen_and_tells_the_hold(ondrel: Path) -> None:
    said = fleetcare(
        "trace", "OB-23", "overheating", *WEAK, "--log", "--by", "jetty", "--note", "n"
    )
    assert "stored entry" in said.out
    assert "OB-23 is held: overheated, 18 Jul" in said.out
    assert "Caution: " in said.err
    entries = fleetcare("log", "OB-23").out
    assert "OB-23: overheated (jetty)" in entries and "found tell-tale weak (jetty)" in entries
    again = fleetcare("trace", "OB-23", "overheating", *WEAK, "--log")
    assert "Nothing to log that the record does not have." in again.out
    assert len(written(ondrel)["log"]) > 0


def test_a_dry_run_keeps_nothing(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare("trace", "OB-23", "overheating", *WEAK, "--log", "-n")
    assert "would store" in said.out
    assert written(ondrel) == before


def test_nothing_is_logged_of_a_day_to_come(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare(
        "trace", "OB-23", "overheating", *WEAK, "--log", "--as-of", "2026-08-01", code=1
    )
    assert "lies in the future" in said.err
    assert written(ondrel) == before


# -- question by question ------------------------------------------------------------------------


@pytest.mark.usefixtures("asked")
def test_it_asks_one_test_after_the_other_and_logs_when_told(ondrel: Path) -> None:
    said = fleetcare("trace", "OB-23", "overheating", stdin="weak\n2\n2\ny\n")
    first = next(line for line in said.lines if line.startswith("Next: "))
    assert first.startswith("Next: tell-tale")
    assert "intakes: weed or bag. Found." in said.out
    assert "Put right, and still the same? Go on with:" in said.out
    assert 'overheating --seen "hot when=at idle" --seen intakes=clear\n' in said.out
    assert "found intakes weed or bag" in fleetcare("log", "OB-23").out


@pytest.mark.usefixtures("asked")
def test_a_stop_is_said_before_the_next_question(ondrel: Path) -> None:
    lines = fleetcare("trace", "OB-23", "overheating", stdin="none\nq\n").lines
    stop = next(at for at, line in enumerate(lines) if line.startswith("STOP."))
    assert stop < max(at for at, line in enumerate(lines) if line.startswith("Next: "))


@pytest.mark.usefixtures("asked")
def test_back_takes_the_answer_back_and_enter_is_not_known(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare("trace", "OB-23", "overheating", stdin="b\nnone\nb\n\n\nq\n")
    assert "This is the first." in said.out
    assert said.out.count("Next: tell-tale") == 2
    last = next(line for line in reversed(said.lines) if line.startswith("  fleetcare trace"))
    assert last == '  fleetcare trace OB-23 overheating --skip tell-tale --skip "hot when"'
    assert written(ondrel) == before


@pytest.mark.usefixtures("asked")
def test_what_was_begun_is_taken_up_by_the_line_it_printed(ondrel: Path) -> None:
    said = fleetcare("trace", "OB-23", "overheating", stdin="weak\nat idle\nq\n")
    line = next(line for line in said.lines if line.startswith("  fleetcare trace"))
    assert "Nothing is stored." in said.out
    again = fleetcare(*shlex.split(line)[1:], stdin="q\n")
    assert "Seen: tell-tale weak; hot when: at idle." in again.out
    assert "Next: intakes" in again.out and "Next: tell-tale" not in again.out


@pytest.mark.usefixtures("asked")
def test_a_slip_is_told_and_asked_again_and_reasons_are_shown_when_asked(ondrel: Path) -> None:
    said = fleetcare("trace", "OB-23", "overheating", stdin="wobbly\nweak\n?\n9\nq\n")
    assert '"wobbly" is no outcome of "tell-tale"' in " ".join(said.out.split())
    assert '"9" is no outcome of "hot when"' in " ".join(said.out.split())
    assert said.out.count("against it:") > 1


@pytest.mark.usefixtures("asked")
def test_pieces_are_counted(ondrel: Path) -> None:
    line = ("--seen", "tell-tale=weak", "--seen", "hot when=at idle", "--skip", "intakes")
    said = fleetcare(
        "trace", "OB-23", "overheating", *line, "--skip", "outlet", stdin="missing\n2\nn\n"
    )
    assert "how many missing" in said.out
    assert 'fleetcare found OB-23 "impeller vanes" missing --count 2' in said.out
    assert said.lines[-1] == "Nothing is stored."


def test_on_a_terminal_of_40_columns_nothing_but_commands_is_wider(ondrel: Path) -> None:
    words = ["trace", "OB-14", "overheating", "--as-of", "2026-07-18"]
    said = _typed_on_a_terminal(words, ["none", "", "q"], ondrel)
    lines = [line for line in said.splitlines() if "fleetcare" not in line]
    assert widest(lines) <= 40
    assert "STOP. No water at the tell-tale" in said
    assert "█" in said


def _typed_on_a_terminal(words: list[str], keys: list[str], fleet: Path) -> str:
    """What a real terminal shows, each key sent once the command waits for it."""
    import fcntl
    import struct
    import termios

    size = struct.pack("HHHH", 50, 40, 0, 0)
    child, screen = pty.fork()
    if child == 0:  # pragma: no cover
        fcntl.ioctl(0, termios.TIOCSWINSZ, size)  # before the command can ask for it
        os.unsetenv("COLUMNS")  # which readline sets behind Python's back
        os.environ.update(FLEETCARE_FLEET=str(fleet), PYTHONPATH=str(ROOT), PYTHONUTF8="1")
        os.execv(sys.executable, [sys.executable, "-m", "fleetcare", *words])
    shown, waiting = b"", list(keys)
    while True:
        ready, _, _ = select.select([screen], [], [], 60)
        assert ready, shown
        try:
            new = os.read(screen, 65536)
        except OSError:  # the terminal is gone with the command
            new = b""
        if not new:
            break
        shown += new
        if waiting and shown.rstrip(b" ").endswith(b":") and b"\n" in shown:
            os.write(screen, waiting.pop(0).encode() + b"\n")
    os.waitpid(child, 0)
    return shown.decode().replace("\r", "")
