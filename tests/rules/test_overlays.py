"""A set laid over another changes what it names, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.errors import RefusedError
from fleetcare.rules.rule import Limit, Limits, RuleSet
from fleetcare.rules.sets import laid_over, read_set
from fleetcare.rules.shipped import all_texts, read_book, read_text, shipped_folder, texts_in

IMPELLER = '[[task]]\nname = "impeller"\ncomponent = "gearcase"\nsource = "a handbook"\n'


def read(base: str, over: str, above: str = "") -> RuleSet:
    texts = {
        "base": (f'[set]\nname = "base"\n{base}', "base.toml"),
        "over": (f'[set]\nname = "over"\nextends = "base"\n{over}', "over.toml"),
    }
    if above:
        texts["above"] = (f'[set]\nname = "above"\nextends = "over"\n{above}', "above.toml")
    return read_set("above" if above else "over", texts)


def limits(base: str, over: str) -> Limits:
    found = read(IMPELLER + base, f'[[task]]\nname = "impeller"\n{over}').rules["impeller"].limits
    assert found is not None
    return found


PAIR = "limits.fresh = { hours = 300, months = 36 }\nlimits.salt = { hours = 200, months = 12 }\n"


def test_a_key_that_is_given_takes_the_place_of_the_one_beneath() -> None:
    found = read(
        IMPELLER + PAIR + 'title = "Renew it"\nminutes = 25\nrestarts = ["impeller"]\n',
        '[[task]]\nname = "impeller"\nminutes = 40\nrestarts = []\nsource = "ours"',
    ).rules["impeller"]
    assert (found.minutes, found.restarts, found.source) == (40, (), "ours")
    assert (found.title, found.component) == ("Renew it", "gearcase")
    assert found.limits == (Limit(30000, 36), Limit(20000, 12), Limit(20000, 12))


def test_limits_are_laid_over_water_by_water() -> None:
    assert limits(PAIR, "limits.salt = { hours = 100, months = 6 }") == (
        Limit(30000, 36), Limit(10000, 6), Limit(10000, 6),
    )  # fmt: skip
    assert limits(PAIR, "limits.fresh = { hours = 250, months = 24 }") == (
        Limit(25000, 24), Limit(20000, 12), Limit(20000, 12),
    )  # fmt: skip
    assert limits(PAIR, "limits.brackish = { months = 18 }") == (
        Limit(30000, 36), Limit(None, 18), Limit(20000, 12),
    )  # fmt: skip


def test_a_printed_pair_is_replaced_whole() -> None:
    assert limits(PAIR, "limits.salt = { hours = 100 }")[2] == Limit(10000)
    assert limits(PAIR, "limits.salt = { days = 30 }")[2] == Limit(None, None, 30)


def test_brackish_limits_of_their_own_stay_when_salt_changes() -> None:
    base = PAIR + "limits.brackish = { months = 18 }\n"
    assert limits(base, "limits.salt = { months = 3 }") == (
        Limit(30000, 36), Limit(None, 18), Limit(None, 3),
    )  # fmt: skip


def test_one_set_for_every_water_counts_as_fresh_and_salt_beneath_a_water() -> None:
    base = "limits = { hours = 200, months = 12 }\n"
    assert limits(base, "limits.salt = { hours = 100, months = 6 }") == (
        Limit(20000, 12), Limit(10000, 6), Limit(10000, 6),
    )  # fmt: skip
    assert limits(base, "limits.fresh = { months = 24 }") == (
        Limit(None, 24), Limit(20000, 12), Limit(20000, 12),
    )  # fmt: skip
    assert limits(base, "limits.brackish = { months = 9 }") == (
        Limit(20000, 12), Limit(None, 9), Limit(20000, 12),
    )  # fmt: skip


def test_limits_without_a_water_replace_all() -> None:
    base = PAIR + "limits.brackish = { months = 18 }\n"
    assert limits(base, "limits = { hours = 50 }") == (Limit(5000),) * 3
    assert limits("limits = { months = 3 }\n", "limits = { hours = 50 }") == (Limit(5000),) * 3


def test_a_first_service_is_replaced_whole_and_laid_over_the_new_limits() -> None:
    found = read(
        IMPELLER + PAIR + "first = { hours = 20, months = 1 }\n",
        '[[task]]\nname = "impeller"\nlimits.salt = { hours = 100, days = 90 }\n'
        "first = { hours = 10 }",
    ).rules["impeller"]
    assert found.first == (Limit(1000, 36), Limit(1000, None, 90), Limit(1000, None, 90))


def test_laying_over_leaves_both_tasks_as_they_were() -> None:
    base = {"name": "x", "limits": {"fresh": {"hours": 1}, "salt": {"hours": 1}}}
    over = {"name": "x", "limits": {"salt": {"hours": 2}}}
    merged = laid_over(base, over)
    assert merged["limits"] == {"fresh": {"hours": 1}, "salt": {"hours": 2}}
    assert base["limits"] == {"fresh": {"hours": 1}, "salt": {"hours": 1}}
    assert over["limits"] == {"salt": {"hours": 2}}


def test_empty_limits_are_no_way_to_keep_those_beneath() -> None:
    with pytest.raises(RefusedError, match="takes hours, months or days"):
        limits(PAIR, "limits = {}")


def test_tasks_and_access_steps_of_the_set_beneath_are_taken_over() -> None:
    found = read(
        '[access."leg off"]\nminutes = 25\nsource = "x"\n' + IMPELLER + PAIR,
        '[[task]]\nname = "splines"\ncomponent = "gearcase"\nsource = "x"\nseason = "lay-up"\n'
        'access = ["leg off"]\nrestarts = ["impeller"]',
    )
    assert list(found.rules) == ["impeller", "splines"]
    assert found.access["leg off"].minutes == 25
    assert found.restarted_by("impeller") == ("impeller", "splines")
    assert (found.name, found.extends, found.where) == ("over", "base", "over.toml")


def test_an_access_step_of_the_same_name_takes_the_place_of_the_one_beneath() -> None:
    found = read(
        '[access."leg off"]\nminutes = 25\ncautions = ["Hold it."]\nsource = "x"\n',
        '[access."leg off"]\nminutes = 40\nsource = "ours"\n',
    )
    assert (found.access["leg off"].minutes, found.access["leg off"].cautions) == (40, ())


def test_sets_can_be_stacked() -> None:
    found = read(
        IMPELLER + PAIR + "minutes = 25\n",
        '[[task]]\nname = "impeller"\nlimits.salt = { months = 6 }\n',
        '[[task]]\nname = "impeller"\nlimits.fresh = { months = 9 }\n',
    ).rules["impeller"]
    assert found.limits == (Limit(None, 9), Limit(None, 6), Limit(None, 6))
    assert found.minutes == 25


# --- the user's own folder --------------------------------------------------------------------

OWN = '[set]\nname = "our-jetty"\nextends = "small-petrol"\n'


def test_the_own_set_of_a_shipped_name_wins(tmp_path: Path) -> None:
    (tmp_path / "hire.toml").write_text('[set]\nname = "hire"\nextends = "small-petrol"\n')
    texts = all_texts(tmp_path)
    assert texts["hire"][1] == str(tmp_path / "hire.toml")
    own, shipped = read_set("hire", texts), read_set("hire", all_texts(None))
    assert own.where == str(tmp_path / "hire.toml")
    assert shipped.where == "intervals/hire.toml"
    assert own.rules["impeller"] == read_set("small-petrol", texts).rules["impeller"]
    assert own.rules["impeller"] != shipped.rules["impeller"]


def test_an_own_base_set_lies_beneath_the_shipped_ones_too(tmp_path: Path) -> None:
    own = read_text(shipped_folder() / "small-petrol.toml").replace(
        'title = "Renew the cooling-pump impeller"', 'title = "Our impeller"'
    )
    (tmp_path / "small-petrol.toml").write_text(own, encoding="utf-8")
    assert read_set("hire", all_texts(tmp_path)).rules["impeller"].title == "Our impeller"


def test_an_own_set_stands_beside_the_shipped_ones(tmp_path: Path) -> None:
    text = OWN + '[[task]]\nname = "impeller"\nlimits.salt = { hours = 100, months = 12 }\n'
    (tmp_path / "our-jetty.toml").write_text(text)
    book = read_book(tmp_path, {"our-jetty", "hire"})
    assert set(book.sets) == {"our-jetty", "hire"}
    impeller = book.set_of("our-jetty").rules["impeller"].limits
    shipped = read_set("small-petrol", all_texts(None)).rules["impeller"].limits
    assert impeller is not None and shipped is not None
    assert (impeller[0], impeller[2]) == (shipped[0], Limit(10000, 12))
    with pytest.raises(RefusedError, match=r'no rule set "our-jety". Did you mean "our-jetty"'):
        book.set_of("our-jety")


def test_an_own_set_with_a_fault_names_the_file_it_is_in(tmp_path: Path) -> None:
    (tmp_path / "our-jetty.toml").write_text(OWN + '[[task]]\nname = "impeller"\nminutes = -1\n')
    with pytest.raises(RefusedError) as refused:
        read_set("our-jetty", all_texts(tmp_path))
    assert str(refused.value).startswith(f'{tmp_path}/our-jetty.toml: task "impeller": minutes: ')


def test_words_for_conditions_are_no_rule_set_and_other_files_are_left_alone(
    tmp_path: Path,
) -> None:
    (tmp_path / "conditions.toml").write_text("no toml at all")
    (tmp_path / "notes.txt").write_text("no toml either")
    assert texts_in(tmp_path, own=True) == {}
    assert texts_in(tmp_path / "nowhere", own=True) == {}
    assert all_texts(tmp_path / "nowhere") == all_texts(None)


def test_a_file_saved_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    # RFC 3629, section 6: EF BB BF may stand before UTF-8 text.
    (tmp_path / "our-jetty.toml").write_bytes(b"\xef\xbb\xbf" + OWN.encode())
    assert read_set("our-jetty", all_texts(tmp_path)).extends == "small-petrol"


def test_a_file_that_is_not_utf8_is_refused_with_the_place(tmp_path: Path) -> None:
    (tmp_path / "our-jetty.toml").write_bytes(OWN.encode() + "title = 'Møn'".encode("cp1252"))
    with pytest.raises(RefusedError, match=r"our-jetty.toml: is not UTF-8 \(byte 60\)"):
        all_texts(tmp_path)


def test_a_file_far_too_large_is_refused_unread(tmp_path: Path) -> None:
    (tmp_path / "our-jetty.toml").write_bytes(b"#" * 2_000_001)
    with pytest.raises(RefusedError, match="is larger than any rule file needs to be"):
        all_texts(tmp_path)


def test_a_folder_that_is_named_like_a_file_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "our-jetty.toml").mkdir()
    with pytest.raises(RefusedError, match=r"our-jetty.toml: "):
        all_texts(tmp_path)


def test_a_changed_figure_does_not_keep_the_source_of_the_other(tmp_path: Path) -> None:
    for body, kept in (("limits = { hours = 50 }", False), ('title = "Our impeller"', True)):
        (tmp_path / "ours.toml").write_text(
            f'[set]\nname = "ours"\nextends = "small-petrol"\n[[task]]\n'
            f'name = "impeller"\n{body}\n',
            encoding="utf-8",
        )
        texts = all_texts(tmp_path)
        below = read_set("small-petrol", texts).rules["impeller"].source
        above = read_set("ours", texts).rules["impeller"].source
        assert (above == below) is kept
