"""Every fact has a sentence, and it is true to the fact."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.records.told import LONGEST, name_of, told
from exhibit.streams.recording import read_all

SAMPLE = Path(__file__).resolve().parents[2] / "recordings" / "whimbrel-one-round.exhibit"


def test_each_fact_of_the_sample_has_a_sentence_of_its_own_kind() -> None:
    for entry in read_all(SAMPLE).entries:
        said = told(entry.fact)
        assert said
        assert len(said) <= LONGEST
        assert ".." not in said.replace("...", "")


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        (
            kinds.StepOverdue(
                script="round", step="add", waited_for=["SUM", "READY"], within_us=8_000_000, last_lines=[]
            ),
            "The step add of round waited 8 s for SUM or READY, and it didn't arrive. It counted as failed.",
        ),
        (
            kinds.TypingGarbled(command="ADD 2 3", expected="ADD 2 3", came_back="AHD 2 3", attempt=1),
            "The command ADD 2 3 came back as AHD 2 3, so it was not sent.",
        ),
        (kinds.KeyboardTaken(by="docent 2"), "docent 2 took the keyboard."),
        (
            kinds.ScriptEnded(script="round", outcome="failed", tidy=False, why="add was late"),
            "The script round failed: add was late. Its tidy-up could not be done.",
        ),
        (kinds.BytesReceived(bytes="A", first_us=0), "1 character was received."),
        (kinds.LineErrorsCounted(parity=2, framing=1), "Characters came damaged: 2 parity, 1 framing."),
    ],
)
def test_what_it_says(fact: kinds.AnyFact, said: str) -> None:
    assert told(fact) == said


def test_a_kind_of_a_later_version_is_shown_as_it_is() -> None:
    fact = kinds.UnknownFact(name="moon_seen", raw='{"phase":"full"}')
    assert name_of(fact) == "moon seen"
    assert told(fact) == 'moon seen (this version doesn\'t know this kind): {"phase":"full"}'


def test_a_stranger_s_long_text_is_cut() -> None:
    assert len(told(kinds.PatternSeen(pattern="x", line="Y" * 90_000))) == LONGEST
