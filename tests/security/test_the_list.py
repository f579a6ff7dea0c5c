"""What is promised about security, once through, and the tests that hold it.

Each promise names at least one test; a test that is renamed or taken out fails here. Promises that
had none are tested at the end.
"""

from __future__ import annotations

import ast
import os
import stat
from functools import cache
from pathlib import Path

import pytest

from fleetcare.share.subscribers import TOKEN_BYTES
from tests.fuzz.declared import commands
from tests.fuzz.door import heard
from tests.fuzz.scenery import fleet_at

ROOT = Path(__file__).parents[2]
PROMISES = {
    # Texts of strangers
    "No text reaches a terminal that would obey it, turn its writing or add lines": [
        "security/test_terminal.py::test_no_command_lets_a_control_character_of_the_file_through",
        "security/test_terminal.py::test_no_form_of_a_list_lets_one_through",
        "security/test_terminal.py::test_a_note_of_several_lines_does_not_make_lines_of_its_own",
        "security/test_terminal.py::test_a_file_name_is_shown_without_what_it_holds",
    ],
    "Escapes, NUL and marks of direction are not taken as names or notes": [
        "security/test_terminal.py::test_what_a_terminal_would_obey_is_not_taken",
        "security/test_terminal.py::test_a_table_with_controls_is_refused_by_its_row_and_column",
        "security/test_the_list.py::test_no_name_holds_nul_or_turns_the_writing",
    ],
    "No text becomes mark-up in a page, a drawing or a calendar": [
        "security/test_pages.py::test_a_page_holds_no_element_of_anybody_elses",
        "security/test_pages.py::test_a_drawing_is_well_formed_and_holds_nothing_that_acts",
        "security/test_pages.py::test_what_a_template_takes_as_it_is_is_known",
        "security/test_pages.py::test_a_feed_holds_only_lines_of_its_own",
    ],
    "No table that leaves holds a cell that a spreadsheet would run": [
        "security/test_tables.py::test_no_list_as_csv_runs",
        "security/test_tables.py::test_no_workbook_that_leaves_holds_a_formula",
        "security/test_tables.py::test_no_table_of_refused_rows_runs",
    ],
    "No name leads out of the folder, and no link is followed": [
        "security/test_files.py::test_no_name_of_an_engine_or_sheet_leads_out_of_the_folder",
        "security/test_files.py::test_a_link_where_a_file_is_to_be_is_replaced_and_never_followed",
        "security/test_files.py::test_a_rule_set_is_found_by_its_name_and_never_as_a_path",
        "fuzz/test_command_lines.py::test_no_name_of_a_file_makes_what_is_written_go_elsewhere",
        "fuzz/test_command_lines.py::test_nothing_is_ever_written_over_the_fleet_file",
    ],
    # Files made to harm
    "Any file is taken or refused in words": [
        "fuzz/test_any_file.py::test_any_file_is_taken_or_refused_in_words",
        "fuzz/test_any_file.py::test_a_fleet_file_of_changed_bytes_is_read_or_refused",
        "security/test_sources.py::test_a_part_of_any_name_is_taken_out_and_only_it",
        "trials/test_fuzz.py::test_a_planted_fault_behind_three_branches_is_found",
    ],
    "No file eats the machine": [
        "fuzz/test_bounds.py::test_what_never_ends_is_not_read_to_its_end",
        "security/test_workbooks.py::test_a_part_that_lies_about_its_size_is_refused_or_never_unpacked",
        "security/test_workbooks.py::test_entities_of_its_own_are_refused_in_every_part_that_is_read",
        "security/test_workbooks.py::test_no_other_part_can_be_opened_by_whoever_reads_it",
        "security/test_patterns.py::test_a_pattern_grows_with_the_text_or_sees_short_ones_alone",
    ],
    # Addresses of feeds
    "An address has 256 bits, and is told once": [
        "share/test_publishing.py::test_a_token_has_256_bits_and_only_a_hash_of_it_is_kept",
        "security/test_secrets.py::test_a_token_is_told_once_and_never_by_any_later_command",
        "security/test_the_list.py::test_addresses_have_256_bits_of_the_systems_own_chance",
    ],
    "Only its hash is kept, and hashes are what is compared": [
        "security/test_secrets.py::test_tokens_are_compared_by_their_hashes_alone",
        "share/test_respond.py::test_conditions_do_not_tell_addresses_apart",
        "share/test_respond.py::test_whatever_is_no_live_address_gets_the_same_404",
    ],
    "It can be renewed and revoked, at once": [
        "share/test_publishing.py::test_a_renewed_address_replaces_the_old_one",
        "share/test_publishing.py::test_a_revoked_address_is_gone_at_once_and_the_others_stay",
        "share/test_serve.py::test_a_renewed_address_is_gone_at_the_next_request",
        "share/test_publishing_at_once.py::test_an_address_revoked_while_others_publish_stays_gone",
    ],
    # Files and modes
    "The fleet file, its copies, exports, codes and reports are their owner's alone": [
        "security/test_files.py::test_a_new_fleet_its_copy_and_a_code_are_their_owners_alone",
        "security/test_files.py::test_a_report_of_a_fault_is_its_owners_alone",
        "security/test_the_list.py::test_what_holds_the_whole_fleet_is_its_owners_alone",
        "security/test_the_list.py::test_a_file_that_was_there_keeps_the_mode_that_somebody_chose",
    ],
    "The names of feeds cannot be listed where they are published": [
        "security/test_the_list.py::test_an_empty_folder_to_publish_in_is_closed_to_listing",
        "share/test_published_folder.py::test_a_feed_is_handed_out_with_its_type_and_kept_private",
    ],
    # Secrets
    "No secret stands in a message, a log, a report, a help or the version": [
        "security/test_secrets.py::test_a_password_stands_in_no_message_report_or_file",
        "security/test_secrets.py::test_a_fault_on_the_way_to_a_server_reports_no_password",
        "security/test_secrets.py::test_no_help_shows_what_stands_in_the_environment",
        "security/test_secrets.py::test_no_option_takes_a_password_that_everybody_on_the_machine"
        "_could_read",
        "share/test_published_folder.py::test_no_log_holds_a_token",
        "share/test_respond.py::test_no_answer_tells_the_address_or_its_hash",
        "security/test_the_list.py::test_the_version_tells_the_version_alone",
    ],
    # The network
    "Nothing listens beyond this machine unless it is said": [
        "share/test_serve.py::test_nothing_listens_on_other_addresses",
        "share/test_serve.py::test_every_other_address_reaches_beyond_this_machine",
        "security/test_the_list.py::test_every_host_that_is_a_default_is_this_machine",
        "security/test_the_list.py::test_another_host_is_refused_unless_it_is_said",
    ],
    "Nothing is asked of the network but where it was told, and certificates are looked at": [
        "security/test_sources.py::test_no_module_does_what_is_not_listed_with_its_reason",
        "share/test_caldav.py::test_an_address_that_would_leak_or_makes_no_sense_is_refused",
    ],
    # What it is made of
    "What is installed is known, licensed, and compared with advisories where that can be": [
        "security/test_audit.py::test_ci_fails_on_what_is_wrong_and_not_on_a_missing_network",
        "security/test_audit.py::test_a_database_that_was_not_reached_is_never_told_as_nothing_known",
    ],
}  # fmt: skip


@cache
def names_in(path: str) -> set[str]:
    """The names of the tests of a file."""
    tree = ast.parse((ROOT / "tests" / path).read_text("utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("promise", PROMISES)
def test_every_promise_is_held_by_tests_that_are_there(promise: str) -> None:
    assert PROMISES[promise]
    for name in PROMISES[promise]:
        path, _, function = name.partition("::")
        assert function in names_in(path), name


def test_every_file_of_this_folder_is_in_the_list() -> None:
    files = {f"security/{path.name}" for path in Path(__file__).parent.glob("test_*.py")}
    assert files == {
        name.partition("::")[0] for names in PROMISES.values() for name in names
        if name.startswith("security/")
    }  # fmt: skip


# -- promises that had no test -------------------------------------------------------------------


@pytest.fixture
def fleet(place: Path) -> Path:
    """The small fleet."""
    fleet_at(place / "fleet.db")
    return place


@pytest.mark.parametrize("sign", ["\0", "\u202e", "\u2066", "\u200f", "\u061c", "\u200b", "\x1b"])
def test_no_name_holds_nul_or_turns_the_writing(fleet: Path, sign: str) -> None:
    name = f"Te{sign}al"
    for words in (["engine", "add", name, "--no-meter"], ["engine", "rename", "Knot", name],
                  ["boat", "add", name, "--use", "hire", "--water", "salt"]):  # fmt: skip
        said = heard(words)
        assert said.code in (1, 2), words
        assert sign not in said.out + said.err
    Path("t.csv").write_bytes(f"Date,Engine,Hours run\r\n2026-07-01,{name},1\r\n".encode())
    assert heard(["import", "t.csv"]).code == 1


def mode(path: str) -> int:
    """Who may do what with it."""
    return stat.S_IMODE(Path(path).stat().st_mode)


def test_what_holds_the_whole_fleet_is_its_owners_alone(fleet: Path) -> None:
    os.umask(0)
    for words in (["export", "out"], ["export", "all.xlsx"], ["backup", "copy.db"],
                  ["history", "Plover", "--export", "sold.db"],
                  ["history", "Plover", "--export", "sold"]):  # fmt: skip
        said = heard(words)
        assert said.code == 0, said.err
    written = [*map(str, Path("out").glob("*")), *map(str, Path("sold").glob("*.csv"))]
    assert len(written) == 8
    for path in (*written, "all.xlsx", "copy.db", "sold.db", "fleet.db"):
        assert mode(path) == 0o600, path


def test_a_file_that_was_there_keeps_the_mode_that_somebody_chose(fleet: Path) -> None:
    assert heard(["export", "all.xlsx"]).code == 0
    Path("all.xlsx").chmod(0o640)
    assert heard(["reading", "Plover", "264"]).code == 0
    assert heard(["export", "all.xlsx"]).code == 0
    assert mode("all.xlsx") == 0o640


def test_an_empty_folder_to_publish_in_is_closed_to_listing(fleet: Path) -> None:
    for name, before, after in (("a", 0o755, 0o711), ("b", 0o700, 0o700), ("c", 0o775, 0o711)):
        Path(name).mkdir()
        Path(name).chmod(before)
        said = heard(["feed", "add", f"for {name}", "--of", "fleet", "--publish-to", name])
        assert said.code == 0, said.err
        assert mode(name) == after
    Path("full").mkdir(mode=0o755)
    Path("full", "index.html").touch()
    assert heard(["feed", "add", "other", "--of", "fleet", "--publish-to", "full"]).code == 0
    assert mode("full") == 0o755  # somebody else's too


def test_addresses_have_256_bits_of_the_systems_own_chance() -> None:
    from fleetcare.share.subscribers import secrets

    assert secrets.__name__ == "secrets"
    assert TOKEN_BYTES * 8 == 256


def test_the_version_tells_the_version_alone(fleet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from fleetcare import __version__

    monkeypatch.setenv("FLEETCARE_CALDAV_PASSWORD", "s3cret-p4ss")  # invented
    assert heard(["--version"]).out == f"fleetcare {__version__}\n"


def test_every_host_that_is_a_default_is_this_machine() -> None:
    from fleetcare.share.serve import is_loopback

    hosts = [
        param.default for _, command in commands() for param in command.params
        if param.name == "host"
    ]  # fmt: skip
    assert hosts
    assert all(is_loopback(host) for host in hosts)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1"])
def test_another_host_is_refused_unless_it_is_said(fleet: Path, host: str) -> None:
    said = heard(["feed", "serve", "--host", host, "--port", "0"])
    assert said.code == 1
    assert "--beyond-this-machine" in said.err
