"""No module of the package does what turns a stranger's text into something that acts.

Found in the parsed sources, so that a new use fails until it is listed with a reason, and what is
listed fails when it is gone. Each check is shown an example of what it must find.
"""

from __future__ import annotations

import ast
import sqlite3
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.fuzz.door import heard
from tests.fuzz.scenery import fleet_at

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "fleetcare"

RUNS_TEXT = {"eval", "exec", "compile", "__import__"}
RUNS_PROGRAMS = {"system", "popen", "startfile", "posix_spawn", "posix_spawnp", "fork", "forkpty",
                 "execl", "execle", "execlp", "execv", "execve", "execvp", "execvpe", "spawnl",
                 "spawnle", "spawnlp", "spawnv", "spawnve", "spawnvp"}  # fmt: skip
LOADS_OBJECTS = {"pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "yaml",
                 "jsonpickle", "ctypes", "cffi", "subprocess", "pty", "multiprocessing", "code",
                 "runpy", "imp"}  # fmt: skip
PARSES_XML = {"xml", "lxml", "xmlrpc", "html5lib", "bs4"}
SPEAKS = {"socket", "ssl", "http", "urllib", "urllib3", "ftplib", "smtplib", "imaplib", "poplib",
          "telnetlib", "asyncio", "socketserver", "xmlrpc", "webbrowser", "requests", "niquests",
          "httpx", "aiohttp", "caldav", "waitress", "selectors", "wsgiref"}  # fmt: skip
SPEAKS_NOT = {"urllib.parse"}  # cuts addresses up and opens none
ASKS = {"execute", "executemany", "executescript", "query"}


def _called(node: ast.AST) -> tuple[str, str]:
    """Of a call, the last name and what stands before it."""
    if not isinstance(node, ast.Call):
        return "", ""
    if isinstance(node.func, ast.Attribute):
        return node.func.attr, ast.unparse(node.func.value)
    return (node.func.id, "") if isinstance(node.func, ast.Name) else ("", "")


def _imported(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
        yield node.module
        yield from (f"{node.module}.{alias.name}" for alias in node.names)


def _imports_of(names: set[str], but: frozenset[str] = frozenset()) -> Callable[[ast.AST], bool]:
    def found(node: ast.AST) -> bool:
        modules = [name for name in _imported(node) if name.split(".")[0] in names]
        return bool(modules) and not all(
            any(name == fine or name.startswith(f"{fine}.") for fine in but) for name in modules
        )

    return found


def runs_text(node: ast.AST) -> bool:
    """Python out of a text; a module by a name that is made as it runs."""
    name, before = _called(node)
    return (name in RUNS_TEXT and before in ("", "builtins")) or name == "import_module"


def runs_programs(node: ast.AST) -> bool:
    """Another program, by whichever of the system's ways, or through a shell."""
    name, before = _called(node)
    shell = isinstance(node, ast.keyword) and node.arg == "shell"
    named = isinstance(node, ast.ImportFrom) and node.module == "os" and any(
        alias.name in RUNS_PROGRAMS for alias in node.names
    )  # fmt: skip
    return shell or named or (name in RUNS_PROGRAMS and before in ("os", "posix"))


def takes_a_name_first(node: ast.AST) -> bool:
    """A temporary file by a name that somebody else may take before it is made."""
    return _called(node)[0] in ("mktemp", "tempnam", "tmpnam") or any(
        name == "tempfile.mktemp" for name in _imported(node)
    )


def asks_what_is_made_up(node: ast.AST) -> bool:
    """SQL that is no fixed text: neither a literal nor a name in capitals, fixed at import."""
    name, _ = _called(node)
    if name not in ASKS or not isinstance(node, ast.Call) or not node.args:
        return False
    first = node.args[0]
    if isinstance(first, ast.Attribute):
        return not first.attr.isupper()
    if isinstance(first, ast.Name):
        return not first.id.isupper()
    return not isinstance(first, ast.Constant)


def draws_what_can_be_guessed(node: ast.AST) -> bool:
    """Numbers that follow from a seed, or weak digests: neither makes or guards an address."""
    if isinstance(node, ast.Attribute):
        return node.attr in ("md5", "sha1") or ast.unparse(node).endswith("np.random")
    return _imports_of({"random"})(node) or any(
        name in ("hashlib.md5", "hashlib.sha1", "numpy.random") for name in _imported(node)
    )


def writes_pages_raw(node: ast.AST) -> bool:
    """A template's environment that does not escape all, or a text declared to be mark-up."""
    name, _ = _called(node)
    if name == "Environment" and isinstance(node, ast.Call):
        given = {item.arg: ast.unparse(item.value) for item in node.keywords}
        return given.get("autoescape") != "True"
    return name in ("Template", "Markup", "SandboxedEnvironment", "NativeEnvironment")


def trusts_any_server(node: ast.AST) -> bool:
    """Certificates that are not looked at."""
    if isinstance(node, ast.keyword):
        return node.arg in ("verify", "ssl_verify_cert", "check_hostname", "cert_reqs")
    name = node.attr if isinstance(node, ast.Attribute) else ""
    return name in ("CERT_NONE", "check_hostname", "_create_unverified_context")


def listens_to_all(node: ast.AST) -> bool:
    """An address that takes calls from everywhere."""
    return isinstance(node, ast.Constant) and node.value in ("0.0.0.0", "::", "[::]")


def opens_to_all(node: ast.AST) -> bool:
    """A file mode by which anybody may write, or code of others loaded into the database."""
    name, _ = _called(node)
    if name in ("chmod", "umask", "mkdir", "open", "fchmod") and isinstance(node, ast.Call):
        values = [arg.value for arg in ast.walk(node) if isinstance(arg, ast.Constant)]
        modes = [value for value in values if type(value) is int]
        return any(mode & 0o002 for mode in modes) if name != "umask" else 0 in modes
    return name in ("enable_load_extension", "load_extension")


CHECKS: dict[str, Callable[[ast.AST], bool]] = {
    "runs text": runs_text,
    "runs programs": runs_programs,
    "loads objects": _imports_of(LOADS_OBJECTS),
    "takes a name first": takes_a_name_first,
    "parses xml": _imports_of(PARSES_XML),
    "speaks": _imports_of(SPEAKS, frozenset(SPEAKS_NOT)),
    "asks what is made up": asks_what_is_made_up,
    "can be guessed": draws_what_can_be_guessed,
    "raw pages": writes_pages_raw,
    "trusts any server": trusts_any_server,
    "listens to all": listens_to_all,
    "opens to all": opens_to_all,
}

FIXED = "of fixed texts; what varies is bound"
OURS = "names of our own tables and columns"
QUOTED = "names out of the file's own list of parts, quoted"
NUMBER = "a number"
REVIEWED: dict[str, dict[tuple[str, str], str]] = {
    "runs text": {
        ("cli/commands.py", "import_module(f'fleetcare.cli.{module}')"): "one of a fixed table",
    },
    "parses xml": {
        ("exchange/packed.py", "from xml.parsers import expat"): "refuses every document type",
        ("share/caldav_server.py", "from xml.sax.saxutils import escape"): "parses nothing",
        ("share/caldav_server.py", "from lxml.etree import LxmlError"): "an error, to tell it",
    },
    "speaks": {
        ("share/caldav_server.py", text): "feed push, feed collect, bookings from a server"
        for text in (
            "from caldav import DAVClient",
            "from caldav.lib import error",
            "from caldav.lib.error import AuthorizationError, RateLimitError",
            "from caldav.lib.error import DAVError",
            "from caldav.lib.http_sync import CaseInsensitiveDict, requests",
            "from caldav.lib.http_sync import requests",
        )
    }
    | {
        ("share/serve.py", text): "feed serve"
        for text in ("import socket", "from http import HTTPStatus", "import waitress")
    },
    "asks what is made up": {
        ("store/fetch.py", "connection.execute(statement + end, values)"): FIXED,
        ("store/fetch.py", "connection.execute(statement, values)"): FIXED,
        ("store/file.py", "connection.execute(f'pragma busy_timeout = {wait:d}')"): NUMBER,
        ("store/file.py", "connection.execute(f'pragma user_version = {VERSION:d}')"): NUMBER,
        (
            "store/file.py",
            "connection.execute(f'pragma application_id = {APPLICATION_ID:d}')",
        ): NUMBER,
        ("store/file.py", "connection.execute(f'pragma {setting}')"): FIXED,
        ("store/file.py", "connection.execute('COMMIT' if keep else 'ROLLBACK')"): FIXED,
        ("store/fits.py", "connection.execute(statement, values)"): FIXED,
        ("store/fleet_file.py", "self.connection.execute(last)"): FIXED,
        (
            "store/kept_looks.py",
            "connection.execute(f'select name, {first}, also from {kind}')",
        ): OURS,
        (
            "store/looks.py",
            "connection.execute(f'select {columns} from {kind} order by id')",
        ): OURS,
        ("store/mending.py", "connection.execute(f'drop {kind} {quoted(name)}')"): QUOTED,
        (
            "store/mending.py",
            "connection.execute(GUARDS.get(name, wanted[kind, name]))",
        ): "texts of our own new file",
        ("store/restore.py", "connection.execute(f'select * from {table}')"): OURS,
        ("store/schema.py", "db.conn.execute(statement)"): FIXED,
        (
            "store/seal.py",
            "connection.execute(f'select * from log where id > ?{end} order by id', (after,))",
        ): NUMBER,
        ("store/seal.py", "connection.execute(f'select * from {text}')"): OURS,
        (
            "store/watch.py",
            "connection.execute(f'select {what} from {quoted(name)} {but}')",
        ): QUOTED,
    },
    "raw pages": {
        ("show/board.py", text): "our own style and script, and rows out of board_ink"
        for text in ("Markup(style)", "Markup(script)", "Markup(part)")
    },
    "opens to all": {
        (
            "store/files.py",
            "os.open(made, flags, 438 if mode is None else 384)",
        ): "less the user's umask, for what is meant to be shown",
        ("store/restore.py", "new.chmod(info.st_mode & 511)"): "as the file that it replaces",
    },
}


@cache
def nodes_of(source: str) -> list[ast.AST]:
    """Every node of a source."""
    return list(ast.walk(ast.parse(source)))


def offences(source: str, check: str) -> list[str]:
    """What a check finds in a source, as it stands there."""
    found = (node for node in nodes_of(source) if CHECKS[check](node))
    return [ast.unparse(node) for node in found]


@pytest.mark.parametrize("check", CHECKS)
def test_no_module_does_what_is_not_listed_with_its_reason(check: str) -> None:
    found = {
        (str(path.relative_to(PACKAGE)), text)
        for path in sorted(PACKAGE.rglob("*.py"))
        for text in offences(path.read_text("utf-8"), check)
    }
    assert found == set(REVIEWED.get(check, {}))


PLANTED = {
    "runs text": ["eval(x)", "exec(x)", "compile(x, 'a', 'exec')", "__import__(x)",
                  "builtins.eval(x)", "importlib.import_module(x)"],
    "runs programs": ["os.system(x)", "os.popen(x)", "f(x, shell=True)", "os.execv(x, [x])",
                      "from os import system", "os.spawnl(0, x)"],
    "loads objects": ["import pickle", "from pickle import loads", "import marshal", "import yaml",
                      "from yaml import load", "import subprocess", "import shelve",
                      "import ctypes.util"],
    "takes a name first": ["tempfile.mktemp()", "from tempfile import mktemp", "os.tempnam()"],
    "parses xml": ["import xml.etree.ElementTree", "from xml.dom import minidom",
                   "from lxml import etree", "from xml.sax import parse"],
    "speaks": ["import socket", "from urllib.request import urlopen", "import http.client",
               "from urllib import request, parse", "import smtplib", "import asyncio"],
    "asks what is made up": [
        "c.execute(f'select {x}')", "c.execute('select ' + x)", "c.execute('select %s' % x)",
        "c.execute('select {}'.format(x))", "c.executescript(x)", "c.execute(statement, (1,))",
        "c.executemany(self.text, rows)",
    ],
    "can be guessed": ["import random", "from random import choice", "hashlib.md5(x)",
                       "from hashlib import sha1", "np.random.default_rng()"],
    "raw pages": ["Environment()", "jinja2.Environment(autoescape=False)", "Template(x)",
                  "Environment(autoescape=choose)", "markupsafe.Markup(x)"],
    "trusts any server": ["f(x, verify=False)", "f(ssl_verify_cert=False)", "ssl.CERT_NONE",
                          "c.check_hostname = False", "ssl._create_unverified_context()"],
    "listens to all": ["serve(host='0.0.0.0')", "s.bind(('::', 1))"],
    "opens to all": ["os.chmod(x, 0o666)", "os.umask(0)", "os.open(x, flags, 0o777)",
                     "path.mkdir(mode=0o777)", "c.enable_load_extension(True)"],
}  # fmt: skip
HARMLESS = {
    "runs text": ["re.compile(x)", "self.exec(x)", "c.execute(x)"],
    "runs programs": ["os.open(x)", "pool.system(x)"],
    "loads objects": ["import json", "from fleetcare.code import x", "import codecs"],
    "takes a name first": ["tempfile.mkstemp()", "tempfile.mkdtemp()"],
    "parses xml": ["import html", "from fleetcare.xml import x"],
    "speaks": ["from urllib.parse import urlsplit", "import urllib.parse", "import secrets"],
    "asks what is made up": ["c.execute('select 1')", "c.execute(_ROWS, (x,))",
                             "c.execute(schema.KEPT)"],
    "can be guessed": ["import secrets", "hashlib.sha256(x)", "self.random"],
    "raw pages": ["Environment(autoescape=True, loader=x)", "escape(x)"],
    "trusts any server": ["f(timeout=1)", "ssl.create_default_context()"],
    "listens to all": ["serve(host='127.0.0.1')"],
    "opens to all": ["os.chmod(x, 0o600)", "os.umask(0o077)", "path.mkdir(mode=0o700)",
                     "os.open(x, flags, 0o600)", "path.open('w', encoding='utf-8')"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("check", "source"), [(check, one) for check, many in PLANTED.items() for one in many]
)
def test_what_is_planted_is_found(check: str, source: str) -> None:
    assert offences(source, check)


@pytest.mark.parametrize(
    ("check", "source"), [(check, one) for check, many in HARMLESS.items() for one in many]
)
def test_what_does_no_harm_is_not(check: str, source: str) -> None:
    assert offences(source, check) == []


def test_every_check_has_its_planted_examples() -> None:
    assert set(PLANTED) == set(HARMLESS) == set(CHECKS)


@pytest.mark.parametrize("name", ['a"b', "a'b", "a b; drop table log", 'x" ; drop table "log', ""])
def test_a_part_of_any_name_is_taken_out_and_only_it(place: Path, name: str) -> None:
    """A file of somebody else's may hold triggers and tables of any name."""
    path = place / "fleet.db"
    fleet_at(path)
    log = heard(["log", "--all"]).out
    for other in ("", "2"):
        text = (name + other).replace('"', '""')
        with sqlite3.connect(path) as file:
            file.execute(f'create trigger "{text}t" after insert on log begin select 1; end')
            file.execute(f'create table "{text}u" (x)')
        file.close()
    assert heard(["check"]).code == 4
    assert heard(["check", "--mend"]).code == 0
    with sqlite3.connect(path) as file:
        left = file.execute("select name from sqlite_master where type = 'trigger'").fetchall()
    file.close()
    assert not [row for row in left if row[0] in (f"{name}t", f"{name}2t")]
    assert heard(["log", "--all"]).out == log


def test_a_table_of_any_name_stops_no_server(place: Path) -> None:
    from fleetcare.store.watch import Watch

    fleet_at(place / "fleet.db")
    with sqlite3.connect(place / "fleet.db") as file:
        file.execute('create table "a""b" (x)')
    file.close()
    watch = Watch(place / "fleet.db")
    try:
        assert watch.mark()
    finally:
        watch.close()
