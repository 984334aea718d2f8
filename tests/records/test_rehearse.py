"""`exhibit rehearse`: finds nothing for an unchanged folder, and finds and explains each planted change.

Most of these tests use a recording made on the simulated machine in virtual time; one uses a recording that a
bridge made on a real pseudo-terminal.
"""

import datetime
import re
import shutil

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import demo_secrets
from exhibit.folder.whole import read_folder
from exhibit.records.rehearsing import rehearse, shown
from exhibit.records.simulated_rehearsal import SimulatedRun, rehearse_on_simulator
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.recording import RecordingWriter, read_all
from tests.bridge.stage import stage
from tests.folder.folder_writing import ROOT
from tests.sampling import sample
from tests.streams.samples import SMALL_RESERVE_BYTES, a_recording, an_opening

WHIMBREL = ROOT / "scripts" / "whimbrel"
WALL = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
UNTIL_THEN = 'until = ["desk-tides"]\nwithin = "30 s"\n'
LOG = f'[[step]]\nname = "look-in-the-log"\nat = ["desk-tides"]\ntype = "LOG"\n{UNTIL_THEN}'
TIDES = '[[step]]\nname = "tides-table"\nwait = ["followed-ended"]\nwithin = "3 min"\n'
LOAD = 'rows = "3"\nline = "PROCESSOR LOAD {value: number} PER CENT {...}"'


def record(folder, place, name="whimbrel"):
    """A day of the folder on the simulated machine, as a recording made in virtual time."""
    entries = []
    described = read_folder(folder)
    SimulatedRun(described, Wanted(rounds=1), WALL, entries.append).run()
    writer = RecordingWriter(place, entries[0].fact, reserve_bytes=SMALL_RESERVE_BYTES)
    for entry in entries[1:]:
        writer.append(entry.fact, entry.at_us)
    writer.close("the day is over", entries[-1].at_us)
    return writer.path


@pytest.fixture(scope="module")
def as_it_was(tmp_path_factory):
    """The Whimbrel's folder as it was when the day was recorded."""
    return shutil.copytree(WHIMBREL, tmp_path_factory.mktemp("then") / "whimbrel")


@pytest.fixture(scope="module")
def day(as_it_was, tmp_path_factory):
    """The recording of a day."""
    return record(as_it_was, tmp_path_factory.mktemp("recordings"))


@pytest.fixture
def rehearsed(as_it_was, day, tmp_path):
    """Rehearses the folder, changed in these places, against the day. Returns exit status and lines."""

    def run(*changes):
        folder = shutil.copytree(as_it_was, tmp_path / "whimbrel")
        for file, old, new in changes:
            text = (folder / file).read_text("utf-8")
            assert text.count(old) >= 1, f"{old!r} isn't in {file}"
            (folder / file).write_text(text.replace(old, new, 1) if old else text + new, "utf-8")
        done = CliRunner().invoke(main, ["rehearse", f"{folder}", f"{day}"])
        assert done.exit_code in (0, 1), done.output
        return done.exit_code, done.output.splitlines()

    return run


def starred(lines):
    """The steps that differ, in order."""
    return [found[1] for line in lines if (found := re.match(r" +\* (\S+)", line))]


def joined(lines):
    """All the text, without the line breaks in the table's cells."""
    return " ".join(" ".join(lines).split())


def cells(lines, step):
    """What the table says about a step, then and now, including wrapped lines."""
    start = next(number for number, line in enumerate(lines) if re.match(rf" +(\* )?{step} ", line))
    head = next(line for line in lines[start::-1] if re.match(r" +step +then", line))
    columns = head.index("then"), head.index("now")
    then, now = "", ""
    for line in lines[start:]:
        if then and line[: columns[0]].strip():
            break
        then += " " + line[columns[0] : columns[1]].strip()
        now += " " + line[columns[1] :].strip()
    return then.strip(), now.strip()


# -- nothing changed


def test_an_unchanged_folder_finds_nothing_in_its_own_recording(rehearsed):
    status, lines = rehearsed()
    assert status == 0
    assert starred(lines) == []
    assert "Nothing differs" in lines[-1]
    assert sum("steps the same" in line for line in lines) == 3


def test_an_unchanged_folder_finds_nothing_in_what_a_bridge_recorded_on_a_real_line(tmp_path):
    with stage(tmp_path, speed=20.0) as staged:
        bridge = staged.bridge("--rounds", "1")
        bridge.until(lambda entry: isinstance(entry.fact, kinds.RecordingClosed))
        recording = bridge.recording
    report = rehearse(WHIMBREL, [recording])
    assert not report.differs, "\n".join(report.lines)
    assert sum("steps the same" in line for line in report.lines) == 3


def test_no_secret_is_needed_and_none_is_in_the_recording(rehearsed, day, monkeypatch):
    monkeypatch.delenv("EXHIBIT_SECRET_TIDES", raising=False)
    assert any(isinstance(entry.fact, kinds.SecretTyped) for entry in read_all(day).entries)
    assert rehearsed()[0] == 0


# -- the ten planted changes of the folder


def test_a_changed_prompt_is_waited_for_in_vain(rehearsed):
    status, lines = rehearsed(("machine.toml", 'line = "DESK TIDES:"', 'line = "DESK TIDE:"'))
    assert status == 1
    assert starred(lines)[0] == "say-the-word"
    assert "waits in vain: desk-tides did not come within 30 s" in cells(lines, "say-the-word")[1]
    assert 'Prompt or display desk-tides, "DESK TIDES: ": once then, never now' in joined(lines)


def test_a_changed_line_is_waited_for_in_vain(rehearsed):
    status, lines = rehearsed(("machine.toml", "BEGUN: SHUTTLE", "BEGAN: SHUTTLE"))
    assert status == 1
    assert starred(lines)[0] == "begin-shuttle"
    assert "waits in vain: shuttle-begun did not come" in cells(lines, "begin-shuttle")[1]
    assert 'Line shuttle-begun, "JOB 1 BEGUN: SHUTTLE LOWER 4 MINUTES": once then, never now' in joined(lines)


def test_a_step_that_was_taken_out_is_found_and_what_follows_is_rehearsed_all_the_same(rehearsed):
    status, lines = rehearsed(("round.toml", LOG, ""))
    assert status == 1
    assert starred(lines) == ["look-in-the-log", "stop-shuttle"]
    assert cells(lines, "look-in-the-log")[1] == "no longer in the script"
    assert "without what was typed before it then" in cells(lines, "stop-shuttle")[1]


def test_a_step_that_was_put_in_is_found_and_types_what_never_was(rehearsed):
    added = LOG.replace("look-in-the-log", "see-the-drives").replace('"LOG"', '"DRIVES"')
    status, lines = rehearsed(("round.toml", LOG, f"{added}\n{LOG}"))
    assert status == 1
    assert starred(lines) == ["see-the-drives"]
    then, now = cells(lines, "see-the-drives")
    assert then == "didn't run"
    assert 'typed "DRIVES"' in now
    assert "what the machine would have answered can't be known" in now


def test_a_limit_below_what_the_recording_shows_is_found(rehearsed):
    limit = 'until = ["tidebook-date"]\nwithin = "{} s"'
    status, lines = rehearsed(("opening.toml", limit.format(90), limit.format(8)))
    assert status == 1
    assert starred(lines)[0] == "from-upper"
    assert cells(lines, "from-upper")[1].startswith(
        'typed "UPPER", was late, so a person was asked, tidebook-date'
    )


def test_a_limit_below_what_the_recording_shows_fails_the_script_where_nobody_is_asked(rehearsed):
    limit = 'until = ["tidebook-date"]\nwithin = "{} s"'
    stop = limit.format(8) + '\nlate = "stop"'
    status, lines = rehearsed(("opening.toml", limit.format(90), stop))
    assert status == 1
    assert starred(lines)[0] == "from-upper"
    assert "waits in vain: tidebook-date did not come within 8 s" in cells(lines, "from-upper")[1]
    assert "then done, now failed (tidebook-date did not come in time)" in joined(lines)
    assert "Caption one-operator," not in joined(lines), "what comes after the failure isn't compared"


def test_a_limit_that_the_recording_keeps_is_no_difference(rehearsed):
    limit = 'until = ["tidebook-date"]\nwithin = "{} s"'
    status, lines = rehearsed(("opening.toml", limit.format(90), limit.format(10)))
    assert (status, starred(lines)) == (0, [])


def test_another_name_to_wait_for_is_found(rehearsed):
    status, lines = rehearsed(("round.toml", LOG, LOG.replace('desk-tides"]\nwithin', 'log-empty"]\nwithin')))
    assert status == 1
    assert starred(lines) == ["look-in-the-log"]
    then, now = cells(lines, "look-in-the-log")
    assert "desk-tides came" in then
    assert "log-empty came" in now


def test_a_name_that_never_came_is_waited_for_in_vain(rehearsed):
    status, lines = rehearsed(
        ("round.toml", LOG, LOG.replace('desk-tides"]\nwithin', 'log-entry-lost"]\nwithin'))
    )
    assert status == 1
    assert starred(lines)[:2] == ["look-in-the-log", "read-about-the-log"]
    assert "waits in vain: log-entry-lost did not come within 30 s" in cells(lines, "look-in-the-log")[1]
    assert cells(lines, "read-about-the-log")[1] == "not reached"


def test_a_changed_command_is_found_and_the_answer_is_not_made_up(rehearsed):
    status, lines = rehearsed(("round.toml", 'type = "LOG"', 'type = "LOGS"'))
    assert status == 1
    assert starred(lines) == ["look-in-the-log"]
    then, now = cells(lines, "look-in-the-log")
    assert 'typed "LOG"' in then
    assert 'typed "LOGS"' in now
    assert "what the machine would have answered can't be known" in now
    assert "continues where the recording next comes to desk-tides" in now


def test_a_new_trouble_is_found(rehearsed):
    words = '\n[troubles.empty]\nwords = "Nothing in it."\ndo = "Nothing to do."\n'
    trouble = '[troubles.empty]\nline = "LOG IS EMPTY"\nends_script = false\n\n[troubles.wrong-word]'
    languages = sorted((WHIMBREL / "captions").glob("*.toml"))
    status, lines = rehearsed(
        ("machine.toml", "[troubles.wrong-word]", trouble),
        *((f"captions/{language.name}", "", words) for language in languages),
    )
    assert status == 1
    assert starred(lines) == []
    assert 'Trouble empty, "LOG IS EMPTY": never then, once now' in joined(lines)


def test_a_caption_that_comes_from_something_else_is_found(rehearsed):
    status, lines = rehearsed(("story.toml", 'when = "small-ready"', 'step_done = "closing.stop-lower"'))
    assert status == 1
    assert starred(lines) == []
    assert re.search(r'Caption small-ready, "[^"]+": once then, never now', joined(lines))
    assert re.search(r'Caption small-ready, "[^"]+": never then, once now', joined(lines))


def test_a_reading_taken_off_another_row_is_found(rehearsed):
    status, lines = rehearsed(("machine.toml", LOAD, LOAD.replace('"3"', '"4"')))
    assert status == 1
    assert starred(lines) == []
    assert re.search(r'Reading board\.load, "\d+": \S+( times)? then, never now', joined(lines))


# -- more than the ten


def test_a_wait_that_was_taken_out_leaves_the_next_step_waiting_for_its_prompt_in_vain(rehearsed):
    # The story names this step in a caption; another step takes its place there.
    told = ("story.toml", 'step_started = "round.tides-table"', 'step_started = "round.call-tides"')
    sooner = ("round.toml", LOG, LOG.replace("30 s", "10 s"))  # the pauses before it take up some of the wait
    status, lines = rehearsed(("round.toml", TIDES, ""), sooner, told)
    assert status == 1
    assert starred(lines)[:2] == ["tides-table", "look-in-the-log"]
    assert "waits in vain: desk-tides did not come within 10 s" in cells(lines, "look-in-the-log")[1]


def test_where_the_recording_never_comes_to_it_the_rehearsal_of_that_run_ends_and_the_next_goes_on(rehearsed):
    changed = LOG.replace('"LOG"', '"LOGS"').replace('desk-tides"]\nwithin', 'log-entry-lost"]\nwithin')
    status, lines = rehearsed(("round.toml", LOG, changed))
    assert status == 1
    assert starred(lines) == ["look-in-the-log"]
    assert "ends before the script does: the recording doesn't come to log-entry-lost after it" in joined(
        lines
    )
    assert cells(lines, "stop-shuttle \\(tidy-up\\)")[1] == "not rehearsed"
    assert any(re.match(r" +closing .* steps the same", line) for line in lines)


def test_a_longer_pause_is_shown_but_is_no_difference(rehearsed):
    pause = 'name = "read-about-desks"\npause = "{} s"'
    status, lines = rehearsed(("round.toml", pause.format(7), pause.format(70)))
    assert (status, starred(lines)) == (0, [])


def test_a_date_that_nobody_was_asked_about_then_is_taken_as_agreed_to(rehearsed):
    rule = "[calendars.tidebook]\nyear = "
    status, lines = rehearsed(("machine.toml", f'{rule}"stand-in"', f'{rule}"ask"'))
    assert (status, starred(lines)) == (1, ["say-the-date"])
    then, now = cells(lines, "say-the-date")
    assert now == f"{then}; nobody was asked for it then: assumed to be done"


def test_a_hands_on_step_that_was_put_in_is_taken_as_done(rehearsed):
    added = (
        '[[step]]\nname = "look-at-it"\nhands_on = "start-lower"\ncaution = "spinning"\nwithin = "5 min"\n\n'
    )
    before = '[[step]]\nname = "press-start"'
    acts = 'press-start = ["switches {start}", "press start"]'
    status, lines = rehearsed(
        ("opening.toml", before, added + before),
        ("simulated-docent.toml", acts, f'look-at-it = ["lamps"]\n{acts}'),
    )
    assert status == 1
    assert starred(lines) == ["look-at-it"]
    assert "nobody was asked for it then: assumed to be done" in cells(lines, "look-at-it")[1]


def test_a_run_of_a_script_that_no_longer_exists_is_reported(as_it_was, tmp_path):
    started = kinds.ScriptStarted(script="pack-copy", title={"en": "Copying"}, by="a person")
    report = rehearse(as_it_was, [a_recording(tmp_path, [(started, 1_000_000)])])
    assert report.differs
    assert any("pack-copy at" in line and "no such script any more" in line for line in report.lines)


@pytest.mark.trial(name="cut-recordings")
def test_a_recording_that_breaks_off_is_rehearsed_as_far_as_it_goes(as_it_was, day, tmp_path):
    lines = day.read_bytes().splitlines(keepends=True)
    cut = tmp_path / day.name
    for part in sample(range(60, 3200, 97), 8):
        cut.write_bytes(b"".join(lines[: len(lines) * part // 3200]))
        report = rehearse(as_it_was, [cut])
        assert not report.differs, "\n".join(report.lines)


# -- what can't be done


def test_a_recording_of_another_machine_is_refused(as_it_was, tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(machine="curlew"), reserve_bytes=SMALL_RESERVE_BYTES)
    writer.close("the test is over", 1)
    with pytest.raises(SetUpFault, match="curlew"):
        rehearse(as_it_was, [writer.path])


def test_it_ends_with_2_and_three_sentences_where_there_is_no_recording(as_it_was, tmp_path):
    done = CliRunner().invoke(main, ["rehearse", f"{as_it_was}", f"{tmp_path}"])
    assert done.exit_code == 2
    assert len(done.output.splitlines()) == 3


def test_it_needs_a_recording_or_the_simulator(as_it_was):
    done = CliRunner().invoke(main, ["rehearse", f"{as_it_was}"])
    assert done.exit_code == 2
    assert "--simulator" in done.output


def test_its_help_lists_the_exit_statuses():
    said = " ".join(CliRunner().invoke(main, ["rehearse", "--help"]).output.split())
    assert "The exit status is 0 if nothing differs, 1 if something does, and 2 if it can't be done." in said


def test_a_recording_without_any_script_is_only_looked_through(as_it_was, tmp_path):
    report = rehearse(as_it_was, [a_recording(tmp_path)])
    assert not report.differs
    assert "Not rehearsed, for lack of a recorded run: closing, opening, packs, round." in report.lines


# -- on the simulated machine


def test_on_the_simulated_machine_the_folder_s_day_goes_as_scripted(as_it_was):
    done = CliRunner().invoke(main, ["rehearse", f"{as_it_was}", "--simulator"])
    assert done.exit_code == 0, done.output
    assert "Each step ends as its script says." in done.output
    assert all(f"\n  {script}" in done.output for script in ("opening:", "round 1:", "closing:"))


def test_on_31_december_2027_the_docent_is_asked_about_the_date(as_it_was):
    entries = []
    evening = datetime.datetime(2027, 12, 31, 9, 30, tzinfo=datetime.UTC)
    SimulatedRun(read_folder(as_it_was), Wanted(rounds=1), evening, entries.append).run()
    asked = [e.fact for e in entries if isinstance(e.fact, kinds.HandsOnAsked) and not e.fact.caution]
    assert [(fact.step, "31.12.1999" in fact.words["en"]) for fact in asked] == [("say-the-date", True)]
    believed = [e.fact for e in entries if isinstance(e.fact, kinds.LandmarkReached)]
    assert any(fact.fields.get("weekday") == "FRIDAY" for fact in believed if fact.landmark == "date-right")
    assert [e.fact.outcome for e in entries if isinstance(e.fact, kinds.ScriptEnded)] == ["done"] * 3


def test_on_the_simulated_machine_a_command_that_it_does_not_know_is_found(as_it_was, tmp_path):
    folder = shutil.copytree(as_it_was, tmp_path / "whimbrel")
    text = (folder / "round.toml").read_text()
    (folder / "round.toml").write_text(text.replace('type = "LOG"', 'type = "LOGBOOK"'))
    report = rehearse_on_simulator(folder, WALL)
    assert report.differs
    assert any(line.strip().startswith("Trouble not-understood") for line in report.lines)


def test_on_the_simulated_machine_a_docent_with_the_wrong_act_is_found(as_it_was, tmp_path):
    folder = shutil.copytree(as_it_was, tmp_path / "whimbrel")
    text = (folder / "simulated-docent.toml").read_text()
    (folder / "simulated-docent.toml").write_text(text.replace('["start upper"]', '["start lower"]'))
    report = rehearse_on_simulator(folder, WALL)
    assert report.differs
    assert any(line.lstrip().startswith("* ") for line in report.lines)


def test_a_secret_that_the_simulated_machine_does_not_have_is_reported_before_anything_runs(
    as_it_was, tmp_path
):
    folder = shutil.copytree(as_it_was, tmp_path / "whimbrel")
    text = (folder / "closing.toml").read_text()
    (folder / "closing.toml").write_text(text.replace('secret = "keeper"', 'secret = "harbour"'))
    with pytest.raises(SetUpFault, match="no secret named harbour"):
        rehearse_on_simulator(folder, WALL)


def test_a_secret_that_the_simulated_machine_echoes_is_not_recorded(as_it_was, tmp_path):
    folder = shutil.copytree(as_it_was, tmp_path / "whimbrel")
    text = (folder / "simulated-docent.toml").read_text()
    (folder / "simulated-docent.toml").write_text(text.replace('["key on"]', '["key on", "fault echo word"]'))
    entries = []
    SimulatedRun(read_folder(folder), Wanted(rounds=1), WALL, entries.append).run()
    word = demo_secrets(WORDS)["tides"].upper()
    received = "".join(e.fact.bytes for e in entries if isinstance(e.fact, kinds.BytesReceived)).upper()
    assert any(isinstance(entry.fact, kinds.SecretWithheld) for entry in entries)
    assert not any(word[at : at + 4] in received for at in range(len(word) - 3))


def test_two_rehearsals_on_the_simulated_machine_print_the_same(as_it_was):
    assert rehearse_on_simulator(as_it_was, WALL).lines == rehearse_on_simulator(as_it_was, WALL).lines


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("LOG\r", '"LOG"'),
        ("\r", "RETURN"),
        (" ", "the space bar"),
        ("\x18", "control X"),
        ("A\x18", '"A<control X>"'),
    ],
)
def test_what_was_typed_is_shown_as_a_person_would_say_it(typed, said):
    assert shown(typed) == said
