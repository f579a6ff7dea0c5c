"""fleetcare plan, typed as people would."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.plan.kept import from_text
from tests.cli.typed import ESCAPE, TODAY, fleetcare, refused, widest

QUICK = ("--effort", 0)
CALENDAR = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//tests//EN
{events}END:VCALENDAR
"""
EVENT = """BEGIN:VEVENT
UID:{uid}
DTSTAMP:20260701T000000Z
DTSTART;VALUE=DATE:{first}
DTEND;VALUE=DATE:{end}
SUMMARY:{words}
{more}END:VEVENT
"""


def calendar(path: Path, *events: tuple[str, str, str], more: str = "") -> Path:
    """A calendar of all-day events: words, first day, day after the last."""
    told = "".join(
        EVENT.format(uid=number, words=words, first=first, end=end, more=more)
        for number, (words, first, end) in enumerate(events)
    )
    path.write_text(CALENDAR.format(events=told).replace("\n", "\r\n"), encoding="utf-8")
    return path


def plan(*words: object, code: int = 0) -> dict[str, Any]:
    """The plan as JSON."""
    said = fleetcare("plan", *QUICK, *words, "--format", "json", code=code)
    found: dict[str, Any] = json.loads(said.out)
    return found


def jobs(found: dict[str, Any]) -> dict[tuple[str, str], str]:
    """The day of every job, by engine and task."""
    return {
        (visit["engine"], job["task"]): day["on"]
        for day in found["days"]
        for visit in day["visits"]
        for job in visit["jobs"]
    }


def kept(fleet: Path) -> list[tuple[int, str]]:
    connection = sqlite3.connect(fleet)
    try:
        return list(connection.execute("select made, text from plan order by id"))
    finally:
        connection.close()


# -- what is said ----------------------------------------------------------------------------------


def test_a_day_is_headed_by_its_minutes_and_each_boat_by_what_must_be_opened(small: Path) -> None:
    said = fleetcare("plan", *QUICK)
    head, *rest = said.lines
    assert head.startswith("Sat 18 Jul to Wed 16 Sep 2026: ")
    days = [line for line in rest if line.startswith("Mon 20 Jul: ")]
    assert len(days) == 1 and " of 360 min, " in days[0] and days[0].endswith("in")
    assert any(line.startswith("  Dunlin, Knot, ") for line in rest)
    assert any("late, leads to overheating or a seized swivel: " in line for line in rest)
    assert said.lines[-1].startswith("Weighed cost ")
    assert widest(said.lines) <= 80 and ESCAPE not in said.out
    assert said.err == ""


def test_the_invented_fleet_reads_in_80_columns(ondrel: Path) -> None:
    for more in ((), ("--all",), ("--why", "OB-14"), ("--year",)):
        assert widest(fleetcare("plan", *QUICK, *more).lines) <= 80


def test_later_days_take_a_line_each_until_all_is_asked_for(ondrel: Path) -> None:
    brief, whole = fleetcare("plan", *QUICK), fleetcare("plan", *QUICK, "--all")
    days = [day["on"] for day in plan()["days"]]
    assert len(days) > 10
    assert sum(" min: Boat" in line for line in brief.lines) > 5
    assert sum(" min: Boat" in line for line in whole.lines) == 0
    full = [line for line in whole.lines if " boat in" in line or " boats in" in line]
    assert len(full) == len(days)
    assert "(--all shows every day in full)" in brief.out
    assert len(brief.lines) < 150


def test_the_strip_has_a_column_a_day_and_marks_closed_ones(ondrel: Path) -> None:
    (load,) = [line for line in fleetcare("plan", *QUICK).lines if line.startswith("load")]
    marks = load.removeprefix("load").lstrip()
    assert len(marks) == 61
    assert marks[0:2] == "--" and marks[7:9] == "--"  # it begins on a Saturday
    used = {day["on"] for day in plan()["days"]}
    assert sum(mark not in "-·" for mark in marks) == len(used)


def test_the_json_keeps_its_contract(ondrel: Path) -> None:
    found = plan()
    assert (found["fleetcare"], found["as_of"]) == (1, TODAY)
    assert {"days", "unplaced", "late", "cost", "bound", "gap"} <= found.keys()
    for day in found["days"]:
        assert {"on", "minutes", "capacity", "visits"} <= day.keys()
        assert day["minutes"] == sum(visit["minutes"] for visit in day["visits"])
        assert day["minutes"] <= day["capacity"]
        for visit in day["visits"]:
            assert {"engine", "boat", "access", "minutes", "jobs"} <= visit.keys()
            for job in visit["jobs"]:
                assert {"task", "life_expected", "late", "pulled_forward_days"} <= job.keys()
                assert isinstance(job["life_expected"], float)
                assert job["late"] == 0 or job["pulled_forward_days"] == 0
    for item in found["late"]:
        assert {"engine", "task", "days", "proved", "reason"} <= item.keys()
    late = {
        (visit["engine"], job["task"]): job["late"]
        for day in found["days"]
        for visit in day["visits"]
        for job in visit["jobs"]
        if job["late"]
    }
    assert {(item["engine"], item["task"]): item["days"] for item in found["late"]} == late


def test_csv_and_ndjson_have_a_row_for_every_job(small: Path) -> None:
    wanted = jobs(plan())
    table = list(csv.DictReader(io.StringIO(fleetcare("plan", *QUICK, "--format", "csv").out)))
    lines = fleetcare("plan", *QUICK, "--format", "ndjson").lines
    rows = [json.loads(line) for line in lines]
    assert {(row["engine"], row["task"]): row["on"] for row in table} == wanted
    assert {(row["engine"], row["task"]): row["on"] for row in rows} == wanted
    assert len(table) == len(rows) == len(wanted)


def test_nothing_due_is_nothing_to_plan(fleet: Path) -> None:
    fleetcare("new", "--hemisphere", "northern", "--rules", "small-petrol")
    said = fleetcare("plan")
    assert said.out == (
        "Sat 18 Jul to Wed 16 Sep 2026: nothing comes due, so there is nothing to plan.\n\n\n"
    ) or said.lines[0].endswith("nothing comes due, so there is nothing to plan.")
    assert plan()["days"] == []


def test_with_the_extra_it_says_how_far_from_the_least_it_may_be(small: Path) -> None:
    pytest.importorskip("highspy")
    said = fleetcare("plan", "--horizon", 7, "--format", "json")
    found = json.loads(said.out)  # whatever the solver says of itself stays out of it
    assert 0 < found["bound"] <= found["cost"]
    assert found["gap"] == round((found["cost"] - found["bound"]) / found["cost"], 6)
    quick = plan("--horizon", 7)
    late = [sum(item["leads_to_harm"] for item in one["late"]) for one in (found, quick)]
    assert late[0] <= late[1]


# -- what it holds to ------------------------------------------------------------------------------


def test_a_booked_boat_does_not_come_in_and_what_is_unreadable_is_not_free(
    small: Path, tmp_path: Path
) -> None:
    hires = calendar(tmp_path / "hires.ics", ("Lapwing for the Pikes", "20260718", "20260801"))
    found = plan("--bookings", hires)
    plover = {on for (engine, _), on in jobs(found).items() if engine == "Plover"}
    assert plover and min(plover) >= "2026-08-03"
    assert min(on for (engine, _), on in jobs(found).items() if engine == "Knot") == "2026-07-20"
    broken = tmp_path / "broken.ics"
    broken.write_text("no calendar at all", encoding="utf-8")
    said = fleetcare("plan", *QUICK, "--bookings", broken, "--format", "json")
    assert "is not an iCalendar file; Lapwing, Dunlin unknown" in " ".join(said.err.split())
    left = json.loads(said.out)["unplaced"]
    assert {item["engine"] for item in left} == {"Plover", "Knot"}
    assert {item["reason"] for item in left} == {
        "Lapwing is taken on every open day", "Dunlin is taken on every open day",
    }  # fmt: skip


def test_closed_days_are_holidays_even_where_they_leave_time_free(
    small: Path, tmp_path: Path
) -> None:
    free = "TRANSP:TRANSPARENT\n"
    holidays = calendar(
        tmp_path / "holidays.ics", ("Works holiday", "20260718", "20260801"), more=free
    )
    found = plan("--closed", holidays)
    assert min(jobs(found).values()) == "2026-08-03"
    assert fleetcare("plan", *QUICK, "--closed", holidays, "--why", "2026-07-20").out == (
        "Mon 20 Jul: the workshop is closed.\n"
    )


def test_a_calendar_of_closed_days_that_cannot_be_read_closes(small: Path, tmp_path: Path) -> None:
    broken = tmp_path / "closed.ics"
    broken.write_text("no calendar at all", encoding="utf-8")
    said = fleetcare("plan", *QUICK, "--closed", broken, "--format", "json")
    assert str(broken) in said.err
    found = json.loads(said.out)
    assert found["days"] == [] and found["unplaced"]
    reasons = {item["reason"] for item in found["unplaced"]}
    assert reasons == {"the workshop is closed on every day planned"}
    assert "there is no file nowhere.ics" in refused(small, "plan", "--closed", "nowhere.ics")


def test_a_part_that_is_not_there_keeps_its_jobs_waiting(small: Path) -> None:
    found = plan("--arrives", "impeller kit=2026-08-12")
    impellers = {engine: on for (engine, task), on in jobs(found).items() if task == "impeller"}
    assert impellers and min(impellers.values()) >= "2026-08-12"
    waits = [item for item in found["late"] if item["task"] == "impeller"]
    assert waits and all(item["proved"] for item in waits)


def test_what_the_shelf_lacks_waits_for_an_order_of_today(small: Path) -> None:
    def impellers() -> list[str]:
        return sorted(on for (_, task), on in jobs(plan()).items() if task == "impeller")

    fleetcare("settings", "lead_days", "20")
    fleetcare("parts", "count", "impeller kit", 1)
    first, *others = impellers()
    assert len(others) == 2
    assert first < "2026-08-07" <= others[0]  # one is there, and 20 days for the rest
    fleetcare("settings", "lead_days", "90")
    assert len(impellers()) == 1
    reasons = {item["reason"] for item in plan()["unplaced"]}
    assert all(reason.endswith("no impeller kit left") for reason in reasons)
    fleetcare("parts", "count", "impeller kit", 3)
    assert len(impellers()) == 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("impeler kit=2026-08-12", 'no job uses up "impeler kit". Did you mean "impeller kit"'),
        ("impeller kit", "write ITEM=DATE or ITEM=DATE:COUNT"),
        ("impeller kit=someday", '"someday" is not a day'),
        ("impeller kit=2026-08-12:few", "takes a whole number"),
    ],
)
def test_parts_that_are_told_wrongly_are_refused(small: Path, text: str, words: str) -> None:
    assert words in refused(small, "plan", "--arrives", text)


def test_demands_that_cannot_be_met_are_named_with_the_limit(small: Path) -> None:
    fleetcare("settings", "workshop_minutes", "30")
    found = plan()
    reasons = {item["reason"] for item in found["unplaced"]}
    assert any("min with its access, and the longest day has 30" in reason for reason in reasons)
    said = fleetcare("plan", *QUICK)
    assert f"No day found for {len(found['unplaced'])} jobs:" in said.out
    told = " ".join(said.out.split())
    for item in found["unplaced"]:
        assert item["task"] in told and item["reason"] in told


def test_one_place_is_shown_alone_out_of_the_whole_plan(small: Path) -> None:
    for boat, place in (("Lapwing", "Quay"), ("Dunlin", "Mill pond")):
        connection = sqlite3.connect(small)
        connection.execute("update boat set place = ? where name = ?", (place, boat))
        connection.commit()
        connection.close()
    whole, quay = plan(), plan("--place", "quay")
    assert {engine for engine, _ in jobs(quay)} == {"Plover"}
    assert jobs(quay).items() <= jobs(whole).items()
    assert quay["cost"] == whole["cost"]
    message = refused(small, "plan", "--place", "Quai")
    assert 'no boat lies at "Quai". Did you mean "Quay"?' in message


def test_an_engine_held_tells_so_and_what_it_is_held_for_comes_first(small: Path) -> None:
    fleetcare("found", "Plover", "tell-tale", "weak", "--on", "2026-07-17")
    found = plan()
    visits = [(day["on"], visit) for day in found["days"] for visit in day["visits"]
              if visit["engine"] == "Plover"]  # fmt: skip
    assert all(visit["held"] for _, visit in visits)
    first = {job["task"] for job in visits[0][1]["jobs"]}
    assert {"intakes look", "tell-tale hose"} <= first
    assert any(line.startswith("  Lapwing, Plover, held, ") for line in
               fleetcare("plan", *QUICK, "--all").lines)  # fmt: skip


def test_what_was_put_off_is_counted_and_not_planned(small: Path) -> None:
    fleetcare("put-off", "Plover", "bolts", "--until", "2026-12-01", "--because", "winter")
    found = plan()
    assert ("Plover", "bolts") not in jobs(found) and found["put_off"] == 1
    assert "1 job put off and not planned" in fleetcare("plan", *QUICK).out


# -- kept ------------------------------------------------------------------------------------------


def test_fix_keeps_the_plan_and_dry_run_does_not(small: Path) -> None:
    said = fleetcare("plan", *QUICK, "--fix", "--dry-run")
    assert said.lines[-1].startswith("would keep this plan: ")
    assert kept(small) == []
    before = jobs(plan())
    said = fleetcare("plan", *QUICK, "--fix")
    assert said.lines[-1].startswith("kept this plan: ")
    ((made, text),) = kept(small)
    plan_kept = from_text(text)
    assert plan_kept.first == made == date.fromisoformat(TODAY).toordinal()
    assert {
        (visit.engine, task): date.fromordinal(day.on).isoformat()
        for day in plan_kept.days
        for visit in day.visits
        for task in visit.tasks
    } == before


def test_what_a_program_reads_has_nothing_beside_it(small: Path) -> None:
    said = fleetcare("plan", *QUICK, "--fix", "--format", "json")
    assert json.loads(said.out)["days"] and said.err.startswith("kept this plan: ")


def test_a_kept_plan_stays_and_only_what_must_moves(small: Path, tmp_path: Path) -> None:
    fleetcare("plan", *QUICK, "--fix")
    again = plan()
    assert {item["why"] for item in again["moved"]} <= {"it costs less that way"}
    before = jobs(again)
    fleetcare("plan", *QUICK, "--fix")
    first = min(on for (engine, _), on in before.items() if engine == "Knot")
    end = first.replace("-", "")
    hires = calendar(tmp_path / "hires.ics", ("Dunlin out", end, f"{int(end) + 1}"))
    moved = plan("--bookings", hires)
    now = jobs(moved)
    assert all(on != first for (engine, _), on in now.items() if engine == "Knot")
    whys = {
        (item["engine"], item["task"]): item["why"] for item in moved["moved"]
        if item["before"] == first and item["engine"] == "Knot"
    }  # fmt: skip
    assert whys and set(whys.values()) == {"the boat is taken that day"}
    told = " ".join(fleetcare("plan", *QUICK, "--bookings", hires, "--all").out.split())
    assert "Moved against the kept plan: " in told and "the boat is taken that day" in told


def test_the_frozen_days_stay_though_another_plan_would_cost_less(small: Path) -> None:
    """Kept on a narrow workshop; a wide one would bring everything together."""
    fleetcare("settings", "workshop_minutes", "100")
    fleetcare("plan", *QUICK, "--fix")
    fleetcare("settings", "workshop_minutes", "900")
    before = {
        (visit.engine, task): date.fromordinal(day.on).isoformat()
        for day in from_text(kept(small)[0][1]).days
        for visit in day.visits
        for task in visit.tasks
    }
    free = plan("--frozen", 0)
    assert {key for key in before if before[key] != jobs(free).get(key)}
    frozen = plan("--frozen", 61)
    assert [item for item in frozen["moved"] if item["before"] is not None] == []
    assert before.items() <= jobs(frozen).items()
    assert frozen["cost"] > free["cost"]


def test_a_plan_of_a_broken_form_counts_as_none_and_says_so(small: Path) -> None:
    connection = sqlite3.connect(small)
    connection.execute("insert into plan (made, text) values (739000, '[\"?\"]')")
    connection.commit()
    connection.close()
    said = fleetcare("plan", *QUICK, "--format", "json")
    assert "The plan that was kept cannot be read by this version" in said.err
    assert json.loads(said.out)["moved"] == []


def test_what_is_logged_while_it_plans_keeps_it_from_being_kept(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fleetcare.plan.solve as module

    solve = module.solve

    def meanwhile(*words: Any) -> Any:
        fleetcare("reading", "Plover", "260", "--fleet", small)
        return solve(*words)

    monkeypatch.setattr(module, "solve", meanwhile)
    said = fleetcare("plan", *QUICK, "--fix", code=1)
    assert "something was logged, or another plan kept, while this one was made" in said.err
    assert kept(small) == []
    assert said.out.startswith("Sat 18 Jul")  # it is shown all the same


def test_the_plan_is_read_at_one_moment(small: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program writes between our reads: the mark is that of what was read."""
    from fleetcare.store.fleet_file import FleetFile

    fits: Callable[..., Any] = FleetFile.fits

    def writes_first(self: FleetFile, *words: Any) -> Any:
        other = sqlite3.connect(small, timeout=0)
        with pytest.raises(sqlite3.OperationalError):
            other.execute("insert into plan (made, text) values (1, '{}')")
            other.commit()
        other.close()
        return fits(self, *words)

    monkeypatch.setattr(FleetFile, "fits", writes_first)
    assert plan()["moved"] == []


# -- why -------------------------------------------------------------------------------------------


def test_why_tells_the_cost_of_every_other_day(small: Path) -> None:
    first = min(jobs(plan()).values())
    said = fleetcare("plan", *QUICK, "--why", first)
    assert "  The whole visit on another day:" in said.lines
    assert any(line.endswith("(the best other day)") for line in said.lines)
    rows = json.loads(fleetcare("plan", *QUICK, "--why", first, "--format", "json").out)["rows"]
    whole = [row for row in rows if row["task"] is None]
    assert {row["on"] for row in whole} == {first}
    assert all((row["hindered"] is None) != (row["cost_more"] is None) for row in whole)


def test_why_leaves_no_open_day_out(small: Path) -> None:
    first = min(jobs(plan()).values())
    lines = fleetcare("plan", *QUICK, "--why", first).lines
    at = lines.index("  The whole visit on another day:")
    told = [line.strip() for line in lines[at + 1 :]]
    told = told[: next(n for n, line in enumerate(told) if not line or line.startswith("One job"))]
    others = [re.match(r"(\d+) other days? (before|after) it: ", line) for line in told]
    many = sum(int(found[1]) if found else bool(re.match(r"\w{3} \d+ \w{3}: ", line))
               for found, line in zip(others, told, strict=True))  # fmt: skip
    rows = json.loads(fleetcare("plan", *QUICK, "--why", first, "--format", "json").out)["rows"]
    engine = rows[0]["engine"]
    assert any(others)
    assert many == len([row for row in rows if row["task"] is None and row["engine"] == engine])


def test_why_takes_an_engine_or_a_boat(small: Path) -> None:
    by_engine = fleetcare("plan", *QUICK, "--why", "knot").out
    assert by_engine == fleetcare("plan", *QUICK, "--why", "Dunlin").out
    assert "Dunlin, Knot" in by_engine and "Lapwing" not in by_engine
    message = refused(small, "plan", *QUICK, "--why", "Knott")
    assert 'no engine "Knott". Did you mean "Knot"?' in message
    message = refused(small, "plan", *QUICK, "--why", "2027-07-20")
    assert "2027-07-20 is none of the days planned; --horizon DAYS looks further" in message


def test_why_of_a_day_without_work_says_so(small: Path) -> None:
    assert fleetcare("plan", *QUICK, "--why", "2026-07-19").out == (
        "Sun 19 Jul: the workshop is closed.\n"
    )


# -- pictures, years, money ------------------------------------------------------------------------


def test_the_picture_is_written_whole_and_named(small: Path, tmp_path: Path) -> None:
    said = fleetcare("plan", *QUICK, "--svg", "plan.svg")
    assert "plan.svg: the picture." in said.err
    assert (tmp_path / "plan.svg").read_bytes().startswith(b"<?xml")
    message = fleetcare("plan", *QUICK, "--svg", "/proc/no/plan.svg", code=4).err
    assert "/proc/no/plan.svg cannot be written" in message


def test_the_year_ahead_has_a_row_a_month(ondrel: Path) -> None:
    fleetcare("settings", "money", "kr")
    said = fleetcare("plan", "--year")
    assert said.lines[0].startswith("The year ahead, 18 Jul 2026 to 17 Jul 2027")
    found = json.loads(fleetcare("plan", "--year", "--format", "json").out)
    assert [row["month"] for row in found["rows"]][:2] == ["2026-07", "2026-08"]
    assert len(found["rows"]) == 13 and found["money"] == "kr"
    for row in found["rows"]:
        assert row["minutes_least"] <= row["minutes"] <= row["minutes_most"]
        assert row["boat_days_least"] <= row["boat_days"] <= row["boat_days_most"]
    assert " kr" in said.out
    table = fleetcare("plan", "--year", "--format", "csv").lines
    assert len(table) == 14


# -- the same for everybody ------------------------------------------------------------------------


def run(*words: object, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fleetcare", *map(str, words)], capture_output=True, text=True,
        timeout=300, check=True, **more,
    )  # fmt: skip


def test_the_same_bytes_in_every_process_whatever_the_hash_seed(ondrel: Path) -> None:
    told = set()
    for seed in ("0", "4711"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        asked = ("plan", *QUICK, "--as-of", TODAY, "--fleet", ondrel)
        for more in (("--format", "json"), ("--all",)):
            told.add(run(*asked, *more, env=environment).stdout)
    assert len(told) == 2


def test_interrupted_it_gives_the_best_so_far_and_keeps_nothing(ondrel: Path) -> None:
    """Ctrl-C once it has planned for a while by the processor's clock."""
    out, terminal = pty.openpty()
    words = ("plan", "--fix", "--effort", "20", "--as-of", TODAY, "--format", "json")
    process = subprocess.Popen(
        [sys.executable, "-m", "fleetcare", *words, "--fleet", str(ondrel)],
        stdout=subprocess.PIPE, stderr=terminal,
    )  # fmt: skip
    os.close(terminal)
    said = b""
    while b"Ctrl-C takes the best so far" not in said:
        said += os.read(out, 1000)
    begun = used(process.pid)
    while used(process.pid) < begun + 1.0:
        os.sched_yield()
    process.send_signal(signal.SIGINT)
    told = json.loads(process.communicate()[0])
    while (more := _read(out)) != b"":
        said += more
    os.close(out)
    assert process.returncode == 130
    assert told["cut_short"] is True and told["days"]
    assert b"Interrupted: nothing was kept." in said and b"Traceback" not in said
    assert kept(ondrel) == []


def _read(handle: int) -> bytes:
    try:
        return os.read(handle, 1000)
    except OSError:  # the other end is closed
        return b""


def used(pid: int) -> float:
    """Seconds of the processor that a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_a_cut_plan_is_marked_in_words(small: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import fleetcare.plan.solve as module

    solve = module.solve
    monkeypatch.setattr(module, "solve", lambda *words: replace(solve(*words), cut_short=True))
    said = fleetcare("plan", *QUICK, "--fix", code=130)
    assert "Interrupted: the best plan found so far." in said.out
    assert "Interrupted: nothing was kept." in said.err
    assert kept(small) == []


# -- rates, for those who reckon with them ---------------------------------------------------------


def test_a_dearer_boat_day_brings_more_jobs_together(ondrel: Path) -> None:
    def boat_days(found: dict[str, Any]) -> int:
        return len({(day["on"], v["boat"]) for day in found["days"] for v in day["visits"]
                    if v["boat"]})  # fmt: skip

    fleetcare("settings", "boat_day_cost", "1")
    cheap = boat_days(plan())
    fleetcare("settings", "boat_day_cost", "2000")
    assert boat_days(plan()) < cheap


def test_wear_and_salvage_reckon_with_the_settings_and_say_when_they_are_ours(
    ondrel: Path,
) -> None:
    before = json.loads(fleetcare("wear", "--format", "json").out)
    assert (before["hourly_rate"], before["boat_day"]) == (45, 120)
    assert before["rates_are_judgement"] is True
    fleetcare("settings", "hourly_rate", "80")
    fleetcare("settings", "boat_day_cost", "300.50")
    fleetcare("settings", "money", "kr")
    found = json.loads(fleetcare("wear", "--format", "json").out)
    assert (found["hourly_rate"], found["boat_day"]) == (80, 300.5)
    assert found["rates_are_judgement"] is False and found["money"] == "kr"
    text = " ".join(fleetcare("wear", "impeller").out.split())
    assert "an hour at 80 kr and a boat's day lost at 300.5 kr" in text
    assert "our judgement until" not in text
    option = json.loads(fleetcare("wear", "--hourly-rate", "50", "--format", "json").out)
    assert (option["hourly_rate"], option["boat_day"]) == (50, 300.5)
    salvaged = " ".join(fleetcare("salvage", "OB-19", "Spare B").out.split())
    assert " kr, what may disappoint counted in." in salvaged
    assert salvaged.endswith("The cost: an hour at 80 kr and a boat's day lost at 300.5 kr.")
