"""`exhibit captions` prints what visitors read, in one of the recording's languages."""

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.captions_out import captions_as_webvtt
from tests.pages import made_facts

TWO_LANGUAGES = {"languages": {"de": "Deutsch", "en": "English"}}


@pytest.fixture
def recording(tmp_path):
    """A short day of the Whimbrel, in two languages."""
    return made_facts.write(tmp_path, made_facts.a_day(), made_facts.opened(**TWO_LANGUAGES))


def test_the_command_prints_the_captions_with_their_times(recording):
    done = CliRunner().invoke(main, ["captions", str(recording), "--language", "en"])
    assert done.exit_code == 0
    text = done.stdout_bytes.decode("utf-8")
    assert text == captions_as_webvtt(recording, "en")
    assert text.startswith("WEBVTT - The Whimbrel, the tide computer of Sallowmouth\n\nNOTE\n")
    assert "of the recording" in text
    assert recording.name in text
    assert "It begins at 09:12:00 on 2026-11-25" in text
    assert "The machine has tested its own memory" in text
    assert "Listen: the lower drive" not in text  # that was for people beside the machine


def test_without_a_language_it_takes_the_first_of_the_recording(recording):
    assert captions_as_webvtt(recording, None) == captions_as_webvtt(recording, "de")
    assert "[deutsch]" in captions_as_webvtt(recording, None)


def test_a_simulated_machine_and_a_clock_that_ran_fast_are_named(tmp_path):
    simulated = made_facts.opened(machine_is="simulated", rate=20.0)
    text = captions_as_webvtt(made_facts.write(tmp_path, made_facts.a_day(), simulated), "en")
    assert "The machine was simulated." in text
    assert "20 times as fast" in text


def test_a_real_machine_is_not_called_simulated(recording):
    text = captions_as_webvtt(recording, "en")
    assert "simulated" not in text
    assert "times as fast" not in text
    assert "damaged" not in text


def test_a_damaged_recording_says_so(recording):
    content = recording.read_bytes()
    place = content.index(b"tested its own memory")
    recording.write_bytes(content[:place] + b"T" + content[place + 1 :])
    text = captions_as_webvtt(recording, "en")
    assert "The recording is damaged" in text
    assert "its own memory" not in text


def test_a_language_that_the_recording_does_not_have_is_refused_with_those_that_it_has(recording):
    done = CliRunner().invoke(main, ["captions", str(recording), "--language", "fr"])
    assert done.exit_code == 2
    assert "no captions in the language 'fr'" in done.stderr
    assert "de (Deutsch), en (English)" in done.stderr
    with pytest.raises(SetUpFault):
        captions_as_webvtt(recording, "EN")


def test_a_file_that_is_no_recording_is_refused(tmp_path):
    other = tmp_path / "letter.txt"
    other.write_text("Dear museum,\n")
    with pytest.raises(RecordingFault):
        captions_as_webvtt(other, "en")
