"""What the product installs, held to what can be said of it without a network, and to advisories.

    python -m tests.security.audit extras
    python -m tests.security.audit facts --sbom FILE --site FOLDER... [--answer FILE...]

`.ci/audit` calls both. The first prints the extras that people install to run the product. The
second reads a CycloneDX SBOM, the folders that hold what is installed, and what pip-audit answered
as JSON, and ends with 0 when all held, 1 when something is wrong, and 3 when nothing is wrong but
not everything could be compared with known advisories. pip-audit itself ends with 0 and the words
"No known vulnerabilities found" when it was told of none because it was told nothing.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from importlib.metadata import Distribution, distributions
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LISTED = ROOT / ".ci" / "distributions.txt"
FINE, WRONG, NOT_COMPARED = 0, 1, 3
NOT_RUN = frozenset({"tests", "benchmarks"})  # extras that nobody needs to run the product
MINIMUM = frozenset({">=", ">", "==", "~=", "==="})

# Permissive, or weak copyleft that asks nothing of a program that only imports (SPDX identifiers).
ALLOWED = frozenset({
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "LGPL-2.1-or-later",
    "LGPL-3.0-or-later", "LGPL-3.0-only", "MIT", "MIT-0", "MPL-2.0", "PSF-2.0", "Unlicense",
    "ZPL-2.1", "Zlib",
})  # fmt: skip
# What older metadata says, in the same terms; "BSD" names no clauses, and all of them are allowed.
WORDS = {
    "Apache License, Version 2.0": "Apache-2.0", "ZPL 2.1": "ZPL-2.1", "Public Domain": "Unlicense",
    "OSI Approved :: Apache Software License": "Apache-2.0", "OSI Approved :: ISC License": "ISC",
    "OSI Approved :: BSD License": "BSD-3-Clause", "OSI Approved :: MIT License": "MIT",
    "OSI Approved :: Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "OSI Approved :: Python Software Foundation License": "PSF-2.0",
}  # fmt: skip


def run_extras(project: Mapping[str, Any]) -> list[str]:
    """The extras that add to what the product does."""
    return [name for name in project.get("optional-dependencies", {}) if name not in NOT_RUN]


def without_minimum(project: Mapping[str, Any]) -> list[str]:
    """Faults: requirements of the product, or of an extra to run it, that say no least version."""
    asked = list(project["dependencies"])
    for extra in run_extras(project):
        asked += project["optional-dependencies"][extra]
    return [
        f"pyproject.toml: {text} has no least version"
        for text in asked
        if not any(item.operator in MINIMUM for item in Requirement(text).specifier)
    ]


def licence_of(found: Distribution) -> str:
    """What a distribution says its licence is, as an SPDX expression where it can be told."""
    expression = found.metadata.get("License-Expression")
    if expression:
        return str(expression)
    text = (found.metadata.get("License") or "").strip()
    if text in ALLOWED or text in WORDS:
        return WORDS.get(text, text)
    classified = [
        words.removeprefix("License :: ")
        for words in found.metadata.get_all("Classifier") or ()
        if words.startswith("License :: ")
    ]
    return " AND ".join(WORDS.get(words, words) for words in classified) or text[:60] or "none"


def is_allowed(expression: str) -> bool:
    """Whether an SPDX expression can be met: one side of every OR, both of every AND."""
    words = expression.replace("(", " ( ").replace(")", " ) ").split()
    truth = []
    for word in words:
        if word in ("(", ")"):
            truth.append(word)
        elif word.upper() in ("AND", "OR"):
            truth.append(word.upper())
        else:
            truth.append("1" if word in ALLOWED else "0")
    try:
        value, rest = _either(truth)
    except IndexError:
        return False
    return value and not rest


def _either(words: list[str]) -> tuple[bool, list[str]]:
    value, words = _both(words)
    while words[:1] == ["OR"]:
        other, words = _both(words[1:])
        value = value or other
    return value, words


def _both(words: list[str]) -> tuple[bool, list[str]]:
    value, words = _one(words)
    while words[:1] == ["AND"]:
        other, words = _one(words[1:])
        value = value and other
    return value, words


def _one(words: list[str]) -> tuple[bool, list[str]]:
    if words[0] != "(":
        return words[0] == "1", words[1:]
    value, words = _either(words[1:])
    return value and words[0] == ")", words[1:]


def listed_in(text: str) -> set[str]:
    """The names of the list: one a line, each with its reason; a bare name is an error."""
    names = set()
    for line in text.splitlines():
        name, _, reason = line.partition(" ")
        if name and not name.startswith("#"):
            if not reason.strip():
                raise ValueError(f"{LISTED.name}: {name} has no reason beside it")
            names.add(canonicalize_name(name))
    return names


def wrong_offline(
    project: Mapping[str, Any],
    installed: Iterable[Distribution],
    sbom: Mapping[str, Any],
    listed: set[str],
) -> list[str]:
    """Every fault that no network is needed for, in words."""
    faults = without_minimum(project)
    found = {canonicalize_name(item.name): item for item in installed}
    if canonicalize_name(project["name"]) not in found:
        faults.append(f"{project['name']} itself is not installed")
    for name, item in sorted(found.items()):
        licence = licence_of(item)
        if not is_allowed(licence):
            faults.append(f"{name} {item.version}: licence not in the list: {licence}")
    faults += [
        f"{name}: installed, and not in .ci/distributions.txt: is it wanted, and who brings it?"
        for name in sorted(found.keys() - listed)
    ]
    packed = _components(sbom)
    own = canonicalize_name(project["name"])
    versions = {name: item.version for name, item in found.items()}
    for name in sorted(packed.keys() | versions.keys()):
        if name == own and name in packed:
            continue  # the SBOM's subject, whose version it need not know
        if packed.get(name) != versions.get(name):
            faults.append(f"{name}: {versions.get(name)} is installed, the SBOM has "
                          f"{packed.get(name)}")  # fmt: skip
    return faults


def _components(sbom: Mapping[str, Any]) -> dict[str, str]:
    subject = sbom.get("metadata", {}).get("component")
    parts = [*([subject] if subject else []), *sbom.get("components", [])]
    return {canonicalize_name(part["name"]): part.get("version", "") for part in parts}


def advisories(answers: Iterable[str]) -> tuple[list[str], set[str]]:
    """Known advisories, in words, and the names that were compared with a database at all."""
    faults, compared = [], set()
    for text in answers:
        try:
            rows = json.loads(text)["dependencies"]
        except (ValueError, KeyError, TypeError):
            continue  # pip-audit broke off: nothing was compared
        for row in rows:
            if "vulns" not in row:
                continue
            name = canonicalize_name(row["name"])
            compared.add(name)
            for known in row["vulns"]:
                mended = ", ".join(known.get("fix_versions", ())) or "no version"
                faults.append(f"{name} {row.get('version')}: {known['id']}, mended in {mended}")
    return sorted(set(faults)), compared


def facts(
    project: Mapping[str, Any],
    installed: Sequence[Distribution],
    sbom: Mapping[str, Any],
    listed: set[str],
    answers: Iterable[str],
) -> tuple[list[str], int]:
    """All that is to be said, a line each, and the exit code."""
    known, compared = advisories(answers)
    faults = [*wrong_offline(project, installed, sbom, listed), *known]
    names = {canonicalize_name(item.name) for item in installed}
    names.discard(canonicalize_name(project["name"]))
    open_ = names - compared
    said = [f"audit: {fault}" for fault in faults]
    said += [
        f"audit: {name} is listed and not installed here" for name in sorted(listed - set(names))
        if name != canonicalize_name(project["name"])
    ]  # fmt: skip
    said.append(
        f"audit: {len(names)} distributions, {len(faults)} wrong; "
        f"{len(names & compared)} compared with known advisories"
    )
    if open_:
        few = ", ".join(sorted(open_)[:3]) + (", …" if len(open_) > 3 else "")
        said.append(
            f"audit: NOT COMPARED with known advisories: {len(open_)} of {len(names)} ({few}); "
            f"the database could not be reached, or does not know them"
        )
    return said, WRONG if faults else NOT_COMPARED if open_ else FINE


def main(words: Sequence[str] | None = None) -> int:
    """The command; its exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.security.audit")
    parser.add_argument("what", choices=["extras", "facts"])
    parser.add_argument("--project", type=Path, default=ROOT / "pyproject.toml")
    parser.add_argument("--listed", type=Path, default=LISTED)
    parser.add_argument("--sbom", type=Path)
    parser.add_argument("--site", action="append", default=[])
    parser.add_argument("--answer", type=Path, action="append", default=[])
    asked = parser.parse_args(words)
    project = tomllib.loads(asked.project.read_text(encoding="utf-8"))["project"]
    if asked.what == "extras":
        print(",".join(run_extras(project)))
        return FINE
    said, code = facts(
        project,
        list(distributions(path=asked.site)),
        json.loads(asked.sbom.read_text(encoding="utf-8")),
        listed_in(asked.listed.read_text(encoding="utf-8")),
        [path.read_text(encoding="utf-8") for path in asked.answer],
    )
    print("\n".join(said), file=sys.stderr if code == WRONG else sys.stdout)
    return code


if __name__ == "__main__":
    sys.exit(main())
