"""Where the rule files lie, and reading them: the one place of this room that touches the disk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.rules.reading import Faults, parse
from fleetcare.rules.sets import RuleBook, read_set
from fleetcare.rules.words import read_conditions, read_incidents, read_uses

WORD_FILES = ("conditions", "incidents", "uses", "faults", "components", "order")
MOST_BYTES = 2_000_000


def shipped_folder() -> Path:
    """The folder of the shipped rule files: inside the package, else the checkout's."""
    inside = Path(__file__).parent.parent / "_intervals"
    return inside if inside.is_dir() else Path(__file__).parent.parent.parent / "intervals"


def examples_folder() -> Path:
    """The folder of the example fleets: inside the package, else the checkout's."""
    inside = Path(__file__).parent.parent / "_examples"
    return inside if inside.is_dir() else Path(__file__).parent.parent.parent / "examples"


def read_text(path: Path) -> str:
    """A rule file's text; refused in words when it cannot be read."""
    try:
        with path.open("rb") as file:  # no more than is taken, of whatever never ends
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise RefusedError(f"{path}: {error.strerror or 'cannot be read'}") from error
    return text_of(raw, str(path))


def text_of(raw: bytes, where: str) -> str:
    """Bytes as text; refused in words when they are too many or no UTF-8."""
    if len(raw) > MOST_BYTES:
        raise RefusedError(f"{where}: is larger than any rule file needs to be (2 MB)")
    try:
        text = raw.decode("utf-8-sig")  # a byte order mark may lead
    except UnicodeDecodeError as error:
        raise RefusedError(
            f"{where}: is not UTF-8 (byte {error.start}). Save it as UTF-8 and try again."
        ) from error
    return text.replace("\r\n", "\n").replace("\r", "\n")


def texts_in(folder: Path, own: bool) -> dict[str, tuple[str, str]]:
    """Rule files of a folder by the name they would have, with where they were read."""
    found: dict[str, tuple[str, str]] = {}
    if folder.is_dir():
        for path in sorted(folder.glob("*.toml")):
            if path.stem not in WORD_FILES:
                where = str(path) if own else f"intervals/{path.name}"
                found[path.stem] = (read_text(path), where)
    return found


def all_texts(own: Path | None) -> dict[str, tuple[str, str]]:
    """Shipped rule files, and over them the user's own of the same name."""
    texts = texts_in(shipped_folder(), own=False)
    if own is not None:
        texts.update(texts_in(own, own=True))
    return texts


def word_table(name: str) -> dict[str, object]:
    """One of the shipped files of words, parsed."""
    where = f"intervals/{name}.toml"
    data = parse(read_text(shipped_folder() / f"{name}.toml"), where)
    if isinstance(data, Faults):
        raise FaultsError(data)
    return data


def read_book(own: Path | None, names: set[str], words: bool = True) -> RuleBook:
    """The sets named, and the words around them; `words` off leaves out what only lists need."""
    texts = all_texts(own)
    sets = {name: read_set(name, texts) for name in sorted(names) if name in texts}
    uses = read_uses(word_table("uses"), "intervals/uses.toml")
    if isinstance(uses, list):
        raise FaultsError(uses)
    book = RuleBook(sets, uses, {}, {})
    return with_words(book) if words else book


def with_words(book: RuleBook) -> RuleBook:
    """The book with the words of conditions and incidents."""
    conditions = read_conditions(word_table("conditions"), "intervals/conditions.toml")
    incidents = read_incidents(word_table("incidents"), "intervals/incidents.toml")
    for table in (conditions, incidents):
        if isinstance(table, list):
            raise FaultsError(table)
    assert isinstance(conditions, dict) and isinstance(incidents, dict)
    return replace(book, conditions=conditions, incidents=incidents)
