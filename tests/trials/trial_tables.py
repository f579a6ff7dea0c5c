"""Dirty sheets in bulk: every planted fault reported, every good row taken, once and as it stood.

    python -m tests.trials.trial_tables

Each of 60 random sheets, full 200 (readings, runs or jobs; CSV in several encodings and languages,
XLSX), is imported into a fleet of its own with its good rows kept, its refused rows are mended and
fed back, and the sheet is read once more. Counted are good rows that were said to be taken, those
of them that the log does not hold (lost), and all that the log holds wrongly: a wrong value, a row
twice, a planted fault that was not reported. `ratio` is the time of the dirty imports to that of
importing the same good rows as clean tables of our own.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from fleetcare.exchange.accounts import REFUSED, TAKEN, Report, row_of
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.log.entries import Entry, Job, Reading, Run
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import in_folder
from tests.exchange.fuzz import BAD, GOOD, Dirty, dirty
from tests.exchange.fuzz import Entry as Planted
from tests.exchange.sheets import bring, fleet_at, log_of

SHEETS, SOME, ROWS = 200, 60, 60
EVENTS = {"Reading": ("reading", "reading"), "Run": ("run", "hours"), "Job": ("job", "task")}


@dataclass(slots=True)
class Counted:
    """What came of the trial so far."""

    rows: int = 0
    faults: int = 0
    acknowledged: int = 0
    lost: int = 0
    wrong: int = 0
    dirty_seconds: float = 0.0
    plain_seconds: float = 0.0


def run(full: bool) -> dict[str, object]:
    """A row for all of them; the same sheets each time."""
    counted, sheets = Counted(), SHEETS if full else SOME
    with tempfile.TemporaryDirectory() as folder:
        for number in range(sheets):
            one(counted, f"trial {number}", Path(folder, str(number)))
    return {
        "name": "dirty spreadsheets",
        "load": f"{sheets} dirty sheets, {counted.rows} rows, mended and fed back, read twice",
        "faults": counted.faults,
        "acknowledged": counted.acknowledged,
        "lost": counted.lost,
        "wrong": counted.wrong,
        "ratio": round(counted.dirty_seconds / counted.plain_seconds, 2),
    }


def one(counted: Counted, seed: str, place: Path) -> None:
    """One sheet, from its first import to its last."""
    place.mkdir()
    sheet = dirty(seed, rows=ROWS)
    path = sheet.write(place / "sheet")
    with fleet_at(place / "dirty.db") as file:
        begin = time.process_time()
        report = bring(file, path, keep_good=True, **sheet.asked)
        counted.dirty_seconds += time.process_time() - begin
        counted.rows += len(sheet.rows)
        counted.faults += sheet.faults
        judge(counted, sheet, report, Counter(map(said, log_of(file))), seed)
        fed_back(counted, sheet, report, file, path)
        again = bring(file, path, keep_good=True, **sheet.asked)
        counted.wrong += sum(again.taken.values())
    with fleet_at(place / "plain.db") as file:
        folder = in_folder(place / "plain", {"log": [plain_row(entry) for entry in sheet.good]})
        begin = time.process_time()
        bring(file, folder)
        counted.plain_seconds += time.process_time() - begin


def judge(
    counted: Counted, sheet: Dirty, report: Report, held: Counter[Planted], seed: str
) -> None:
    """Hold the report and the log to what was planted."""
    verdicts = [
        account.verdict for account in sorted(report.accounts, key=lambda item: row_of(item.place))
    ]
    for row, verdict in zip(sheet.rows, verdicts, strict=False):
        if row.verdict == BAD and verdict != REFUSED:
            counted.wrong += 1
            print(f"{seed}: {row.cells} was {verdict}", file=sys.stderr)
        if row.verdict == GOOD and verdict == TAKEN:
            counted.acknowledged += 1
    wanted = Counter(sheet.good)
    counted.lost += (wanted - held).total()
    counted.wrong += (held - wanted).total()


def fed_back(counted: Counted, sheet: Dirty, report: Report, file: FleetFile, path: Path) -> None:
    """Mend the refused rows and import them: each is taken then, and nothing twice."""
    tables = read_found([path], Asked(**sheet.asked), {}, file.fleet())
    texts = refused_tables(report.accounts, tables.own, tables.sheets)
    for text in texts.values():
        refused = path.with_name("refused.csv")
        refused.write_bytes(text.encode("utf-8-sig"))
        sheet.mend(refused)
        rest = bring(file, refused, **{**sheet.asked, "encoding": ""})
        counted.acknowledged += sum(rest.taken.values())
    held = Counter(map(said, log_of(file)))
    wanted = Counter(sheet.all)
    counted.lost += len(set(wanted) - set(held))
    counted.wrong += (held - wanted).total()


def said(entry: Entry) -> Planted:
    """An entry as the sheet's maker wrote it down."""
    assert isinstance(entry, Reading | Run | Job)
    value = entry.task if isinstance(entry, Job) else entry.reading
    if isinstance(entry, Run):
        value = entry.hours
    return type(entry).__name__, entry.on.isoformat(), entry.engine, str(value)


def plain_row(entry: Planted) -> dict[str, str]:
    """The same entry as a row of our own table."""
    kind, on, engine, value = entry
    event, column = EVENTS[kind]
    text = value if column == "task" else f"{int(value) / 100:.2f}"
    return {"on": on, "event": event, "engine": engine, column: text}


if __name__ == "__main__":
    print(run(True))
