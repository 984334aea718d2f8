"""Rounds of the demonstration, judged by the simulator's own log of what happened."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.simulator import truth
from exhibit.simulator.tidebook import tides
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.last_recording import left_open_by_last, this_boot
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder
from tests.bridge.stage import whole_commands
from tests.pages import made_facts
from tests.sampling import number_of

SPEED = 20
"""A busy computer may stall for 0.3 s before an echo is late."""
ROUNDS = number_of(whole=20, daily=2)
EXERCISERS = ("SHUTTLE", "SUMS")
NOTICE = re.compile(r"\r\n== [^\r\n]* ==\r\n")
"""A broadcast in the middle of a line, whose rest follows it."""


def killed_at_a_question(recordings: Path) -> Path:
    """The recording of a demonstration that was killed while the machine asked a question."""
    day = made_facts.a_day()
    (asked,) = (
        number
        for number, (_, fact) in enumerate(day)
        if isinstance(fact, kinds.LandmarkReached) and fact.landmark == "date-right"
    )
    opened = made_facts.opened(machine_is="simulated")
    return made_facts.write(recordings, day[: asked + 1], opened, close=False)


class Played:
    """A demonstration that is over: what was recorded, and what happened."""

    def __init__(self, place: Path, rounds: int) -> None:
        truth_file = place / "truth.jsonl"
        command = [sys.executable, "-m", "exhibit", "demo", "--no-browser", "--port", "0"]
        command += ["--rounds", f"{rounds}", "--speed", f"{SPEED}"]
        command += ["--recordings", f"{place / 'recordings'}", "--truth", f"{truth_file}"]
        self.before = killed_at_a_question(place / "recordings")
        self.ended = subprocess.run(command, capture_output=True, text=True, timeout=1500)
        (path,) = set((place / "recordings").glob("*.exhibit")) - {self.before}
        self.path = path
        recording = read_all(path)
        self.damages = recording.damages
        self.entries = recording.entries
        self.truth = [truth.from_line(line) for line in truth_file.read_bytes().splitlines()]

    def facts(self, kind: type[kinds.Fact]) -> list[kinds.Fact]:
        return [entry.fact for entry in self.entries if isinstance(entry.fact, kind)]

    def happened(self, kind: type[truth.Record]) -> list[truth.Record]:
        return [record for record in self.truth if isinstance(record, kind)]


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    return Played(tmp_path_factory.mktemp("demonstration"), ROUNDS)


@pytest.fixture(scope="module")
def folder() -> Folder:
    return read_folder(scripts_folder() / "whimbrel")


pytestmark = [pytest.mark.trial(name="demonstration"), pytest.mark.waits, pytest.mark.timeout(300)]


def test_the_demonstration_ends_by_itself_and_well(played: Played):
    assert (played.ended.returncode, played.ended.stderr) == (0, ""), played.ended.stdout[-3000:]
    outcomes = [(fact.script, fact.outcome, fact.tidy) for fact in played.facts(kinds.ScriptEnded)]
    rounds = [("round", "done", True)] * ROUNDS
    assert outcomes == [("opening", "done", True), *rounds, ("closing", "done", True)]


def test_a_new_simulator_starts_from_cold_whatever_the_last_one_left_open(played: Played, folder: Folder):
    # The demonstration did not look at what the recording before it left open.
    left = left_open_by_last(played.before.parent, folder, this_boot(), "simulated")
    assert left.recording == played.path.name
    alone = played.before.parent / "before"
    alone.mkdir()
    shutil.copy(played.before, alone)
    assert left_open_by_last(alone, folder, this_boot(), "simulated").question == "date-right"
    assert played.facts(kinds.LastRecordingRead) == []


def test_the_recording_is_whole(played: Played):
    assert played.damages == []
    assert isinstance(played.entries[-1].fact, kinds.RecordingClosed)
    assert [entry.seq for entry in played.entries] == list(range(1, len(played.entries) + 1))


@pytest.mark.parametrize("name", EXERCISERS)
def test_each_exerciser_is_begun_and_stopped_by_its_number_in_every_round(played: Played, name: str):
    begun = [record for record in played.happened(truth.JobBegun) if record.name == name]
    over = [record for record in played.happened(truth.JobOver) if record.name == name]
    stops = Counter(r.text for r in played.happened(truth.CommandTaken) if r.text.startswith("STOP "))
    assert [record.how for record in over] == ["stopped"] * ROUNDS
    assert [record.number for record in begun] == [record.number for record in over]
    assert all(stops[f"STOP {record.number}"] >= 1 for record in over)


@pytest.mark.parametrize("name", EXERCISERS)
def test_each_exerciser_has_used_the_processor_and_a_disc(played: Played, name: str):
    over = [record for record in played.happened(truth.JobOver) if record.name == name]
    assert all(record.processor_us > 0 and record.transfers > 0 and record.passes > 0 for record in over)


def test_the_tides_are_printed_right_every_time(played: Played):
    worked = played.happened(truth.TidesWorked)
    printed = [f for f in played.facts(kinds.PatternSeen) if f.pattern in ("low-water", "high-water")]
    shown = [(f.pattern, f.fields["time"], f.fields["metres"]) for f in printed]
    assert len(worked) == ROUNDS
    expected = [
        ("high-water" if high else "low-water", f"{m // 60:02}.{m % 60:02}", tides.metres(mm).strip())
        for record in worked
        for m, mm, high in record.turns
    ]
    assert shown == expected
    assert len(expected) >= 3 * ROUNDS


def test_the_table_of_heights_stands_on_the_console_as_it_was_worked_out(played: Played):
    received = "".join(fact.bytes for fact in played.facts(kinds.BytesReceived))
    received = NOTICE.sub("", received)
    rows = re.findall(r"METRES((?: +-?\d+\.\d\d){8})", received)
    heights = [height for row in rows for height in row.split()]
    expected = [tides.metres(mm).strip() for r in played.happened(truth.TidesWorked) for mm in r.heights_mm]
    assert heights == expected


def test_the_machine_took_no_command_that_is_not_whole_in_a_script(played: Played, folder: Folder):
    whole = whole_commands(folder)
    taken = [r.text for r in played.happened(truth.CommandTaken) if r.secret_length is None]
    assert len(taken) > 10 * ROUNDS
    assert [text for text in taken if not whole.fullmatch(text)] == []


def test_every_reading_on_the_page_is_what_the_machine_counted_at_that_frame(played: Played):
    frames = played.happened(truth.BoardShown)
    view = View()
    shown = []
    for entry in played.entries:
        view.apply(entry)
        if isinstance(entry.fact, kinds.LandmarkReached) and entry.fact.landmark == "board":
            shown.append(_values(view.batch(0)["readings"]["board"]))
    expected = [
        {
            "load": frame.processor_load,
            "jobs-going": frame.jobs_going,
            "small-transfers": frame.transfers["SMALL"],
            "upper-transfers": frame.transfers["UPPER"],
            "lower-transfers": frame.transfers["LOWER"],
            "disc-errors": frame.disc_errors,
            "jobs": [
                {
                    "job": f"{job.number}",
                    "name": job.name,
                    "desk": job.desk,
                    "state": job.state,
                    "share": f"{job.share}",
                    "seconds": job.seconds,
                    "transfers": f"{job.transfers}",
                    "errors": f"{job.errors}",
                }
                for job in frame.jobs
            ],
        }
        for frame in frames
    ]
    assert len(shown) >= 3 * ROUNDS
    assert shown == expected


def _values(readings: dict[str, dict[str, object]]) -> dict[str, object]:
    return {name: r["table"] if r.get("table") is not None else r["value"] for name, r in readings.items()}


def test_no_secret_is_anywhere(played: Played):
    from exhibit.folder.secret_words import demo_secrets

    # Checksums and digests are hexadecimal, in which four characters of a secret may well turn up.
    raw = re.sub(r"[0-9a-f]{64}|\"crc\":\"[0-9a-f]{8}\"", "", played.path.read_text()).upper()
    received = "".join(fact.bytes for fact in played.facts(kinds.BytesReceived)).upper()
    typed = "".join(fact.bytes for fact in played.facts(kinds.BytesTyped)).upper()
    screens = set()
    view = View()
    for entry in played.entries:
        view.apply(entry)
        if isinstance(entry.fact, kinds.BytesReceived):
            screens.add("\n".join(view.text_rows()).upper())
    places = [raw, received, typed, *screens, played.ended.stdout.upper(), played.ended.stderr.upper()]
    for secret in demo_secrets(WORDS).values():
        for start in range(len(secret) - 3):
            four = secret[start : start + 4].upper()
            assert not [place for place in places if four in place], four
