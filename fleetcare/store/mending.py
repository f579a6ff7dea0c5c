"""What of a fleet file can be set right without guessing: everything that is worked out of the log.

Indexes, guards and views are made anew from the tables, which are as they were written or nothing
is done; settings that are none, and what the forecast learned, are taken out.
"""

from __future__ import annotations

import sqlite3

from fleetcare.errors import Fault, UnusableFileError
from fleetcare.fleet.settings import Settings, changed
from fleetcare.store.fetch import FLEET_ID
from fleetcare.store.integrity import (
    MEND,
    damages,
    expected_parts,
    part_faults,
    parts,
    quoted,
    seal_faults,
)
from fleetcare.store.kept_looks import fit_faults
from fleetcare.store.schema import GUARDS
from fleetcare.store.seal import SEAL

ORDER = ("index", "view", "trigger")


def mend(connection: sqlite3.Connection) -> list[str]:
    """Set right what can be, inside a write transaction of the caller's; a line for each thing.

    Raises UnusableFileError when tables are damaged, or the log is not as it was written.
    """
    damaged = damages(connection)
    found = [*damaged, *part_faults(connection)]
    beyond = [fault for fault in found if fault.mend != MEND and "-wal" not in fault.what]
    if found and not beyond:
        # an index is made out of its table, so that has to be as it was written
        beyond = [fault for fault in seal_faults(connection) if damaged or fault.where == "log"]
    if beyond:
        raise UnusableFileError(f"cannot be set right here: {beyond[0]}")
    done = [*_settings(connection)]
    if found:
        done += _parts(connection)
    if damaged:  # of indexes, or it is beyond us
        connection.execute("reindex")
        done.append("made every index anew out of its table")
    if next(fit_faults(connection), None) is not None:
        connection.execute("delete from fit")
        done.append("threw away what the forecast had learned; a list learns it anew")
    return done


def accept(connection: sqlite3.Connection) -> None:
    """Take the file as it is for what was written, inside a write transaction of the caller's."""
    connection.execute("delete from setting where name = ?", (SEAL,))


def _settings(connection: sqlite3.Connection) -> list[str]:
    done = []
    for name, value in connection.execute("select name, value from setting order by name"):
        if name not in (FLEET_ID, SEAL) and isinstance(changed(Settings(), name, value), Fault):
            done.append((name, value))
    connection.executemany("delete from setting where name = ?", [(name,) for name, _ in done])
    return [f'took out the setting "{name}", which was "{value}"' for name, value in done]


def _parts(connection: sqlite3.Connection) -> list[str]:
    wanted, there = expected_parts(), parts(connection)
    done = []
    for kind, name in sorted(there, key=_order):
        if kind in ORDER and wanted.get((kind, name)) != there[kind, name]:
            if kind != "trigger" and (kind, name) not in wanted:
                continue  # an index or a view of somebody's own does no harm
            connection.execute(f"drop {kind} {quoted(name)}")
    for kind, name in sorted(wanted, key=_order):
        if kind in ORDER and wanted[kind, name] != there.get((kind, name)):
            connection.execute(GUARDS.get(name, wanted[kind, name]))
            done.append(f"made the {'guard' if kind == 'trigger' else kind} {name} anew")
    done += [
        f"took out the trigger {name}"
        for kind, name in sorted(there.keys() - wanted.keys())
        if kind == "trigger"
    ]
    return done


def _order(part: tuple[str, str]) -> tuple[int, str]:
    return (ORDER.index(part[0]) if part[0] in ORDER else -1, part[1])
