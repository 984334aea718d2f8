"""`exhibit show`: what is shown of a moment is what was recorded up to it, and nothing later."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.records.moment import MomentView, moment_at
from exhibit.records.moment_words import moment_as_json, moment_lines
from exhibit.streams.recording import read_all
from tests.records.index.written import received, write

SAMPLE = Path(__file__).resolve().parents[2] / "recordings" / "whimbrel-one-round.exhibit"
ENTRIES = read_all(SAMPLE).entries


@pytest.mark.parametrize("seq", [1, 700, 2411, 3270, 6000, len(ENTRIES)])
def test_the_screen_is_the_visitors_at_that_fact(seq, tmp_path):
    view = View()
    for entry in ENTRIES[:seq]:
        view.apply(entry)
    moment = moment_at(SAMPLE, seq=seq, cache=tmp_path)
    assert moment.rows == view.text_rows()
    assert moment.seq == seq


def test_from_a_keyframe_it_is_as_from_the_start(tmp_path):
    first = moment_at(SAMPLE, seq=6000, cache=tmp_path)
    assert [path.suffix for path in tmp_path.iterdir()] == [".keyframes"]
    assert moment_at(SAMPLE, seq=6000, cache=tmp_path) == first


def test_a_snapshot_loses_nothing():
    whole, resumed = MomentView(), MomentView()
    for entry in ENTRIES[:3000]:
        whole.apply(entry)
    resumed.restore(whole.snapshot())
    for entry in ENTRIES[3000:4000]:
        whole.apply(entry)
        resumed.apply(entry)
    assert resumed.snapshot() == whole.snapshot()


def test_a_time_of_the_museums_clock_is_the_last_fact_before_it(tmp_path):
    path = write(tmp_path / "a.exhibit", received("ONE\r\n", 1), received("TWO\r\n", 3))
    moment = moment_at(path, local="09:00:02", cache=tmp_path)
    assert (moment.rows[0], moment.rows[1], moment.at[11:19]) == ("ONE", "", "09:00:01")
    assert moment_at(path, local="2026-11-25 09:00:03", cache=tmp_path).rows[1] == "TWO"


def test_a_time_is_found_although_the_clock_was_set(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        received("ONE\r\n", 1),
        (2, kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:00:02+01:00")),
        received("TWO\r\n", 3),
        received("THREE\r\n", 5),
    )
    assert moment_at(path, local="10:00:04", cache=tmp_path).rows[:3] == ["ONE", "TWO", ""]


def test_of_a_time_that_the_clock_showed_twice_it_is_said_which_and_how_to_see_the_other(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        received("ONE\r\n", 5),
        # By ten seconds, which no long silence shows.
        (20, kinds.ClockStepped(by_us=-10_000_000, wall="2026-11-25T09:00:10+01:00")),
        received("TWO\r\n", 22),
        received("THREE\r\n", 32),
    )
    moment = moment_at(path, local="09:00:15", cache=tmp_path)
    assert (moment.rows[:2], moment.seq) == (["ONE", ""], 2)
    assert "twice. This is the first time; for the second use --fact 4." in moment.clock
    assert moment.clock in list(moment_lines(moment))
    assert moment_at(path, seq=4, cache=tmp_path).rows[:2] == ["ONE", "TWO"]
    after = moment_at(path, local="09:00:22", cache=tmp_path)
    assert (after.rows[2], after.clock) == ("THREE", "")


def test_of_a_time_that_was_skipped_it_is_said_that_the_clock_never_showed_it(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        received("ONE\r\n", 5),
        (10, kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:00:10+01:00")),
        received("TWO\r\n", 20),
    )
    moment = moment_at(path, local="09:30", cache=tmp_path)
    assert (moment.rows[:2], moment.seq) == (["ONE", ""], 2)
    assert "09:00:10.000 to 2026-11-25 10:00:10.000 at once, so it never showed 09:30." in moment.clock
    assert moment_at(path, local="10:00:20", cache=tmp_path).rows[1] == "TWO"


def test_a_time_just_after_the_end_is_the_end_also_if_the_clock_once_jumped_over_it(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        received("ONE\r\n", 5),
        (10, kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:00:10+01:00")),
        (30, kinds.ClockStepped(by_us=-3_600_000_000, wall="2026-11-25T09:00:30+01:00")),
        received("TWO\r\n", 40),
    )
    assert moment_at(path, local="09:00:41", cache=tmp_path).rows[1] == "TWO"


def test_a_computer_that_began_with_a_wrong_date_is_asked_by_the_right_one(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        (10, kinds.ClockStepped(by_us=1, wall="2026-11-25T10:00:00+01:00")),
        received("ONE\r\n", 20),
        wall="2020-01-01T00:00:00+01:00",
    )
    assert moment_at(path, local="10:00:10", cache=tmp_path).rows[0] == "ONE"
    with pytest.raises(SetUpFault):
        moment_at(path, local="12:00", cache=tmp_path)


def test_past_midnight_a_time_is_the_next_days(tmp_path):
    path = write(tmp_path / "a.exhibit", received("LATE\r\n", 7200), wall="2026-11-25T23:00:00+01:00")
    assert moment_at(path, local="01:00:00", cache=tmp_path).at[:10] == "2026-11-26"


@pytest.mark.parametrize("wanted", [{"seq": 9}, {"local": "08:00"}, {"local": "12:00"}, {"local": "noon"}])
def test_a_moment_that_is_not_there_is_a_sentence(wanted, tmp_path):
    path = write(tmp_path / "a.exhibit", received("ONE\r\n", 1))
    with pytest.raises(SetUpFault):
        moment_at(path, cache=tmp_path, **wanted)


def test_it_says_who_typed_last_and_never_a_secret(tmp_path):
    path = write(
        tmp_path / "a.exhibit",
        (1, kinds.StepStarted(script="round", step="sign-on")),
        (2, kinds.SecretTyped(by="round")),
        (2, kinds.SecretTyped(by="round")),
        (3, kinds.BytesTyped(bytes="\r", count=1, by="round")),
    )
    moment = moment_at(path, seq=5, cache=tmp_path)
    assert moment.typed is not None
    assert (moment.typed.text, moment.typed.by) == ("[a secret] [return]", "round.sign-on")


def test_a_caption_names_what_it_rests_on(tmp_path):
    moment = moment_at(SAMPLE, seq=3270, cache=tmp_path)
    printed = "\n".join(moment_lines(moment))
    assert "caption    The lower disc has been used 532 times" in printed
    assert "reading_taken  board.lower-transfers 532" in printed
    assert "step       round.read-a-third-frame" in printed
    assert "Die untere" in "\n".join(moment_lines(moment, "de"))
    assert '"board.lower-transfers":{"seq":3270,"at":"2026-11-25T10:02:18.625+00:00"' in moment_as_json(
        moment
    )


def test_a_trouble_is_shown_until_it_is_over(tmp_path):
    raised = kinds.TroubleRaised(trouble="disc-error", line="DISC ERROR 7", words={}, do={})
    over = kinds.TroubleOver(raised=2, by="docent 1")
    path = write(
        tmp_path / "a.exhibit", (1, raised), (5, kinds.Heartbeat(wall="2026-11-25T09:00:05+01:00")), (9, over)
    )
    assert "DISC ERROR 7" in "\n".join(moment_lines(moment_at(path, seq=3, cache=tmp_path)))
    assert moment_at(path, seq=4, cache=tmp_path).troubles == {}


def test_of_a_damaged_fact_it_is_said_that_it_is_damaged_and_where_the_recording_goes_on(tmp_path):
    path = write(tmp_path / "a.exhibit", *(received(f"LINE {n}\r\n", n) for n in range(1, 6)))
    lines = path.read_bytes().splitlines(keepends=True)
    lines[3] = lines[3].replace(b"LINE 3", b"LINE 8")
    path.write_bytes(b"".join(lines))
    with pytest.raises(SetUpFault) as fault:
        moment_at(path, seq=4, cache=tmp_path)
    assert "damaged" in fault.value.what
    assert "go on from fact 5" in f"{fault.value}"
    assert "exhibit mend" in fault.value.do
    with pytest.raises(SetUpFault, match="has no fact 90"):
        moment_at(path, seq=90, cache=tmp_path)


def test_a_trouble_of_an_earlier_recording_is_said_to_be_one(tmp_path):
    raised = kinds.TroubleRaised(
        trouble="held", line="XOFF for 60 s", words={}, do={}, since="2026-11-24T09:51:00+01:00"
    )
    path = write(tmp_path / "a.exhibit", (1, raised))
    said = "\n".join(moment_lines(moment_at(path, seq=2, cache=tmp_path), "en"))
    assert "an earlier recording's, of 2026-11-24 09:51" in said
