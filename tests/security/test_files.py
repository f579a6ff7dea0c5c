"""Files that are written: where it was said, for whom they are meant, never through links."""

from __future__ import annotations

import os
import stat
import zipfile
from pathlib import Path

import openpyxl
import pytest

from fleetcare.store.files import write_whole
from tests.fuzz.door import heard
from tests.fuzz.scenery import fleet_at

WRITES = {
    "board": ["board", "--html", "out"], "feed": ["feed", "write", "out"],
    "sheet": ["sheet", "Plover", "--html", "out"], "form": ["sheet", "Plover", "--form", "out"],
    "history": ["history", "Plover", "--html", "out"], "labels": ["labels", "--html", "out"],
    "plan": ["plan", "--svg", "out", "--effort", "0"], "workbook": ["export", "out.xlsx"],
    "report": ["import", "bad.csv", "--report", "out"],
}  # fmt: skip
NAMES = ("../up", "../../up", "a/b", "a\\b", "con", "nul.x", ".", "..", "-n", "~", "$HOME", "a:b")


@pytest.fixture
def fleet(place: Path) -> Path:
    """The small fleet."""
    fleet_at(place / "fleet.db")
    (place / "bad.csv").write_text("Date,Engine,Meter reading\nx,y,z\n", encoding="utf-8")
    return place / "fleet.db"


def listing(place: Path) -> list[Path]:
    """Every file and link from three folders up."""
    return sorted(path for path in place.parents[2].rglob("*") if not path.is_dir())


def private(path: Path) -> bool:
    """Whether its owner alone may read it."""
    return stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize("kind", WRITES)
def test_a_link_where_a_file_is_to_be_is_replaced_and_never_followed(
    fleet: Path, kind: str
) -> None:
    victim, words = Path("victim"), WRITES[kind]
    target = Path("out.xlsx" if "out.xlsx" in words else "out")
    victim.write_text("mine", encoding="utf-8")
    target.symlink_to(victim.absolute())
    assert heard(words).code in (0, 1)
    assert victim.read_text(encoding="utf-8") == "mine"
    assert target.is_file()
    assert not target.is_symlink()


def test_a_link_that_appears_while_a_file_is_made_is_not_followed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    victim, target = tmp_path / "victim", tmp_path / "out"
    victim.write_text("mine", encoding="utf-8")
    replace = Path.replace

    def swapped(self: Path, other: Path) -> Path:
        target.unlink(missing_ok=True)
        target.symlink_to(victim)
        return replace(self, other)

    monkeypatch.setattr(Path, "replace", swapped)
    write_whole(target, b"ours")
    assert victim.read_text(encoding="utf-8") == "mine"
    assert target.read_bytes() == b"ours"


def test_a_new_fleet_its_copy_and_a_code_are_their_owners_alone(fleet: Path) -> None:
    os.umask(0)
    assert heard(["new", "--fleet", "n.db"]).code == 0
    assert heard(["backup", "copy.db"]).code == 0
    assert heard(["settings", "feed_address", "https://boats.example/f/"]).code == 0
    added = heard(["feed", "add", "x", "--of", "fleet", "--publish-to", "f", "--qr", "q.svg"])
    assert added.code == 0, added.err
    assert private(Path("n.db"))
    assert private(Path("copy.db"))
    assert private(Path("q.svg"))
    assert private(fleet)
    assert stat.S_IMODE(Path("f").stat().st_mode) & 0o066 == 0  # its names cannot be listed


def test_a_report_of_a_fault_is_its_owners_alone(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> str:
        raise ZeroDivisionError

    os.umask(0)
    monkeypatch.setattr("fleetcare.cli.context.Desk.stamp", broken)
    said = heard(["reading", "Plover", "264"])
    assert said.code == 70
    assert private(Path(said.err.split("The report is in ")[1].split(";")[0]))


@pytest.mark.parametrize("name", NAMES)
def test_no_name_of_an_engine_or_sheet_leads_out_of_the_folder(fleet: Path, name: str) -> None:
    assert heard(["engine", "add", "--no-meter", "--also", f"{name} too", "--", name]).code == 0
    before = listing(fleet.parent)
    heard(["history", "--html", "h.html", "--", name])
    heard(["history", "--export", "alone", "--", name])
    heard(["sheet", "--html", "s.html", "--", name])
    heard(["labels", "--html", "l.html", "--", name])
    heard(["feed", "write", "f.ics", "--of", f"engine {name}"])
    heard(["export", "tables"])
    new = [path for path in listing(fleet.parent) if path not in before]
    assert new
    assert all(fleet.parent in path.parents for path in new)
    assert not [path for path in new if path.name in {"con", "nul.x"}]


@pytest.mark.parametrize("sheet", ["..%2f..%2fup", "../../up", "/tmp/up", "con", ".."])
def test_refused_rows_of_a_sheet_stay_beside_the_report(fleet: Path, sheet: str) -> None:
    """A workbook may call its sheets as no spreadsheet program would."""
    book = openpyxl.Workbook()
    for at in range(2):
        found = book.active if at == 0 else book.create_sheet("Q")
        found.title = f"P{at}"
        found.append(["Date", "Engine", "Meter reading"])
        found.append(["x", "y", "z"])
    book.save("plain.xlsx")
    with zipfile.ZipFile("plain.xlsx") as old, zipfile.ZipFile("odd.xlsx", "w") as new:
        for item in old.infolist():
            new.writestr(item, old.read(item).replace(b'name="P0"', f'name="{sheet}"'.encode()))
    before = listing(fleet.parent)
    said = heard(["import", "odd.xlsx", "--sheet", "all", "--report", "left.csv"])
    assert said.code == 1
    new_files = [path for path in listing(fleet.parent) if path not in before]
    assert len(new_files) == 2, said.err
    assert all(path.parent == fleet.parent for path in new_files)
    assert all(path.name.startswith("left") for path in new_files)


def test_nothing_is_ever_unpacked_to_disk() -> None:
    """Where nothing is unpacked no name in an archive can lead anywhere (zip slip)."""
    package = Path(__file__).parents[2] / "fleetcare"
    texts = [path.read_text(encoding="utf-8") for path in package.rglob("*.py")]
    assert not [text for text in texts for word in ("extractall", ".extract(", "shutil.unpack")
                if word in text]  # fmt: skip


def test_a_rule_set_is_found_by_its_name_and_never_as_a_path(fleet: Path) -> None:
    outside = fleet.parent.parent / "x.toml"
    outside.write_text('[set]\nname = "x"\n', encoding="utf-8")
    for name in ("../x", "../../b/x", str(outside.with_suffix("")), "/etc/passwd"):
        assert heard(["rules", "show", name]).code == 1
        said = heard(["engine", "add", "Teal", "--no-meter", "--rules", name])
        assert said.code == 1, name
