"""The house stands as DEVELOPERS.md says: rooms, sizes, what starts light, what ships."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
MODULES = sorted((ROOT / "fleetcare").rglob("*.py"))
HEAVY = ("sqlite3", "sqlite_utils", "icalendar", "dateutil", "platformdirs", "tomllib")


def test_the_help_loads_neither_database_nor_calendar_library() -> None:
    code = (
        "import sys; from fleetcare.cli.main import cli\n"
        "try: cli(['--help'])\n"
        "except SystemExit: pass\n"
        "print(','.join(sorted(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    loaded = set(done.stderr.strip().split(","))
    assert not loaded & set(HEAVY)
    assert not {name for name in loaded if name.startswith("fleetcare.") and "cli" not in name} - {
        "fleetcare.errors"
    }


def test_the_help_says_of_each_command_what_the_command_says() -> None:
    from fleetcare.cli.commands import GROUPS
    from fleetcare.cli.main import cli

    for _, rows in GROUPS:
        for name, _, summary in rows:
            assert cli.commands[name].name == name
            assert cli.commands[name].get_short_help_str(limit=66) == summary


def test_no_module_is_over_400_lines_and_no_function_over_60() -> None:
    long = []
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        if len(text.splitlines()) > 400:
            long.append(str(path))
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno >= 60:
                long.append(f"{path}: {node.name}")
    assert long == []


def test_the_core_asks_no_clock() -> None:
    allowed = ROOT / "fleetcare" / "cli" / "context.py"
    asking = [
        str(path)
        for path in MODULES
        if path != allowed
        for word in ("date.today(", "datetime.now(", "time.time(", "utcnow(")
        if word in path.read_text(encoding="utf-8")
    ]
    assert asking == []


def test_developers_names_every_room_and_every_exit_code() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [path.parent.name for path in MODULES if path.name == "__init__.py"]
    assert [room for room in rooms if room != "fleetcare" and f"`{room}`" not in text] == []
    assert [code for code in (0, 1, 2, 3, 4, 5, 6, 70, 130) if f"| {code} |" not in text] == []


def test_every_dependency_has_its_line_in_developers() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = [*project["dependencies"], *project["optional-dependencies"]["tests"]]
    bare = [item.split(">")[0].split("<")[0] for item in named]
    assert [name for name in bare if f"`{name}`" not in text] == []
    assert [item for item in named if ">=" not in item] == []


def test_the_top_level_holds_nothing_else() -> None:
    agreed = {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "fleetcare", "intervals",
        "tests", "examples",
    }  # fmt: skip
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.splitlines()
    if not tracked:
        pytest.skip("not a git checkout")
    tops = {name.split("/")[0] for name in tracked}
    assert {name for name in tops if not name.startswith(".")} <= agreed


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel that `pip install .` would build, with hatchling at hand and no network."""
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)],
        cwd=ROOT, check=True, capture_output=True,
    )  # fmt: skip
    return next(out.glob("*.whl"))


def test_the_wheel_ships_every_rule_file_and_example(wheel: Path) -> None:
    shipped = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        f"fleetcare/_{folder}/{path.relative_to(ROOT / folder)}"
        for folder in ("intervals", "examples")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    }
    assert wanted <= shipped
    assert not {name for name in shipped if name.startswith("tests/")}


def test_an_installed_wheel_finds_its_rule_files(wheel: Path, tmp_path: Path) -> None:
    place = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(place)
    code = (
        f"import sys; sys.path.insert(0, {str(place)!r});"
        "import fleetcare; from fleetcare.rules.shipped import shipped_folder, read_book;"
        "assert fleetcare.__file__.startswith(sys.path[0]), fleetcare.__file__;"
        "print(shipped_folder(), len(read_book(None, {'small-petrol'}).sets))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout.split() == [str(place / "fleetcare" / "_intervals"), "1"]


def test_a_checkout_finds_its_rule_files() -> None:
    from fleetcare.rules.shipped import examples_folder, shipped_folder

    assert shipped_folder() == ROOT / "intervals"
    assert examples_folder() == ROOT / "examples"
