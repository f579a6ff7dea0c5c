"""Is the file whole: its pages, indexes, tables and guards, and is what it holds as written.

What stands in the rows is looked at by `store/looks.py`, whether the log is plausible by
`log/faults.py`.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator

from fleetcare.errors import Fault, FaultsError, UnusableFileError
from fleetcare.store.seal import fleet_mark, log_mark, read_seal
from fleetcare.store.telling import RESTORE

MEND = "fleetcare check --mend sets that right"
ACCEPT = "If that was you: fleetcare check --accept"
_INDEX = re.compile(
    r"row \d+ missing from index|wrong # of entries in index|non-unique entry in index"
    r"|row not in PRIMARY KEY order for|rowid not at end of record|row \d+ values differ from index"
)
Parts = dict[tuple[str, str], str]


class DamagedError(FaultsError):
    """The file itself is not whole, or not as it was written; all of it is told."""

    exit_code = UnusableFileError.exit_code


def file_faults(connection: sqlite3.Connection) -> list[Fault]:
    """What is wrong with the file itself; what stands in its rows is looked at apart."""
    found = [*damages(connection), *part_faults(connection)]
    return [*found, *seal_faults(connection)] if is_legible(found) else found


def is_legible(found: Iterable[Fault]) -> bool:
    """Whether the rows of a file with these faults can be read at all, and mean anything."""
    return not any(fault.where == "file" and fault.mend == RESTORE for fault in found)


def damages(connection: sqlite3.Connection) -> list[Fault]:
    """What SQLite's own check of pages, records, constraints and indexes finds."""
    verdicts = [str(row[0]) for row in connection.execute("pragma integrity_check").fetchall()]
    return [
        Fault("file", verdict, MEND if _INDEX.search(verdict) else RESTORE)
        for verdict in verdicts
        if verdict != "ok"
    ]


def part_faults(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Tables, indexes, guards and views that are not as this program makes them."""
    wanted, there = expected_parts(), parts(connection)
    for (kind, name), text in sorted(wanted.items()):
        word = "guard" if kind == "trigger" else kind
        if (kind, name) not in there:
            yield Fault("file", f"has lost its {word} {name}", RESTORE if kind == "table" else MEND)
        elif there[kind, name] != text:
            yield Fault(
                "file", f"has another {word} {name} than fleetcare makes",
                RESTORE if kind == "table" else MEND,
            )  # fmt: skip
    for kind, name in sorted(there.keys() - wanted.keys()):
        if kind == "trigger":
            yield Fault("file", f"has a trigger {name} that is not fleetcare's", MEND)
    if connection.execute("pragma journal_mode").fetchone()[0] == "wal":
        yield Fault(
            "file", "keeps what was written last in a file beside it (-wal), since another "
            "program chose so: a copy of the file alone would lack it",
            "Close the other program; the next command sets it right",
        )  # fmt: skip


def parts(connection: sqlite3.Connection) -> Parts:
    """The texts of what a database is made of, by kind and name."""
    rows = connection.execute("select type, name, sql from sqlite_master where sql is not null")
    return {
        (kind, name): _even(sql)
        for kind, name, sql in rows.fetchall()
        if not name.startswith(("sqlite_", "_sqlite_"))
    }


def _even(sql: str) -> str:
    """A text as SQLite keeps it, whoever gave it: the first words in capitals, spaces evened."""
    return " ".join(re.sub(r"(?i)^create (\w+)", lambda match: match[0].upper(), sql).split())


def quoted(name: str) -> str:
    """The name of a part, which may be anybody's, as SQL takes it."""
    return '"' + name.replace('"', '""') + '"'


def expected_parts() -> Parts:
    """What this program's own new file is made of."""
    from sqlite_utils import Database

    from fleetcare.store.schema import migrations

    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        migrations().apply(Database(connection, execute_plugins=False))
        return parts(connection)
    finally:
        connection.close()


def seal_faults(connection: sqlite3.Connection) -> Iterator[Fault]:
    """What is not as fleetcare wrote it: another program changed it, or the disk."""
    seal = read_seal(connection)
    if seal is None:
        return
    if isinstance(seal, str):
        yield Fault("file", f'has a seal that makes no sense ("{seal:.40}")', ACCEPT)
        return
    last = connection.execute("select coalesce(max(id), 0) from log").fetchone()[0]
    if last < seal.last:
        yield Fault("log", f"ends at entry {last}, but entry {seal.last} was written", RESTORE)
    elif log_mark(connection, last=seal.last)[1] != seal.log:
        yield Fault(
            "log", f"is not as it was written: something in entries 1 to {seal.last} was changed "
            f"outside fleetcare, or by the disk", f"{RESTORE}. {ACCEPT}",
        )  # fmt: skip
    if fleet_mark(connection) != seal.fleet:
        yield Fault(
            "file", "a setting, a boat, an engine, a subscriber or the plan is not as fleetcare "
            "wrote it: it was changed outside, or by the disk", f"{RESTORE}. {ACCEPT}",
        )  # fmt: skip
