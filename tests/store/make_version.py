"""Write the fleet file that an older program made: `python tests/store/make_version.py COMMIT`.

COMMIT is the last one of a version of the schema (`git log -- fleetcare/store/schema.py` tells
them). Its own code, taken out of the history into a temporary folder, makes files/version_N.db by
its own commands on a frozen day, and files/version_N.json: what its due list and its log said
then. Neither is ever edited; the newest program must open the file and say the same.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
FILES = HERE / "files"

SINCE = ("--since", "2026-03-01")
STEADY = ("--rules", "steady")
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("new", "--hemisphere", "northern", "--season", "04-04/10-11"),
    ("settings", "by", "jetty"),
    ("boat", "add", "Lapwing", "--use", "hire", "--water", "fresh", *SINCE),
    ("boat", "add", "Dunlin", "--use", "club", "--water", "salt", "--place", "Quay", *SINCE),
    ("engine", "add", "Plover", "--boat", "Lapwing", "--hp", "6", "--stroke", "4", *STEADY,
     "--family", "A6", *SINCE, "--reading", "250", "--last", "impeller=2025-09-20@230",
     "--last", "swivel grease=2026-02-20"),
    ("engine", "add", "Knot", "--boat", "Dunlin", "--hp", "6", "--stroke", "4", *STEADY,
     "--family", "A6", *SINCE, "--no-meter", "--last", "plugs=2025-10-01"),
    ("engine", "add", "Spare", "--hp", "9.9", "--stroke", "2", *STEADY, *SINCE,
     "--reading", "0", "--new", "--also", "the grey one"),
    ("engine", "add", "Ørret", *STEADY, *SINCE, "--reading", "9950", "--digits", "4",
     "--without", "flush"),
    ("reading", "Plover", "255.25", "--on", "2026-04-10"),
    ("run", "Plover", "2.5", "--on", "2026-04-12", "--water", "brackish"),
    ("run", "Knot", "--fuel", "4", "--on", "2026-04-12"),
    ("run", "Knot", "3", "--on", "2026-04-20", "--hire-time"),
    ("boat", "move", "Lapwing", "salt", "--on", "2026-05-01"),
    ("reading", "Plover", "290", "--on", "2026-05-10"),
    ("swap", "Plover", "Spare", "gearcase", "--on", "2026-05-11"),
    ("engine", "into-store", "Knot", "--on", "2026-05-12"),
    ("engine", "mount", "Spare", "Dunlin", "--on", "2026-05-13"),
    ("reading", "Spare", "31.4", "--on", "2026-06-20"),
    ("done", "Plover", "impeller", "--on", "2026-06-01", "--reading", "301.5"),
    ("done", "Plover", "swivel grease", "plugs", "--on", "2026-06-02", "--by", "Søren",
     "--note", "nipple stiff; \u201ccleaned\u201d"),
    ("reading", "Plover", "2.5", "--on", "2026-06-15", "--old-meter", "310"),
    ("reading", "Ørret", "12", "--on", "2026-06-15", "--rolled-over"),
    ("incident", "Spare", "grounded", "--on", "2026-06-21"),
    ("put-off", "Plover", "plugs", "--until", "2026-08-01", "--because", "no plugs"),
    ("run", "Knot", "9", "--on", "2026-06-25"),
    ("undo",),
    ("lay-up", "Ørret", "--on", "2026-07-01"),
    ("engine", "rename", "Knot", "Dunlin's old one"),
    ("feed", "write", "fleet.ics"),
)  # fmt: skip
# Since the second version.
SUBSCRIBING = ("feed", "add", "Ina", "--of", "boat Lapwing")

OLD = """
import json, sys
from datetime import date
from pathlib import Path

from click.testing import CliRunner
from freezegun import freeze_time

import fleetcare
from fleetcare.cli.main import cli
from fleetcare.due.rows import due_list
from fleetcare.rules.shipped import read_book
from fleetcare.show.log_text import entry_words
from fleetcare.show.values import due_rows
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.schema import VERSION

commands, last, rules, code = json.loads(sys.argv[1])
assert fleetcare.__file__.startswith(code), fleetcare.__file__
if VERSION > 1:
    commands.append(last)
with freeze_time("2026-07-18 08:00:00"):
    for words in commands:
        done = CliRunner().invoke(cli, ["--fleet", "fleet.db", *words], catch_exceptions=False)
        if done.exit_code:
            sys.exit(f"{words}: {done.output}")
path, book = Path("fleet.db"), read_book(Path(rules), {"steady", "small-petrol"})
said = {"version": VERSION, "due": {}, "sent": []}
with FleetFile(path) as file:
    said["log"] = [
        [item.number, item.act, str(item.on), item.by, item.withdrawn, item.withdraws,
         item.entry and entry_words(item.entry)]
        for item in file.log()
    ]
    said["sent"] = file.connection.execute(
        "select uid, day, title, status, sequence, changed from sent order by uid").fetchall()
    for day in (date(2026, 6, 1), date(2026, 7, 18), date(2027, 3, 1)):
        fleet, history = file.fleet(), file.history(day)
        said["due"][str(day)] = due_rows(due_list(fleet, history, book, day), ())
Path(f"version_{VERSION}.json").write_text(
    json.dumps(said, ensure_ascii=False, indent=1) + "\\n", encoding="utf-8")
path.rename(f"version_{VERSION}.db")
"""


def make(commit: str) -> None:
    """Let the code of a commit make its file and say what it held."""
    import json

    archive = subprocess.run(
        ["git", "archive", commit], cwd=HERE.parent.parent, check=True, capture_output=True
    )
    with tempfile.TemporaryDirectory() as name:
        code, place = Path(name, "code"), Path(name, "place")
        (place / "intervals").mkdir(parents=True)
        with tarfile.open(fileobj=io.BytesIO(archive.stdout)) as files:
            files.extractall(code, filter="data")
        rules = place / "intervals" / "steady.toml"
        rules.write_bytes((FILES / "steady.toml").read_bytes())
        asked = json.dumps([COMMANDS, SUBSCRIBING, str(rules.parent), str(code)])
        subprocess.run(
            [sys.executable, "-c", OLD, asked], cwd=place, check=True,
            env={**os.environ, "PYTHONPATH": str(code), "LOGNAME": "jetty"},
        )  # fmt: skip
        for made in place.glob("version_*"):
            (FILES / made.name).write_bytes(made.read_bytes())
            print(f"wrote {FILES / made.name}")


if __name__ == "__main__":
    make(sys.argv[1])
