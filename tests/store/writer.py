"""A program that writes to a fleet file without end, until it is killed.

    python -m tests.store.writer FILE ENGINE

Each round is one command of three entries. After its commit it prints their numbers and the
figure read, so that whoever reads the pipe knows what was promised.
"""

from __future__ import annotations

import os
import sys
from datetime import date, timedelta
from pathlib import Path

from fleetcare.log.entries import Job, Reading, Run
from fleetcare.store.append import add_entries
from fleetcare.store.fleet_file import FleetFile
from tests.store.small_file import AT

FIRST = date(2025, 5, 1)


def write_on(path: Path, engine: str) -> None:
    with FleetFile(path) as file:
        # so many that never pause may keep one waiting for long; that is not what is tried here
        file.connection.execute("pragma busy_timeout = 300000")
        figures = file.history().of(engine).figures
        figure = max(figures, default=10000)
        while True:
            figure += 1
            on = FIRST + timedelta(days=1 + (figure - 10000) // 50)
            entries = (
                Run(on=on, engine=engine, hours=1),
                Reading(on=on, engine=engine, reading=figure),
                Job(on=on, engine=engine, task="flush", note=str(figure)),
            )
            with file.writing() as connection:
                numbers = add_entries(connection, entries, AT)
            # one write of a short line reaches a pipe whole or not at all
            os.write(1, f"{numbers[0]} {numbers[1]} {numbers[2]} {figure}\n".encode())


if __name__ == "__main__":
    write_on(Path(sys.argv[1]), sys.argv[2])
