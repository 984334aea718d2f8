"""An excerpt of a recording: which span it is, what stands in it, and what of people doesn't."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from pathlib import Path

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.records.excerpt.making import Wanted, excerpt_text
from exhibit.records.excerpt.places import place_of
from exhibit.records.excerpt.privacy import LEFT_OUT, Privacy
from exhibit.records.excerpt.span import Piece, take_span
from exhibit.streams.recording import find_time
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening

SAMPLE = Path(__file__).resolve().parents[3] / "recordings/whimbrel-one-round.exhibit"
"""It begins at 10:00:00 and lasts five minutes (recordings/README.md)."""
REASON = "Robin says that the lid sticks"
S_US = 1_000_000


def recorded(folder: Path, *facts: tuple[kinds.AnyFact, float], rate: float = 1.0) -> Path:
    """A recording from 09:30:00 with these facts at these seconds."""
    opened = msgspec.structs.replace(an_opening(rate=rate), languages={"en": "English", "de": "Deutsch"})
    writer = RecordingWriter(folder, opened, reserve_bytes=0)
    for fact, at_s in facts:
        writer.append(fact, round(at_s * S_US))
    writer.close("the test is over", round((facts[-1][1] if facts else 0) * S_US))
    return writer.path


def data_of(page: str) -> dict[str, object]:
    found = re.search(r'<script id="data" type="application/json">(.*?)</script>', page, re.S)
    assert found
    data = json.loads(found[1])
    assert isinstance(data, dict)
    return data


# -- which span


@pytest.mark.parametrize(
    ("text", "at_us"),
    [
        ("10:00:00", 0),
        ("10:02:20", 140 * S_US),
        ("2026-11-25 10:02:20.5", 140_500_000),
        ("10:05", 300 * S_US),
    ],
)
def test_a_time_of_day_is_a_place_in_the_recording(text, at_us):
    assert place_of(SAMPLE, text) == at_us


def test_the_real_time_counts_whatever_the_rate_of_the_recording(tmp_path):
    path = recorded(tmp_path, (kinds.Heartbeat(wall="2026-11-25T09:30:03+01:00"), 60), rate=20.0)
    assert place_of(path, "09:30:02") == 40 * S_US


def test_after_the_clock_was_set_the_time_is_that_of_the_new_one(tmp_path):
    stepped = kinds.ClockStepped(by_us=3600 * S_US, wall="2026-11-25T10:30:10+01:00")
    path = recorded(tmp_path, (stepped, 10), (kinds.Heartbeat(wall="2026-11-25T10:30:20+01:00"), 20))
    assert place_of(path, "10:30:15") == 15 * S_US
    assert place_of(path, "09:30:05") == 5 * S_US
    with pytest.raises(SetUpFault, match="has no moment"):
        place_of(path, "10:00:00")


def test_past_midnight_a_time_is_on_the_day_on_which_it_was_recorded(tmp_path):
    path = recorded(tmp_path, (kinds.Heartbeat(wall="2026-11-26T01:00:00+01:00"), 15.5 * 3600))
    assert place_of(path, "00:30:00") == 15 * 3600 * S_US


@pytest.mark.parametrize("text", ["09:59:59", "10:06", "2026-11-24 10:02:20", "noon", "25:00", "", "--"])
def test_a_time_outside_and_no_time_at_all_are_refused(text):
    with pytest.raises(SetUpFault):
        place_of(SAMPLE, text)


def test_a_span_from_before_the_recording_until_after_it_is_all_of_it():
    assert place_of(SAMPLE, "09:00", or_the="beginning") == 0
    assert place_of(SAMPLE, "23:59", or_the="end") == find_time(SAMPLE, 2**62).at_us
    assert place_of(SAMPLE, "2026-11-24", or_the="beginning") == 0
    assert place_of(SAMPLE, "2026-11-26 00:00", or_the="end") == find_time(SAMPLE, 2**62).at_us
    for text, or_the in [("09:00", "end"), ("23:59", "beginning"), ("2026-11-24 23:59", "end")]:
        with pytest.raises(SetUpFault, match="has no moment"):
            place_of(SAMPLE, text, or_the=or_the)


def test_of_a_recording_past_midnight_a_time_alone_outside_it_is_refused(tmp_path):
    path = recorded(tmp_path, (kinds.Heartbeat(wall="2026-11-26T01:00:00+01:00"), 15.5 * 3600))
    for text, or_the in [("03:00", "beginning"), ("09:00", "end"), ("09:00", "beginning"), ("03:00", "end")]:
        with pytest.raises(SetUpFault, match="has no moment"):
            place_of(path, text, or_the=or_the)
    assert place_of(path, "2026-11-26 03:00", or_the="end") == find_time(path, 2**62).at_us


def test_on_a_command_line_a_length_of_time_needs_no_space():
    spans = [
        data_of(excerpt_text(SAMPLE, Wanted(fact=2928, before=before, after="1 s"), "html", None, Privacy()))
        for before in ("5s", "5 s")
    ]
    assert spans[0]["from_at"] == spans[1]["from_at"]


def test_a_span_is_around_a_fact_or_between_two_times():
    around = data_of(
        excerpt_text(SAMPLE, Wanted(fact=2928, before="5 s", after="1 s"), "html", None, Privacy())
    )
    assert around["from_at"] == "2026-11-25T10:01:59.928+00:00"
    assert around["begin_ms"] == 5000
    between = data_of(
        excerpt_text(SAMPLE, Wanted(from_="10:02:00", until="10:02:05"), "html", None, Privacy())
    )
    assert between["from_at"] == "2026-11-25T10:02:00.000+00:00"
    assert 4900 <= int(str(between["length_ms"])) <= 5000


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(from_="10:03", until="10:02"), "ends before it begins"),
        (Wanted(at="10:02", before="much"), "not a time"),
        (Wanted(fact=999_999), "has no fact 999999"),
    ],
)
def test_a_span_that_can_t_be_is_refused_in_words(wanted, said):
    with pytest.raises(SetUpFault, match=said):
        excerpt_text(SAMPLE, wanted, "html", None, Privacy())


# -- what stands in it


@pytest.fixture(scope="module")
def span():
    return take_span(SAMPLE, 120 * S_US, 150 * S_US, None, Privacy())


def test_the_screen_at_its_beginning_is_that_of_the_whole_recording_until_then(span):
    ms, whole = span.screens[0]
    shown = ["".join(text for text, *_ in runs) for runs in whole["rows"].values()]
    assert ms == 0
    assert any("JOB 2 BEGUN: SUMS" in row for row in shown)


def test_every_character_of_the_line_is_in_it_in_order(span):
    received = "".join(piece.bytes for piece in span.pieces if not piece.by)
    facts = [one.fact for one in span.entries]
    assert received == "".join(fact.bytes for fact in facts if isinstance(fact, kinds.BytesReceived))
    assert all(one.ms <= other.ms for one, other in zip(span.pieces, span.pieces[1:], strict=False))


def test_a_secret_is_not_in_it_whatever_else_was_typed(tmp_path):
    typed = kinds.SecretTyped(by="round")
    path = recorded(tmp_path, (kinds.BytesTyped(bytes="X", count=1, by="round"), 1), (typed, 2))
    assert take_span(path, 0, 3 * S_US, None, Privacy()).pieces == [
        Piece(1000, 1000, "round", "X"),
        Piece(2000, 2000, "round", "", "a secret"),
    ]


def test_a_step_that_began_before_the_span_has_no_time_that_nobody_saw(span):
    assert (span.steps[0].name, span.steps[0].from_ms) == ("round.read-about-sums", None)
    board = next(step for step in span.steps if step.name == "round.show-the-board")
    assert (board.from_ms, board.until_ms, board.ended) == (2749, 4928, "done")


def test_damage_in_the_span_is_said(tmp_path):
    content = SAMPLE.read_bytes().split(b"\n")
    middle = next(number for number, line in enumerate(content) if b'"seq":2928,' in line)
    content[middle] = content[middle].replace(b"step", b"stop", 1)
    path = tmp_path / SAMPLE.name
    path.write_bytes(b"\n".join(content))
    page = excerpt_text(path, Wanted(from_="10:02:00", until="10:02:10"), "html", None, Privacy())
    assert "can’t be read here" in page
    assert "can’t be read here" not in excerpt_text(
        SAMPLE, Wanted(from_="10:02:00", until="10:02:10"), "html", None, Privacy()
    )


def test_a_recording_of_a_stranger_puts_no_markup_and_no_script_into_the_page(tmp_path):
    bad = '</script><script>alert(1)</script><img src=x onerror="alert(1)">'
    path = recorded(
        tmp_path,
        (kinds.LineLost(why=bad), 1),
        (kinds.BytesReceived(bytes=bad, first_us=S_US), 1),
        (kinds.CaptionShown(caption="c", kind="seen", words={"en": bad}, part="", because=[], source={}), 2),
    )
    page = excerpt_text(path, Wanted(from_="09:30:00"), "html", None, Privacy())
    assert page.count("<script") == 2
    assert "<img" not in page


def test_the_table_holds_no_cell_that_a_spreadsheet_would_reckon_with(tmp_path):
    path = recorded(
        tmp_path,
        (
            kinds.CaptionShown(
                caption="c", kind="seen", words={"en": "=1+1"}, part="", because=[], source={}
            ),
            1,
        ),
    )
    rows = list(
        csv.DictReader(io.StringIO(excerpt_text(path, Wanted(from_="09:30:00"), "csv", None, Privacy())))
    )
    assert rows[0]["said"] == "'=1+1"
    assert rows[0]["fact"] == "caption_shown"
    assert rows[0]["after_s"] == "1.000"


def test_captions_count_from_the_beginning_of_the_span():
    said = excerpt_text(SAMPLE, Wanted(from_="10:02:00", until="10:02:10"), "vtt", "de", Privacy())
    assert said.startswith("WEBVTT - ")
    assert "00:00:04.928 --> " in said
    assert "Tafel" in said


def test_the_text_is_that_of_the_console_in_the_span_alone():
    said = excerpt_text(SAMPLE, Wanted(from_="10:02:22", until="10:02:30"), "text", None, Privacy())
    assert "DESK TIDES LEFT" in said
    assert "JOB 1 BEGUN" not in said


def test_too_much_for_a_browser_is_refused(monkeypatch):
    monkeypatch.setattr("exhibit.records.excerpt.span.MOST_FACTS", 100)
    with pytest.raises(SetUpFault, match="Choose a shorter span"):
        take_span(SAMPLE, 0, 300 * S_US, None, Privacy())


def test_a_language_that_it_does_not_have_is_refused():
    with pytest.raises(SetUpFault, match="has no words in the language 'xx'"):
        take_span(SAMPLE, 0, 10 * S_US, "xx", Privacy())


@pytest.mark.parametrize("content", [b"", b"{}\n", b"\x00" * 5000])
def test_what_is_no_recording_is_refused_in_words(tmp_path, content):
    path = tmp_path / "a.exhibit"
    path.write_bytes(content)
    for form in ("html", "text", "csv", "vtt"):
        with pytest.raises(ExhibitError):
            excerpt_text(path, Wanted(at="10:00"), form, None, Privacy())


def test_it_says_what_it_is_about_and_marks_where_something_was_wrong():
    garbled = SAMPLE.parent / "examples/garbling-line/whimbrel-2026-11-03T10-00-00.exhibit"
    page = excerpt_text(garbled, Wanted(fact=1052), "html", None, Privacy())
    about = re.search(r'<p class="about">(.*?)</p>', page)
    assert about
    assert about[1].startswith("The command BEGIN SHUTTLE LOWER 4 MINUTES came back as AGAIN")
    assert about[1].endswith("BEGIN SHUTTLE LOWER0, at attempt 2, so it was not sent.")
    assert page.count('<tr class="wrong"') >= 3
    at_a_time = excerpt_text(garbled, Wanted(at="10:01:50", after="1 s"), "html", None, Privacy())
    assert 'class="about">The command BEGIN SHUTTLE' in at_a_time
    quiet = excerpt_text(SAMPLE, Wanted(at="10:01:50", after="1 s"), "html", None, Privacy())
    assert 'class="about"' not in quiet


# -- what of people doesn't


@pytest.fixture
def with_people(tmp_path):
    """A recording in which somebody refused a step and wrote a note, and the folder of the notes."""
    words = "Robin heard it squeal."
    digest = hashlib.sha256(words.encode()).hexdigest()
    notes = tmp_path / "notes"
    notes.mkdir()
    (notes / f"{digest}.txt").write_text(words)
    path = recorded(
        tmp_path,
        (kinds.RequestMade(request="refuse", by="docent 2", step="start-small", why=REASON), 1),
        (kinds.HandsOnRefused(step="start-small", by="docent 2", why=REASON), 1),
        (kinds.StepFailed(script="opening", step="start-small", why=f"it was refused: {REASON}"), 1),
        (
            kinds.SessionFailed(
                why=f"start-small could not be done: it was refused: {REASON}", last_lines=[]
            ),
            1,
        ),
        (kinds.NoteMade(kind="note", by="docent 2", digest=digest), 2),
    )
    return path, notes


@pytest.mark.parametrize("form", ["html", "csv"])
def test_names_and_what_people_wrote_are_left_out(with_people, form):
    said = excerpt_text(with_people[0], Wanted(from_="09:30:00"), form, None, Privacy())
    assert "Robin" not in said
    assert "docent 2 said that the step start-small can't be done" in said.replace("’", "'")
    assert LEFT_OUT in said


def test_they_are_there_when_they_are_asked_for(with_people):
    path, notes = with_people
    privacy = Privacy({"docent 2": "AB"}, notes)
    said = excerpt_text(path, Wanted(from_="09:30:00"), "csv", None, privacy)
    assert "docent 2 (AB): note: Robin heard it squeal." in said
    assert f"it was refused: {REASON}" in said
    assert LEFT_OUT not in said


def test_a_note_that_was_changed_or_erased_says_nothing(with_people):
    path, notes = with_people
    (note,) = notes.iterdir()
    note.write_text("somebody else's words")
    assert "somebody else" not in excerpt_text(
        path, Wanted(from_="09:30:00"), "csv", None, Privacy({}, notes)
    )
    note.unlink()
    assert "docent 2: note." in excerpt_text(path, Wanted(from_="09:30:00"), "csv", None, Privacy({}, notes))


def test_a_digest_can_t_lead_out_of_the_folder_of_the_notes(tmp_path):
    (tmp_path / "notes").mkdir()
    (tmp_path / "private.txt").write_text("private")
    privacy = Privacy(None, tmp_path / "notes")
    assert privacy.note("../private") == ""
    assert privacy.note("/" * 64) == ""


def test_an_excerpt_of_a_silence_begins_before_the_last_character_and_names_the_step_that_ran(tmp_path):
    silent = kinds.MachineSilent(heard_us=110 * S_US, due_us=130 * S_US, due="step")
    path = recorded(
        tmp_path,
        (kinds.StepStarted(script="round", step="tides"), 10),
        (kinds.BytesReceived(bytes="24 OF 24", first_us=110 * S_US), 110),
        (silent, 400),
    )
    page = excerpt_text(path, Wanted(fact=4, before="1 min", after="1 min"), "html", None, Privacy())
    assert "24 OF 24" in page
    assert "round.tides" in page
    assert "No step ran" not in page
