"""Fleet files for the benchmarks: weekly readings and runs for years, twelve tasks an engine."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from fleetcare.exchange import cells
from fleetcare.log.entries import Entry, Job, Reading, Run
from fleetcare.store.append import Taken, add_boat, add_engine, add_entries, set_fleet_id, set_value
from fleetcare.store.fleet_file import FleetFile
from tests.built import good
from tests.trials.example_scale import last_day, make

# Twelve tasks of the shipped set, with about how many days apart a hard-used fleet does each.
TASKS = {
    "impeller": 330, "pump housing": 330, "thermostat": 300, "passages": 330, "gear oil": 150,
    "swivel grease": 55, "tilt grease": 55, "anodes": 120, "propeller": 120, "engine oil": 150,
    "fuel filter": 400, "plugs": 300,
}  # fmt: skip
STAMP = "2026-01-01T00:00:00+00:00"


def build(path: Path, engines: int, years: int, seed: int = 7) -> date:
    """Make a fleet file and give the day to look at it on."""
    tables = make(engines, years, seed)
    end = last_day(years)
    (path.parent / "intervals").mkdir(exist_ok=True)
    (path.parent / "intervals" / "twelve.toml").write_text(_twelve(), encoding="utf-8")
    with FleetFile.make(path) as file, file.writing() as connection:
        set_fleet_id(connection, "00000000-0000-4000-8000-000000000000")
        for row in tables["settings"]:
            set_value(connection, row["name"], row["value"])
        set_value(connection, "rules", "twelve")
        names = Taken(connection)
        for row in tables["boats"]:
            add_boat(connection, good(cells.boat(row)), names)
        for row in tables["engines"]:
            add_engine(connection, good(cells.engine({**row, "rules": "twelve"})), names)
        entries = [_entry(row) for row in tables["log"] if row["event"] != "job"]
        entries += _jobs(tables["engines"], end, random.Random(seed))
        entries.sort(key=lambda entry: entry.on)
        add_entries(connection, entries, STAMP, checked=False)
    return end


def _entry(row: dict[str, str]) -> Entry:
    """An entry out of its row: readings and runs, of which there are most, the short way."""
    on, engine = date.fromisoformat(row["on"]), row["engine"]
    if row["event"] == "reading":
        return Reading(on=on, engine=engine, reading=_hundredths(row["reading"]))
    if row["event"] == "run" and not row["reading"] and not row["water"] and not row["fuel"]:
        return Run(on=on, engine=engine, hours=_hundredths(row["hours"]))
    entry: Entry = good(cells.entry(row))
    return entry


def _hundredths(text: str) -> int:
    whole, _, rest = text.partition(".")
    return int(whole) * 100 + int((rest + "00")[:2])


def _twelve() -> str:
    """A set of the twelve tasks alone, written out of the shipped one."""
    import tomllib

    from fleetcare.rules.shipped import shipped_folder

    data = tomllib.loads((shipped_folder() / "small-petrol.toml").read_text(encoding="utf-8"))
    out = ['[set]\nname = "twelve"\ntitle = "Twelve tasks for benchmarks"\n']
    for task in data["task"]:
        if task["name"] in TASKS:
            out.append("[[task]]")
            for key in ("name", "title", "component", "limits", "leads_to", "chain", "source"):
                if key in task:
                    out.append(f"{key} = {_toml(task[key])}")
    return "\n".join(out) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return str(value)


def _jobs(engines: list[dict[str, str]], end: date, dice: random.Random) -> Iterator[Entry]:
    for row in engines:
        since = date.fromisoformat(row["since"])
        for task, apart in TASKS.items():
            day = since + timedelta(dice.randrange(1, apart))
            while day <= end:
                yield Job(on=day, engine=row["engine"], task=task)
                day += timedelta(dice.randrange(apart * 3 // 4, apart * 5 // 4))
