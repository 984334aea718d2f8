"""Recordings that a command is given belong to the machine that its folder describes."""

from __future__ import annotations

import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.records.given_recordings import opened_recordings
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening


@pytest.mark.parametrize("machine", ["whimbrel", "9" * 9000])
def test_a_recording_of_another_machine_is_named_in_sentences_that_can_be_read(
    tmp_path, monkeypatch, machine
):
    writer = RecordingWriter(tmp_path, an_opening("a"), reserve_bytes=SMALL_RESERVE_BYTES)
    writer.close("enough", 1)
    (path,) = tmp_path.iterdir()
    renamed = an_opening(machine)
    monkeypatch.setattr("exhibit.records.given_recordings.read_opened", lambda _: renamed)
    with pytest.raises(SetUpFault) as raised:
        list(opened_recordings([path], "heron", why_some="", why_one_machine="Steps have their own times."))
    assert raised.value.what.startswith(f"{path} is a recording of {machine[:80]}, and the folder")
    assert max(len(raised.value.what), len(raised.value.do)) < 500
