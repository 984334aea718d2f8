"""Secrets come from the environment or from the user's own file, and are never shown."""

import copy
import os
import pickle
import re
import traceback

import msgspec
import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import (
    Secrets,
    about_short_secrets,
    demo_secrets,
    read_secrets,
    secrets_to_tidy_up,
    secrets_wanted,
    variable_of,
)
from exhibit.folder.whole import read_folder
from exhibit.simulator.tidebook.desks import WORDS
from tests.decisions import heron
from tests.folder.folder_writing import ROOT

WORD = "PLOVER?73x"


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "secrets.toml"
    path.write_text(f'keeper = "{WORD}"\nnight-keeper = "OTHER"\n', "utf-8")
    path.chmod(0o600)
    return path


def fault_of(*arguments) -> SetUpFault:
    with pytest.raises(SetUpFault) as caught:
        read_secrets(*arguments)
    printed = "".join(traceback.format_exception(caught.value))
    assert WORD not in printed
    assert caught.value.__cause__ is None
    return caught.value


def test_a_secret_is_read_from_the_environment_by_its_name():
    assert variable_of("night-keeper") == "EXHIBIT_SECRET_NIGHT_KEEPER"
    read = read_secrets(["night-keeper"], {"EXHIBIT_SECRET_NIGHT_KEEPER": WORD})
    assert read["night-keeper"] == WORD


def test_a_secret_is_read_from_a_file_of_mode_0600(file):
    assert dict(read_secrets(["keeper", "night-keeper"], {}, file)) == {
        "keeper": WORD,
        "night-keeper": "OTHER",
    }


def test_the_environment_takes_precedence_over_the_file(file):
    assert read_secrets(["keeper"], {"EXHIBIT_SECRET_KEEPER": "NEW"}, file)["keeper"] == "NEW"


def test_a_program_started_later_inherits_no_secret():
    environment = {"EXHIBIT_SECRET_KEEPER": WORD, "EXHIBIT_SECRET_UNWANTED": WORD, "PATH": "/bin"}
    read_secrets(["keeper"], environment)
    assert environment == {"PATH": "/bin"}


def test_no_representation_of_secrets_contains_one():
    secrets = Secrets({"keeper": WORD})
    shown = [repr(secrets), str(secrets), f"{secrets} {secrets!r}", str([secrets])]
    assert all(WORD not in text and "keeper" in text for text in shown)
    assert len(secrets) == 1
    assert list(secrets) == ["keeper"]


def test_secrets_can_not_be_pickled():
    for way in (pickle.dumps, copy.copy):
        with pytest.raises(TypeError, match="can't be pickled"):
            way(Secrets({"keeper": WORD}))


def test_all_missing_secrets_are_reported_at_once_with_where_to_put_them():
    fault = fault_of(["keeper", "tides"], {})
    assert fault.what == 'The secrets "keeper" and "tides" are not set.'
    assert "EXHIBIT_SECRET_KEEPER and EXHIBIT_SECRET_TIDES" in fault.do
    assert "chmod 600" in fault.do


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660, 0o620, 0o602, 0o700, 0o610, 0o601])
def test_a_file_that_others_can_use_is_refused(file, mode):
    file.chmod(mode)
    fault = fault_of(["keeper"], {}, file)
    assert f"its mode is {mode:04o}, not 0600" in fault.what
    assert f"chmod 600 {file}" in fault.do


def test_a_file_that_even_its_owner_can_only_read_is_accepted(file):
    file.chmod(0o400)
    assert read_secrets(["keeper"], {}, file)["keeper"] == WORD


def test_a_file_is_refused_even_if_the_environment_would_be_enough(file):
    file.chmod(0o644)
    assert "0644" in fault_of(["keeper"], {"EXHIBIT_SECRET_KEEPER": "NEW"}, file).what


def test_a_file_of_somebody_else_is_refused(file, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: file.stat().st_uid + 1)
    assert "belongs to somebody else" in fault_of(["keeper"], {}, file).what


def test_the_file_behind_a_link_is_the_one_that_counts(file, tmp_path):
    link = tmp_path / "link.toml"
    link.symlink_to(file)
    assert read_secrets(["keeper"], {}, link)["keeper"] == WORD
    file.chmod(0o644)
    fault_of(["keeper"], {}, link)


def test_a_file_that_is_not_an_ordinary_one_is_refused_at_once(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe, 0o600)
    assert "not an ordinary file" in fault_of(["keeper"], {}, pipe).what
    assert "not an ordinary file" in fault_of(["keeper"], {}, tmp_path).what
    assert "can't be read: No such file" in fault_of(["keeper"], {}, tmp_path / "none").what


@pytest.mark.parametrize(
    "content",
    [f'keeper = "{WORD}', f"{WORD}", f'keeper = "{WORD}"\nkeeper = "{WORD}"', f'keeper = "\\q{WORD}"'],
)
def test_a_file_that_is_no_toml_is_refused_without_quoting_it(file, content):
    file.write_text(content, "utf-8")
    fault = fault_of(["keeper"], {}, file)
    assert fault.what == f"The file of secrets {file} is not TOML."
    assert fault.__context__ is None


@pytest.mark.parametrize("word", ["", f"{WORD}\n", f"{WORD}\x03", f"{WORD}é", "x" * 201])
def test_a_word_that_cannot_be_typed_is_refused_without_quoting_it(word):
    fault = fault_of(["keeper"], {"EXHIBIT_SECRET_KEEPER": word})
    assert 'The secret "keeper" in the variable EXHIBIT_SECRET_KEEPER' in fault.what


def test_a_secret_that_is_not_a_text_is_refused(file):
    file.write_text("keeper = 7\n", "utf-8")
    assert "not a text" in fault_of(["keeper"], {}, file).what


def test_the_secrets_that_scripts_need_are_those_that_they_type():
    folder = read_folder(ROOT / "scripts" / "whimbrel")
    assert secrets_wanted(folder.scripts.values()) == ["keeper", "tides"]
    assert secrets_wanted([folder.scripts["opening"]]) == []


def test_tidying_up_after_an_earlier_run_needs_the_secrets_of_the_tidy_up():
    folder = read_folder(ROOT / "scripts" / "whimbrel")
    assert secrets_to_tidy_up(folder) == ["tides"]
    assert secrets_to_tidy_up(msgspec.structs.replace(folder, way_home=None)) == []


def test_the_way_home_from_where_an_earlier_run_stopped_can_need_a_secret_too():
    described = heron.folder(heron.script("round", heron.secret("sign-on")))
    says_word = msgspec.structs.replace(heron.AT_REST, ways={"word-wanted": (heron.secret("say-the-word"),)})
    assert secrets_to_tidy_up(msgspec.structs.replace(described, way_home=says_word)) == ["word"]
    assert secrets_to_tidy_up(msgspec.structs.replace(described, way_home=heron.AT_REST)) == []


def test_secrets_that_may_be_needed_are_included_if_they_are_set():
    environment = {"EXHIBIT_SECRET_KEEPER": WORD, "EXHIBIT_SECRET_TIDES": "SEA"}
    secrets = read_secrets(["keeper"], environment, if_there=["tides", "survey"])
    assert dict(secrets) == {"keeper": WORD, "tides": "SEA"}


def test_the_demonstrations_words_are_those_that_its_handbook_prints():
    handbook = (ROOT / "docs/whimbrel.md").read_text("utf-8")
    printed = dict(re.findall(r"^\| (TIDES|SURVEY|KEEPER) \| (\w+) \|", handbook, re.MULTILINE))
    words = demo_secrets(WORDS)
    assert {desk.lower(): word for desk, word in printed.items()} == dict(words)
    wanted = secrets_wanted(read_folder(ROOT / "scripts" / "whimbrel").scripts.values())
    assert set(wanted) <= set(words)
    assert all(word not in repr(words) for word in words.values())


def test_the_report_says_how_to_give_each_missing_secret():
    with pytest.raises(SetUpFault) as caught:
        read_secrets(["keeper", "tides"], {})
    for given in ("EXHIBIT_SECRET_KEEPER", "EXHIBIT_SECRET_TIDES", 'keeper = "..."', 'tides = "..."'):
        assert given in caught.value.do


def test_secrets_that_no_script_types_are_known_too_so_that_they_can_be_withheld(tmp_path):
    file = tmp_path / "secrets.toml"
    file.write_text('keeper = "TWITE804"\nharbour = "EGRET"\n')
    file.chmod(0o600)
    secrets = read_secrets(["keeper"], {"EXHIBIT_SECRET_NIGHT_DESK": "PLOVER"}, file)
    assert dict(secrets) == {"keeper": "TWITE804"}
    assert sorted(secrets.all_words()) == ["EGRET", "PLOVER", "TWITE804"]
    assert repr(secrets) == "Secrets(names: keeper)"


def test_a_person_is_told_of_secrets_that_are_too_short_to_be_found():
    short = read_secrets(["keeper"], {"EXHIBIT_SECRET_KEEPER": "TWI", "EXHIBIT_SECRET_NIGHT": "TWIT"})
    assert '"keeper"' in about_short_secrets(short)
    assert '"night"' not in about_short_secrets(short)
    assert "TWI" not in about_short_secrets(short)
    assert about_short_secrets(read_secrets((), {"EXHIBIT_SECRET_NIGHT": "TWIT"})) == ""
