"""The process in which one reader is fuzzed, led by which branches its input reached.

    python -m tests.trials.fuzz_child TARGET [options of libFuzzer] FOLDER...

It ends as soon as an input brings anything but an answer or an error that the package means
(`FleetcareError`); trial_fuzz.py starts it with bounds of memory and of runs. The package is
loaded under instrumentation, so nothing here may import it before.
"""

from __future__ import annotations

import contextlib
import os
import resource
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import atheris

MOST = 2 << 30  # bytes of address space, the fuzzer's own tables among them
TODAY = date(2026, 7, 18)

with atheris.instrument_imports(include=["fleetcare"]):
    from fleetcare.errors import FleetcareError
    from fleetcare.exchange import day_cells, figure_cells
    from fleetcare.exchange.asked import Asked
    from fleetcare.exchange.headings import meaning_of
    from fleetcare.exchange.resolving import _parted
    from fleetcare.exchange.sources import read_found
    from fleetcare.fleet import days, figures, hires, names, settings
    from fleetcare.rules import reading
    from fleetcare.rules.sets import read_set
    from fleetcare.rules.shipped import all_texts, text_of
    from fleetcare.share.bookings import busy_days
    from fleetcare.share.respond import respond, served
    from fleetcare.share.subscribers import hash_of
    from fleetcare.share.tickoff import held
    from fleetcare.store.fleet_file import FleetFile
    from tests.fuzz import declared, scenery
    from tests.fuzz.test_any_file import OWN, READ_BY
    from tests.fuzz.test_command_lines import INPUTS, LARGE, ends_well
    from tests.trials.fuzz_words import HEADS, NAMES_OF_LINES, OF_LINES, TASKS, VALUES

Target = Callable[[bytes], object]
ZONE = ZoneInfo("Europe/Berlin")


@contextlib.contextmanager
def rules() -> Iterator[Target]:
    """A rule file over a shipped one."""
    shipped = all_texts(None)

    def target(data: bytes) -> None:
        text = text_of(data[1:], "in.toml") if data[:1] < b"\x80" else _made_rules(data[1:])
        read_set("in", {**shipped, "in": (text, "in.toml")})

    yield target


KEYS = [
    *reading.TASK_KEYS,
    *reading.ACCESS_KEYS,
    *reading.SET_KEYS,
    "limits.salt",
    "limits.hire",
    "limits.fresh.hours",
    "only.hp",
    "idle.months",
    "after.done",
    "nosuch",
]


def _made_rules(data: bytes) -> str:
    """TOML that can be read, of keys that mean something and of values that may not."""
    from_ = atheris.FuzzedDataProvider(data)
    lines = ["[set]", 'name = "in"', 'title = "In"', 'extends = "small-petrol"']
    used = {"name", "title", "extends", "[set]"}  # what comes twice is no TOML
    while from_.remaining_bytes() and len(lines) < 200:
        if from_.ConsumeIntInRange(0, 4) == 0:
            head = from_.PickValueInList(HEADS)
            if head in used:
                continue
            used = {item for item in used if item.startswith("[")} | {"name"}
            used |= set() if head.startswith("[[") else {head}
            lines += [head, f'name = "{from_.PickValueInList(TASKS)}"']
        key = from_.PickValueInList(KEYS)
        if key.partition(".")[0] not in used:
            used |= {key.partition(".")[0]}
            lines.append(f"{key} = {from_.PickValueInList(VALUES)}")
    return "\n".join(lines)


@contextlib.contextmanager
def tables() -> Iterator[Target]:
    """A CSV file of ours or of others, read as far as rows and figures."""
    fleet_at = Path("fleet.db").absolute()
    scenery.fleet_at(fleet_at)
    with FleetFile(fleet_at) as file:
        fleet = file.fleet()

    def target(data: bytes) -> None:
        path = Path("in.csv")
        path.write_bytes(data)
        read_found([path], Asked(), {}, fleet)

    yield target


@contextlib.contextmanager
def bookings() -> Iterator[Target]:
    """A calendar of others, and a to-do that a server gives back."""
    path = Path("fleet.db").absolute()
    scenery.fleet_at(path)
    with FleetFile(path) as file:
        fleet = file.fleet()

    def target(data: bytes) -> None:
        data = data[1:] if data[:1] < b"\x80" else _made_calendar(data[1:])
        busy_days(data, fleet, date(2026, 7, 1), date(2026, 9, 30), ZONE)
        held(data, ZONE)

    yield target


def _made_calendar(data: bytes) -> bytes:
    """Lines that mean something, in any order, inside an event."""
    from_ = atheris.FuzzedDataProvider(data)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "BEGIN:VEVENT"]
    while from_.remaining_bytes() and len(lines) < 100:
        if from_.ConsumeIntInRange(0, 8) == 0:
            lines += ["END:VEVENT", "BEGIN:VEVENT"]
        lines.append(f"{from_.PickValueInList(NAMES_OF_LINES)}:{from_.PickValueInList(OF_LINES)}")
    return "\r\n".join([*lines, "END:VEVENT", "END:VCALENDAR", ""]).encode()


@contextlib.contextmanager
def words() -> Iterator[Target]:
    """Days, figures, names, settings, headings, cells, and what a calendar program asks with."""
    moment = datetime(2026, 7, 18, tzinfo=UTC)
    feeds = {hash_of("a" * 43): served(b"BEGIN:VCALENDAR\r\n" * 99, moment)}
    rules = [day_cells.DayRules(order, serials=serials) for order in ("", "dmy", "mdy")
             for serials in ("", "1900", "1904")]  # fmt: skip

    def target(data: bytes) -> None:
        text = data.decode("utf-8", "surrogateescape")  # as a command line comes
        days.day(text, "on", TODAY)
        for decimals in (0, 2, 4):
            figures.number(text, "x", decimals)
        figures.hours(text, "x")
        figures.count(text, "x")
        hires.hired(text, "x")
        for rule in rules:
            day_cells.day_of(text, "x", rule)
        for decimal in ("", ",", "."):
            figure_cells.hours(text, "x", decimal)
            figure_cells.minutes(text, "x", decimal)
            figure_cells.litres(text, "x", "US gallons", decimal)
        figure_cells.count(text, "x")
        names.natural(names.tidy(text))
        names.wrong_with_text(names.folded(text), is_note=True)
        for name, _ in settings.as_pairs(settings.Settings()):
            settings.changed(settings.Settings(), name, text)
        meaning_of(text, {})
        _parted(text)
        head = {"if-none-match": text, "if-modified-since": text, "accept-encoding": text}
        respond(feeds, "GET", text, head, moment)
        respond(feeds, "GET", f"/{'a' * 43}.ics", head, moment)

    yield target


@contextlib.contextmanager
def lines() -> Iterator[Target]:
    """Whole command lines: a command, its options and what stands in them, all out of the input."""
    base = Path("base.db").absolute()
    scenery.fleet_at(base)
    root = Path("scenery").absolute()
    place = scenery.scenery(root, base)
    commands = list(declared.COMMANDS)
    spoken = [*declared.NAMES, *declared.FIGURES, *declared.DAYS, *declared.PATHS, *declared.NASTY]

    def target(data: bytes) -> None:
        from_ = atheris.FuzzedDataProvider(data)
        path, command = from_.PickValueInList(commands)
        line = list(path)
        for param in command.params:
            if from_.ConsumeIntInRange(0, 2) == 0:
                continue
            if param.param_type_name == "option":
                name = from_.PickValueInList(list(param.opts))
                if name in declared.NEVER:
                    continue
                line.append(name)
                if getattr(param, "is_flag", False):
                    continue
            choices = getattr(param.type, "choices", None)
            if choices and from_.ConsumeBool():
                line.append(str(from_.PickValueInList(list(choices))))
            elif from_.ConsumeIntInRange(0, 3):
                line.append(from_.PickValueInList(spoken))
            else:
                text = from_.ConsumeUnicode(12)
                line.append(text.replace("/", "").replace("~", ""))
        fleet = place / "fleet.db"
        if not fleet.is_file() or fleet.stat().st_size > LARGE:
            os.chdir(base.parent)
            scenery.scenery(root, base)
            os.chdir(place)
        ends_well(line, from_.PickValueInList(list(INPUTS)), fleet)

    from freezegun import freeze_time

    with scenery.typing_in(place), freeze_time(f"{TODAY} 08:00:00"):
        yield target


@contextlib.contextmanager
def planted() -> Iterator[Target]:
    """A reader with a fault behind branches of its own, which a blind search would not find."""

    def target(data: bytes) -> None:
        for at, wanted in enumerate(b"oar"):
            if data[at : at + 1] != bytes([wanted]):
                return
        raise ZeroDivisionError

    yield atheris.instrument_func(target)


TARGETS = {"rules": rules, "tables": tables, "bookings": bookings, "words": words, "lines": lines,
           "planted": planted}  # fmt: skip


def seeds(name: str) -> list[bytes]:
    """What the search begins from: something whole of each kind."""
    if name == "rules":
        more = [path.read_bytes() for path in sorted(Path(SHIPPED).glob("*.toml"))]
        made = [b"\xff" + bytes(range(at, at + 60)) for at in range(0, 190, 6)]
        return [b"\0" + scenery.RULES.encode(), *(b"\0" + text for text in more), *made]
    if name == "tables":
        return [
            scenery.TABLE.encode(),
            OWN.encode(),
            READ_BY["a.csv"][0].encode("utf-16"),
            b"Hours 2026;;;\n\nDatum;Motor;Z\xe4hlerstand;Bemerkung\n5.7.26;Plover;269,5;\n",
        ]
    if name == "bookings":
        made = [b"\xff" + bytes(range(at, at + 60)) for at in range(0, 190, 6)]
        return [b"\0" + scenery.CALENDAR.encode(), b"\0" + TODO.encode(), *made]
    if name == "words":
        return [
            text.encode("utf-8", "replace")[:200]
            for text in (*declared.DAYS, *declared.FIGURES, *declared.NAMES)
        ]
    return [bytes(range(at, at + 40)) for at in range(0, 200, 10)]


SHIPPED = Path(__file__).parents[2] / "intervals"
TODO = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VTODO\r\nUID:1\r\nSUMMARY:Plover: impeller\r\n"
    "STATUS:COMPLETED\r\nCOMPLETED:20260717T101500Z\r\nLAST-MODIFIED:20260717T101500Z\r\n"
    'X-DONE;CN="jetty":x\r\nEND:VTODO\r\nEND:VCALENDAR\r\n'
)


def main() -> None:
    """Fuzz one reader in the folder it is started in."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    name, tempfile.tempdir = sys.argv.pop(1), str(Path.cwd())
    Path("seeds").mkdir()
    for at, seed in enumerate(seeds(name)):
        Path("seeds", str(at)).write_bytes(seed)
    folder = str(Path("seeds").absolute())
    with TARGETS[name]() as target:

        def one(data: bytes) -> None:
            with contextlib.suppress(FleetcareError):
                target(data)

        atheris.Setup([*sys.argv, folder], one)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
