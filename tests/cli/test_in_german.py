"""Every page in German says no message in English, whatever the fleet has on it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from lxml import html

from fleetcare.cli.main import cli
from fleetcare.rules.shipped import all_texts, read_book
from tests.cli.typed import fleetcare
from tests.show.messages import messages
from tests.show.test_words import table

PAGES: dict[str, tuple[str, ...]] = {
    "labels": ("labels", "--html", "-"),
    "history": ("history", "OB-14", "--html", "-"),
    "board": ("board", "--html", "-"),
    "sheet": ("sheet", "OB-14", "--html", "-"),
}
SAID_BY_ATTRIBUTES = ("aria-label", "title", "placeholder", "alt")
LEAST = 4  # letters below which nobody can tell the language
FEW = 9  # letters below which a message is looked for only as a whole text
VALUE, NUMBER = "[^.;:!?]{1,80}?", "[0-9.,]+"  # what may stand in a placeholder
NUMBERS = ("count", "number", "hours", "days", "figure", "old", "new", "year", "minutes")


def test_every_command_that_speaks_a_language_is_asked_here() -> None:
    speaking = {
        name
        for name, command in cli.commands.items()
        if any(option.name == "language" for option in command.params)
    }
    assert speaking <= set(PAGES)
    assert {"labels", "history"} <= speaking


def texts_of(page: str) -> Iterator[str]:
    """Every text that a reader sees or hears."""
    tree = html.fromstring(page)
    for item in tree.xpath("//style | //script"):
        item.drop_tree()
    for element in tree.iter():
        for text in (element.text, element.tail):
            if isinstance(element.tag, str) and text and text.strip():
                yield " ".join(text.split())
        for name in SAID_BY_ATTRIBUTES:
            if isinstance(element.tag, str) and element.get(name):
                yield " ".join(element.get(name, "").split())


def english() -> dict[str, re.Pattern[str]]:
    """The messages that German says otherwise, as what they look like once said."""
    there = table("de")
    texts = [text for text, said in there.messages.items() if text != said]
    texts += [text for one, more in there.plural_ids.items() for text in (one, more)]
    found = {}
    for text in texts:
        pieces = re.split(r"\{\w+\}", text)
        letters = max(len(re.findall("[A-Za-z]", piece)) for piece in pieces)
        if letters < LEAST:
            continue
        names = re.findall(r"\{(\w+)\}", text)
        values = [NUMBER if name in NUMBERS else VALUE for name in names]
        pattern = "".join(
            re.escape(piece) + value for piece, value in zip(pieces, [*values, ""], strict=True)
        )
        one_word = " " not in text  # a word of ours may stand within a text of the rules
        whole = letters < FEW or one_word or text.startswith("{") or text.endswith("}")
        found[text] = re.compile(f"^{pattern}$" if whole else rf"\b{pattern}(?!\w)")
    return found


def of_the_rules() -> set[str]:
    """Texts that are the rule set's, and stay as it has them."""
    book = read_book(None, set(all_texts(None)))
    texts: set[str] = set()
    for ruleset in book.sets.values():
        texts |= {ruleset.name, ruleset.title}
        for rule in ruleset.rules.values():
            texts |= {rule.name, rule.title, rule.chain, rule.unseen, rule.part, *rule.cautions}
            texts |= {*rule.leads_to, *rule.chain.split("; "), *(part.item for part in rule.parts)}
        texts |= set(ruleset.access) | {
            text for step in ruleset.access.values() for text in step.cautions
        }
    for part, words in book.conditions.items():
        texts |= {part, *words, *(item.lifts for item in words.values())}
    texts |= set(book.incidents) | {item.caution for item in book.incidents.values()}
    return {" ".join(text.split()) for text in texts} - {"overheating", "seized swivel"}


@pytest.mark.parametrize("name", sorted(PAGES))
def test_no_page_in_german_says_a_message_in_english(name: str, ondrel: Path) -> None:
    if name not in cli.commands:
        pytest.skip(f"there is no {name} yet")
    page = fleetcare(*PAGES[name], "--language", "de").out
    assert 'lang="de"' in page or "lang=de" in page
    own, patterns = of_the_rules(), english()
    said = [text for text in dict.fromkeys(texts_of(page)) if text not in own]
    assert len(said) > 20
    found = [(text, message) for text in said for message, pattern in patterns.items()
             if pattern.search(text)]  # fmt: skip
    assert found == [], "\n".join(f"{text}   <-   {message}" for text, message in found)


@pytest.mark.parametrize("name", sorted(PAGES))
def test_the_same_page_in_english_is_caught(name: str, ondrel: Path) -> None:
    """The test above can fail: most texts of the English page are messages."""
    if name not in cli.commands:
        pytest.skip(f"there is no {name} yet")
    page = fleetcare(*PAGES[name], "--language", "en").out
    patterns = english()
    caught = {message for text in texts_of(page) for message, pattern in patterns.items()
              if pattern.search(text)}  # fmt: skip
    assert len(caught) >= {"labels": 3, "history": 60, "board": 40, "sheet": 20}[name]


def test_every_message_is_one_that_some_page_may_say() -> None:
    assert len({message.text for message in messages()}) > len(PAGES)
