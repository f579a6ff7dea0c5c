"""Very large fleets: what `due`, `feed publish` and `board` cost in CPU time and memory.

`python -m tests.benchmarks.scale` measures 100,000 engines read monthly for a year, and 10,000
read weekly for five. Every command is a process of its own, its peak the high-water mark of that
process alone. With figures, engines and years, another size: `… scale 10000 5 weekly`.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import islice
from pathlib import Path

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log.entries import Entry, Job, Reading
from fleetcare.share.subscribers import hash_of
from fleetcare.store.append import Taken, add_boat, add_engine, add_entries, set_fleet_id, set_value
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.subscribers import add_subscriber
from tests.benchmarks.fleets import STAMP, TASKS, _twelve

FIRST = date(2021, 1, 3)
SIZES = ((100_000, 1, "monthly"), (10_000, 5, "weekly"))
BATCH = 100_000
A_PIER = 40  # boats
BOATS = 500  # with a subscriber of their own
# What one process did: its own CPU seconds, peak KiB, and the bytes it printed or wrote.
MEASURED = """
import json, os, sys, resource
from fleetcare.cli.main import main
sys.argv = ["fleetcare", *sys.argv[1:]]
try:
    code = main()
except SystemExit as end:
    code = end.code
sys.stdout.flush()
used = resource.getrusage(resource.RUSAGE_SELF)
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1]
print(json.dumps([code, used.ru_utime + used.ru_stime, int(peak)]), file=sys.stderr)
"""


def build(path: Path, engines: int, years: int, every: str, seed: int = 7) -> date:
    """Make a fleet file, in batches so that its size needs no memory, and give its last day."""
    dice, last = random.Random(seed), FIRST + timedelta(364 * years)
    (path.parent / "intervals").mkdir(exist_ok=True)
    (path.parent / "intervals" / "twelve.toml").write_text(_twelve(), encoding="utf-8")
    meters: dict[str, int] = {}
    with FleetFile.make(path) as file, file.writing() as connection:
        set_fleet_id(connection, "00000000-0000-4000-8000-000000000000")
        set_value(connection, "rules", "twelve")
        taken = Taken(connection)
        for number in range(engines):
            boat, name = f"Hull {number:06}", f"S-{number:06}"
            meters[name] = dice.randrange(60_000)
            home = Boat(boat, "hire", Water(number % 3), FIRST, f"Pier {number // A_PIER}")
            add_boat(connection, home, taken)
            add_engine(connection, Engine(name, FIRST, boat, reading=meters[name]), taken)
    weeks = range(4, 52 * years + 1, 4) if every == "monthly" else range(1, 52 * years + 1)
    if every == "monthly":
        weeks = weeks[: 12 * years]
    entries = _entries(meters, weeks, last, dice)
    while batch := list(islice(entries, BATCH)):
        with FleetFile(path) as file, file.writing() as connection:
            add_entries(connection, batch, STAMP, checked=False)
    return last


def _entries(
    meters: dict[str, int], weeks: range, last: date, dice: random.Random
) -> Iterator[Entry]:
    """Readings round by round, and each engine's jobs among them as their days come."""
    due = {
        (name, task): FIRST.toordinal() + dice.randrange(1, apart)
        for name in meters
        for task, apart in TASKS.items()
    }
    for week in weeks:
        on = FIRST + timedelta(7 * week)
        for name in meters:
            meters[name] += dice.randrange(0, 250 * weeks.step)
            yield Reading(on=on, engine=name, reading=meters[name])
        for (name, task), day in due.items():
            if day <= on.toordinal():
                yield Job(on=date.fromordinal(day), engine=name, task=task)
                apart = TASKS[task]
                due[name, task] = day + dice.randrange(apart * 3 // 4, apart * 5 // 4)


def command(path: Path, *words: str, out: Path | None = None) -> tuple[float, int, int]:
    """CPU seconds, peak KiB and bytes printed of one command on a fleet, which must succeed."""
    with (out or Path(os.devnull)).open("wb") as sink:
        done = subprocess.run(
            [sys.executable, "-c", MEASURED, *words, "--fleet", str(path)],
            stdout=sink, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    told = done.stderr.decode().strip().splitlines()
    code, seconds, peak = json.loads(told[-1])
    if code:
        raise RuntimeError("\n".join(told[:-1]))
    return seconds, peak, out.stat().st_size if out is not None else 0


def report(sizes: Iterable[tuple[int, int, str]] = SIZES) -> str:
    """What every command costs at each size, in lines."""
    lines = []
    for engines, years, every in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "fleet.db"
            as_of = build(path, engines, years, every)
            size = path.stat().st_size >> 20
            lines.append(f"{engines:,} engines read {every} for {years} years, {size} MB:")
            lines += measured(path, as_of)
    return "\n".join(lines)


def measured(path: Path, as_of: date) -> Iterator[str]:
    """A line a command."""
    day, folder, task = as_of.isoformat(), path.parent, next(iter(TASKS))
    on = ("--as-of", day)
    for title, words in (
        ("due --format json, every fit made anew", ("due", *on, "--format", "json")),
        ("due --format json", ("due", *on, "--format", "json")),
        ("due, as a table", ("due", *on)),
        ("due of one boat", ("due", *on, "--boat", "Hull 000001")),
        ("why of one job", ("why", "S-000001", task, *on)),
        ("a job is logged", ("done", "S-000001", task, "--on", day)),
        ("board of one place", ("board", *on, "--place", "Pier 0", "--html", "-")),
        ("board", ("board", *on, "--html", "-")),
    ):
        yield _line(title, *command(path, *words, out=folder / "out"))
    feeds = folder / "feeds"
    _subscribe(path, feeds)
    for title in ("feed publish for the first time", "feed publish again"):
        told = command(path, "feed", "publish", str(feeds), *on)
        yield _line(f"{title}, {BOATS + 1:,} feeds", *told)


def _subscribe(path: Path, feeds: Path) -> None:
    """The whole fleet for one, and many boats for theirs; empty files stand at their addresses."""
    dice = random.Random(1)
    audiences = ["fleet", *(f"boat Hull {number:06}" for number in range(BOATS))]
    feeds.mkdir(mode=0o711)
    with FleetFile(path) as file, file.writing() as connection:
        for number, audience in enumerate(audiences):
            token = dice.randbytes(32).hex()[:43]
            row = (f"reader {number}", audience, "", hash_of(token), STAMP)
            add_subscriber(connection, row)
            (feeds / f"{token}.ics").touch()


def _line(title: str, seconds: float, peak: int, size: int) -> str:
    written = f", {size / 1e6:.1f} MB out" if size else ""
    return f"  {title}: {seconds:.1f} s CPU, peak {peak >> 10} MiB{written}"


def main(words: list[str]) -> None:
    sizes = [(int(words[0]), int(words[1]), words[2])] if words else SIZES
    print(report(sizes))


if __name__ == "__main__":
    main(sys.argv[1:])
