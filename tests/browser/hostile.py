"""A small fleet in which every field that takes a text holds what a page could trip over."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from tests.cli.typed import fleetcare

TAG = "<script>window.hacked=1</script>"
QUOTES = '"><img src=x onerror="window.hacked=1">'
HANDLER = "' onmouseover='window.hacked=1' x=\""
CLOSING = "</bdi></article></style></svg>&amp<!--]]>"
RIGHT_TO_LEFT = "מנוע שלוש (7) עם שם ארוך"
LONG = "W" * 80
WIDE = "かわうそ丸" * 12
BRACES = "{0} {day} {{ 7 * 7 }} {% x %} %s"
ENGINES = (TAG, QUOTES, HANDLER, CLOSING, RIGHT_TO_LEFT, LONG, WIDE, BRACES)
AS_OF = date(2024, 7, 18)  # long past, so that any clock lets its entries be written
SINCE = ("--since", "2024-04-01")


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _rules() -> str:
    """Tasks by these names, with limits that time has long used up, leading to the worst."""
    out = ['[set]\nname = "wild"\ntitle = "Wild"\nextends = "small-petrol"\n']
    for number, name in enumerate(ENGINES):
        harm = "overheating" if number % 2 else "seized swivel"
        chain = f"{name}; {LONG}{LONG}; {QUOTES}"
        out.append(
            f"[[task]]\nname = {_quoted(name)}\ntitle = {_quoted(name + ' ' + CLOSING)}\n"
            f'component = "gearcase"\nlimits = {{ months = {1 if number < 6 else 30} }}\n'
            f'leads_to = ["{harm}", {_quoted(name)}]\nchain = {_quoted(chain)}\n'
            'source = "invented"\n'
        )
    return "\n".join(out)


def hostile(path: Path) -> None:
    """Make the fleet file."""
    own = path.parent / "intervals"
    own.mkdir()
    (own / "wild.toml").write_text(_rules(), encoding="utf-8")
    at = ("--fleet", path)
    fleetcare("new", *at, "--hemisphere", "northern", "--rules", "wild")
    fleetcare("settings", *at, "calendar_name", f"{CLOSING}{TAG}{LONG}")
    for number, name in enumerate(ENGINES):
        other = ENGINES[-1 - number]
        boat = f"{number} {name}"[:80]
        fleetcare(
            "boat", "add", *at, boat, "--use", "hire", "--water", "salt", *SINCE,
            "--place", ENGINES[(number + 3) % len(ENGINES)],
        )  # fmt: skip
        fleetcare(
            "engine", "add", *at, name, "--boat", boat, "--hp", "6", "--stroke", "4", *SINCE,
            "--family", other, "--reading", 100 * number, "--also", f"{number}{other}"[:80],
        )  # fmt: skip
        _happens(at, name, number)


def _happens(at: tuple[object, ...], name: str, number: int) -> None:
    """Readings, findings, incidents and put-offs, by roles and with notes of the same kind."""
    by = ("--by", QUOTES, "--note", TAG)
    if number != 5:  # one stays without record
        fleetcare("done", *at, name, name, "--on", f"2024-04-0{number + 2}", *by)
    fleetcare("reading", *at, name, 100 * number + 40, "--on", "2024-06-30", *by)
    if number % 3 == 0:
        fleetcare("found", *at, name, "tell-tale", "weak", "--on", "2024-07-05", *by)
    if number % 3 == 1:
        fleetcare("incident", *at, name, "overheated", "--on", "2024-07-06", *by)
    fleetcare(
        "put-off", *at, name, name, "--until", "2024-08-01", "--on", "2024-07-10",
        "--because", f"{TAG}{QUOTES}{RIGHT_TO_LEFT}{LONG}",
    )  # fmt: skip
