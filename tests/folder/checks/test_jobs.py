"""Each job that a script starts is stopped by its tidy-up, which runs whatever happened."""

from __future__ import annotations

import pytest

from tests.folder.folder_writing import FILES, mistakes_in, with_edit

pytestmark = pytest.mark.pure


def test_a_job_that_only_a_step_stops_would_be_forgotten_when_the_script_fails_before_it():
    in_tidy_up = '[[tidy_up]]\nname = "stop-reckon"'
    files, _ = with_edit("round.toml", in_tidy_up, in_tidy_up.replace("tidy_up", "step"))
    _, line = with_edit("round.toml", 'type = "BEGIN RECKON', "")
    found = [m for m in mistakes_in(files) if (m.file, m.line) == ("round.toml", line)]
    assert ["{begin-reckon.job}" in m.what for m in found] == [True]
    assert mistakes_in(FILES) == []
