"""What the audit of dependencies must catch, each planted once, and what it must not claim."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.security import audit

PROJECT = """[project]
name = "boatyard"
dependencies = ["oar>=2", "sail>=1.5,<3"]
[project.optional-dependencies]
deck = ["plank~=1.0"]
tests = ["whistle"]
"""
GOOD = {"boatyard": "MIT", "oar": "MIT", "sail": "Apache-2.0 OR GPL-3.0-only", "plank": "ISC"}
KNOWN = {"id": "PYSEC-0000-1", "fix_versions": ["1.1"], "aliases": [], "description": "invented"}


class Yard:
    """A project, what is installed of it, its SBOM, its list, and what pip-audit answered."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self.project = PROJECT
        self.licences = dict(GOOD)
        self.components = [name for name in GOOD if name != "boatyard"]
        self.listed = "".join(f"{name}  reason\n" for name in GOOD)
        self.answers = [self.answer()]

    def answer(self, **known: list[dict[str, Any]]) -> str:
        """As pip-audit writes it when it could compare everything but the product itself."""
        rows: list[dict[str, Any]] = [{"name": "boatyard", "skip_reason": "not found"}]
        rows += [
            {"name": name, "version": "1.0", "vulns": known.get(name, [])}
            for name in GOOD
            if name != "boatyard"
        ]
        return json.dumps({"dependencies": rows, "fixes": []})

    def judged(self, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
        """The exit code and all that was said."""
        site = self.place / "site"
        shutil.rmtree(site, ignore_errors=True)
        for name, licence in self.licences.items():
            info = site / f"{name}-1.0.dist-info"
            info.mkdir(parents=True)
            (info / "METADATA").write_text(f"Name: {name}\nVersion: 1.0\n{said_as(licence)}\n")
        (self.place / "pyproject.toml").write_text(self.project)
        (self.place / "list").write_text(self.listed)
        parts = [{"name": name, "version": "1.0"} for name in self.components]
        sbom = {"metadata": {"component": {"name": "boatyard"}}, "components": parts}
        (self.place / "sbom").write_text(json.dumps(sbom))
        words = []
        for at, answer in enumerate(self.answers):
            (self.place / f"answer{at}").write_text(answer)
            words += ["--answer", str(self.place / f"answer{at}")]
        code = audit.main(
            ["facts", "--project", str(self.place / "pyproject.toml"), "--listed",
             str(self.place / "list"), "--sbom", str(self.place / "sbom"), "--site", str(site),
             *words]
        )  # fmt: skip
        return code, "".join(capsys.readouterr())


def said_as(licence: str) -> str:
    """A licence as metadata gives it: an expression, or an older heading as it stands."""
    return licence if ": " in licence or not licence else f"License-Expression: {licence}"


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    """One in which all is well."""
    return Yard(tmp_path)


def test_where_all_is_well_and_was_compared_nothing_is_said_to_be_wrong(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    assert yard.judged(capsys) == (
        0,
        "audit: 3 distributions, 0 wrong; 3 compared with known advisories\n",
    )


@pytest.mark.parametrize("text", ["oar", "oar<3", "oar!=2", "oar[fast]"])
def test_a_requirement_without_a_least_version_is_caught(
    yard: Yard, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.project = PROJECT.replace("oar>=2", text)
    code, said = yard.judged(capsys)
    assert (code, f"{text} has no least version" in said) == (1, True)


def test_so_is_one_of_an_extra_but_not_of_the_tests(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.project = PROJECT.replace("plank~=1.0", "plank")
    code, said = yard.judged(capsys)
    assert (code, said.count("has no least version")) == (1, 1)


@pytest.mark.parametrize("licence", [
    "GPL-3.0-only", "MIT AND GPL-3.0-only", "MIT AND (AGPL-3.0-only OR SSPL-1.0)", "Proprietary",
    "", "License: see the file", "Classifier: License :: Other/Proprietary License", "MIT AND",
    "(MIT", "Classifier: License :: OSI Approved :: MIT License\n"
    "Classifier: License :: OSI Approved :: GNU General Public License v3 (GPLv3)",
])  # fmt: skip
def test_a_strange_licence_is_caught(
    yard: Yard, licence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.licences["oar"] = licence
    code, said = yard.judged(capsys)
    assert (code, "oar 1.0: licence not in the list" in said) == (1, True)


@pytest.mark.parametrize("licence", [
    "GPL-3.0-only OR MIT", "(GPL-3.0-only OR MIT) AND ISC", "License: MIT", "License: ZPL 2.1",
    "Classifier: License :: OSI Approved :: BSD License", "GPL-3.0-only OR MIT AND ISC",
])  # fmt: skip
def test_one_that_gives_a_choice_or_is_said_in_older_words_is_not(
    yard: Yard, licence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.licences["oar"] = licence
    assert yard.judged(capsys)[0] == 0


def test_a_distribution_that_nobody_listed_is_caught(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.licences["stowaway"] = "MIT"
    yard.components.append("stowaway")
    code, said = yard.judged(capsys)
    assert (code, "stowaway: installed, and not in" in said) == (1, True)


def test_a_name_on_the_list_has_a_reason() -> None:
    with pytest.raises(ValueError, match="oar has no reason"):
        audit.listed_in("# a list\n\nsail  reason\noar\n")


def test_one_that_is_listed_and_no_longer_comes_is_told_and_no_fault(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.listed += "keel  sail\n"
    code, said = yard.judged(capsys)
    assert (code, "keel is listed and not installed here" in said) == (0, True)


@pytest.mark.parametrize(
    ("components", "fault"),
    [
        (["oar", "sail"], "plank: 1.0 is installed, the SBOM has None"),
        (["oar", "sail", "plank", "ghost"], "ghost: None is installed, the SBOM has 1.0"),
    ],
)
def test_an_sbom_that_lacks_a_part_or_has_one_too_many_is_caught(
    yard: Yard, components: list[str], fault: str, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.components = components
    code, said = yard.judged(capsys)
    assert (code, fault in said) == (1, True)


def test_a_product_that_is_not_installed_is_caught(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    del yard.licences["boatyard"]
    code, said = yard.judged(capsys)
    assert (code, "boatyard itself is not installed" in said) == (1, True)


def test_a_known_advisory_is_caught_whichever_database_knew_it(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    for answers in (
        [yard.answer(oar=[KNOWN])],
        ["", yard.answer(oar=[KNOWN])],
        [yard.answer(), yard.answer(oar=[KNOWN])],
    ):
        yard.answers = answers
        code, said = yard.judged(capsys)
        assert (code, said.count("oar 1.0: PYSEC-0000-1, mended in 1.1")) == (1, 1)


SKIPPED = json.dumps({
    "dependencies": [{"name": name, "skip_reason": "Dependency not found"} for name in GOOD]
})  # fmt: skip


@pytest.mark.parametrize(
    "answers", [[SKIPPED], [""], [], ["{}"], ["[]"], ["null"], ["", SKIPPED], ["Traceback (…"]]
)
def test_a_database_that_was_not_reached_is_never_told_as_nothing_known(
    yard: Yard, answers: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """pip-audit 2.10 skips all of them then, and ends with 0 and "No known vulnerabilities"."""
    yard.answers = answers
    code, said = yard.judged(capsys)
    assert code == 3
    assert "NOT COMPARED with known advisories: 3 of 3" in said
    assert "no known" not in said.lower()


def test_one_that_was_left_out_of_the_answer_is_told(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.licences["keel"] = "MIT"
    yard.components.append("keel")
    yard.listed += "keel  sail\n"
    code, said = yard.judged(capsys)
    assert (code, "NOT COMPARED with known advisories: 1 of 4 (keel)" in said) == (3, True)


def test_a_fault_weighs_more_than_a_database_that_was_not_reached(
    yard: Yard, capsys: pytest.CaptureFixture[str]
) -> None:
    yard.answers, yard.licences["oar"] = [], "GPL-3.0-only"
    assert yard.judged(capsys)[0] == 1


def test_our_own_project_and_list_hold_what_needs_no_environment() -> None:
    import tomllib

    project = tomllib.loads((audit.ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert audit.without_minimum(project) == []
    assert {"plan", "pdf", "serve", "caldav"} <= set(audit.run_extras(project))
    listed = audit.listed_in(audit.LISTED.read_text("utf-8"))
    asked = [*project["dependencies"]]
    for extra in audit.run_extras(project):
        asked += project["optional-dependencies"][extra]
    names = {audit.canonicalize_name(audit.Requirement(text).name) for text in asked}
    assert names - listed == set()


@pytest.mark.parametrize(("code", "goes_on"), [(0, True), (1, False), (2, False), (3, True)])
def test_ci_fails_on_what_is_wrong_and_not_on_a_missing_network(
    tmp_path: Path, code: int, goes_on: bool
) -> None:
    for name, ends in ((".ci/check", 0), (".ci/audit", code), ("tests/run", 0)):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"#!/bin/sh\necho {name}\nexit {ends}\n")
        path.chmod(0o755)
    shutil.copy(audit.ROOT / ".ci" / "run", tmp_path / ".ci" / "run")
    done = subprocess.run(
        [tmp_path / ".ci" / "run"], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert (done.returncode == 0, "tests/run" in done.stdout) == (goes_on, goes_on)
