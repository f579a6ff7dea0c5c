"""Languages: every message has its German, numbers and days as Germans write them, plural forms.

What the C library's gettext makes of the same file, and what a browser's Intl (Unicode CLDR)
writes, are the standard here.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from fractions import Fraction
from gettext import GNUTranslations
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from fleetcare.fleet.said import Said
from fleetcare.fleet.settings import LANGUAGES
from fleetcare.show.words import ENGLISH, Words, isolated, language
from fleetcare.show.words_po import Table, read_po
from tests.show.messages import messages, placeholders
from tests.show.paper_kit import a_browser, need

OTHERS = [name for name in LANGUAGES if name != "en"]
# German that is the same letter by letter.
SAME = {
    "{month} {year}", "{hours} h", "{fuel} l", "{number} {status}", "Status", "{what}, {day}",
    "{minutes} min", "{status}: {why}",
}  # fmt: skip
HEAD = 'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'


def table(name: str) -> Table:
    text = files("fleetcare.show").joinpath(f"words_{name}.po").read_text(encoding="utf-8")
    return read_po(text)


ALL = messages()


def test_there_are_messages_of_code_and_of_templates() -> None:
    where = {message.where.partition(":")[0] for message in ALL}
    assert {"labels.py", "labels.html", "history_page.py", "triggers.py", "words.py"} <= where
    assert len({message.text for message in ALL}) > 150


def test_every_message_is_given_just_what_it_names() -> None:
    for message in ALL:
        if message.given:  # without any values they are put in afterwards
            assert message.given - {"count"} <= message.wanted <= message.given, message


@pytest.mark.parametrize("name", OTHERS)
def test_a_language_has_every_message_and_none_that_nobody_says(name: str) -> None:
    there = table(name)
    single = {message.text for message in ALL if not message.more}
    plural = {message.text: message.more for message in ALL if message.more}
    assert sorted(single - set(there.messages)) == []
    assert sorted(set(there.messages) - single) == []
    assert there.plural_ids == plural


@pytest.mark.parametrize("name", OTHERS)
def test_a_translation_names_the_same_values_and_is_no_english(name: str) -> None:
    there = table(name)
    for message, said in there.messages.items():
        assert placeholders(said) == placeholders(message), message
        assert said.strip() == said and said, message
        assert said != message or message in SAME, message
    for one, forms in there.plurals.items():
        for form in forms:
            wanted = placeholders(one) | placeholders(there.plural_ids[one])
            assert wanted - {"count"} <= placeholders(form) <= wanted, one
            assert form not in (one, there.plural_ids[one]), one


@pytest.mark.parametrize("name", OTHERS)
def test_gettext_of_the_c_library_reads_the_file_as_we_do(
    name: str, tmp_path: Path, tool: Callable[[str], str]
) -> None:
    source = tmp_path / "words.po"
    source.write_bytes(files("fleetcare.show").joinpath(f"words_{name}.po").read_bytes())
    made = tmp_path / "words.mo"
    subprocess.run(
        [tool("msgfmt"), "--check-format", "-o", made, source], check=True, capture_output=True
    )
    with made.open("rb") as file:
        theirs = GNUTranslations(file)
    there, ours = table(name), language(name)
    assert all(theirs.gettext(message) == said for message, said in there.messages.items())
    for one, more in there.plural_ids.items():
        for count in (0, 1, 2, 3, 5, 11, 21, 101):
            form = ours.plurals[one][ours.form(count)]
            assert theirs.ngettext(one, more, count) == form


# -- numbers and days -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def intl() -> Iterator[Callable[[str, object], Any]]:
    """A browser's own way to write numbers and days."""
    need("chromium")
    with a_browser() as browser:
        page = browser.new_page()
        yield page.evaluate


NUMBERS = (0, 1, 7, 12, 123, 999, 1000, 1234, 12345, 123456, 1234567, 1000000, 10203040)


@pytest.mark.parametrize("name", LANGUAGES)
def test_numbers_are_written_as_a_browser_writes_them(
    name: str, intl: Callable[[str, object], Any]
) -> None:
    values = [hundredths for number in NUMBERS for hundredths in (number, -number)]
    theirs = intl(
        "([name, values]) => values.map(value => (value / 100).toLocaleString(name, "
        "{maximumFractionDigits: 2, useGrouping: 'always'}))", [name, values],
    )  # fmt: skip
    ours = [language(name).hours(value, 2) for value in values]
    assert ours == theirs


def test_german_days_are_written_as_a_browser_writes_them(
    intl: Callable[[str, object], Any],
) -> None:
    days = [date(2026, 1, 1) + timedelta(days=10 * at) for at in range(37)]
    theirs = intl(
        "days => days.map(day => new Date(day + 'T12:00Z').toLocaleDateString('de', "
        "{day: 'numeric', month: 'short', year: 'numeric'}))", [day.isoformat() for day in days],
    )  # fmt: skip
    assert [language("de").day(day) for day in days] == theirs


@pytest.mark.parametrize("name", LANGUAGES)
def test_counts_take_the_form_that_a_browser_says(
    name: str, intl: Callable[[str, object], Any]
) -> None:
    theirs = intl(
        "name => [...Array(200).keys()].map(n => new Intl.PluralRules(name).select(n))", name
    )
    assert [language(name).form(count) for count in range(200)] == [
        0 if form == "one" else 1 for form in theirs
    ]


def test_days_leave_out_the_year_beside_another_of_it() -> None:
    german, may, june = language("de"), date(2026, 5, 12), date(2027, 6, 2)
    assert (ENGLISH.day(may), german.day(may)) == ("12 May 2026", "12. Mai 2026")
    assert (ENGLISH.day(may, may), german.day(may, may)) == ("12 May", "12. Mai")
    assert ENGLISH.span(may, june, may) == "12 May 2026 to 2 Jun 2027"
    assert german.span(may, may.replace(month=6), may) == "12. Mai bis 12. Juni"
    assert (german.span(may, None), german.span(None, may)) == ("ab 12. Mai 2026", "")


def test_numbers_drop_needless_zeros_and_shares_keep_what_they_mean() -> None:
    german = language("de")
    assert (ENGLISH.number(Fraction(2469, 2), 1), german.number(Fraction(2469, 2), 1)) == (
        "1,234.5", "1.234,5"
    )  # fmt: skip
    assert (ENGLISH.number(4), ENGLISH.number(Fraction(5, 2), 1)) == ("4", "2.5")
    assert german.percent(Fraction(1234, 100)) == "1.234\u00a0%"
    almost, over = Fraction(9999, 10000), Fraction(10001, 10000)
    assert [ENGLISH.percent(share) for share in (almost, Fraction(1), over)] == [
        "99\u00a0%", "100\u00a0%", "101\u00a0%"
    ]  # fmt: skip


def test_lists_stand_in_a_sentence() -> None:
    german = language("de")
    assert [german.all_of(items) for items in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "", "a", "a und b", "a, b und c"
    ]  # fmt: skip
    assert ENGLISH.any_of(["a", "b", "c"]) == "a, b or c"


# -- sentences ------------------------------------------------------------------------------------


def test_what_a_language_lacks_stands_in_english() -> None:
    words = Words("xx", {"due": "fy"})
    assert (words("due"), words("clear"), words("due {day}", day="x")) == ("fy", "clear", "due x")
    assert words.several("{count} day", "{count} days", 1) == "1 day"
    assert words.several("{count} day", "{count} days", 1234) == "1,234 days"


def test_values_are_never_read_as_messages() -> None:
    assert ENGLISH("due {day}", day="{year} {0} {}") == "due {year} {0} {}"
    assert language("de")("{day} at {hours} h", day="{hours}", hours="}") == "{hours} bei } h"


def test_a_sentence_of_another_room_is_english_and_can_be_said_again() -> None:
    water = Said("{first} or {last}", first="brackish", last="salt")
    text = Said(
        "{count} run day in {water} water since done",
        "{count} run days in {water} water since done", count=1234, water=water,
    )  # fmt: skip
    assert text == "1234 run days in brackish or salt water since done"
    assert language("de").again(text) == (
        "1.234 Fahrtage in Brackwasser oder Salzwasser seit der letzten Erledigung"
    )
    day = Said("{what} on {day}", what="overheated", day=date(2026, 7, 5))
    assert (day, language("de").again(day)) == (
        "overheated on 2026-07-05", "overheated am 5. Juli 2026"
    )  # fmt: skip
    assert language("de").again(day, date(2026, 1, 1)) == "overheated am 5. Juli"
    assert language("de").again("as it is") == "as it is"


def test_a_name_written_from_right_to_left_is_kept_together() -> None:
    assert isolated("Plover") == "Plover"
    assert isolated("ברווז") == "\u2068ברווז\u2069"


# -- the file -------------------------------------------------------------------------------------


def test_texts_may_run_over_lines_and_hold_quotes() -> None:
    found = read_po(HEAD + 'msgid "say \\"it\\""\nmsgstr ""\n"sag "\n"\\"es\\"\\n"\n')
    assert found.messages == {'say "it"': 'sag "es"\n'}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('msgid "a"\nmsgstr "b"\n', "no Plural-Forms"),
        (HEAD + 'msgid "a"\nmsgstr "b"\n\nmsgid "a"\nmsgstr "c"\n', "stands twice"),
        (HEAD + 'msgid "a"\n', "has no msgstr"),
        (HEAD + 'msgid "a"\nmsgstr "b"\nmsgid "c"\n', "a blank line goes between"),
        (HEAD + "msgid a\n", "line 5: is no line"),
        (HEAD + 'msgid "a\\x"\nmsgstr "b"\n', "is not known"),
        (HEAD + '#, fuzzy\nmsgid "a"\nmsgstr "b"\n', "is no line"),
        (HEAD + 'msgid "a"\nmsgid_plural "b"\nmsgstr[0] "c"\n', "has not 2 forms"),
        (HEAD + '"stray"\n', "is no line"),
    ],
)
def test_a_file_that_is_none_is_refused_by_its_line(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=re.escape(why)):
        read_po(text)


def test_a_language_nobody_wrote_is_refused() -> None:
    with pytest.raises(ValueError, match="no words of"):
        language("tlh")
