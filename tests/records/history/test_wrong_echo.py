"""What became of the first wrong character of a command that came back wrong."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.echo import LONGEST_KEPT
from exhibit.records.history.wrong_echo import how_wrong


@pytest.mark.parametrize(
    ("expected", "came_back", "wrong"),
    [
        ("HELP", "HE", "not echoed"),
        ("HELP", "", "not echoed"),
        ("HELP", "HEP", "not echoed"),  # the L is missing, and the P after it came
        ("HELP", "HEX", "echoed as another"),
        ("HELP", "HE\\r\\n", "something else came back"),
        ("HELP", "X", "echoed as another"),
        ("BEGIN S", "BEGIN [", "echoed as another"),
        # shown again by the machine, behind its prompt
        ("LOWER 4 MINUTES", " AGAIN\\r\\nDESK TIDES: LOWER 4 MH", "echoed as another"),
        ("LOWER 4 MINUTES", " AGAIN\\r\\nDESK TIDES: LOWER 4 M", "not echoed"),
        ("LEAVE", " AGAIN\\r\\nDe", "something else came back"),
        ("HELP", "HELPX", "something else came back"),
        ("", "", "something else came back"),
        ("HELP", "HELP", "something else came back"),
        ("HELP", "NOTICE: 5 MINUTES", "something else came back"),
        ("HELP", "H" * LONGEST_KEPT, "something else came back"),
        ("C:\\nEW", "C:\\nE", "not echoed"),
    ],
)
def test_what_became_of_the_first_wrong_character(expected, came_back, wrong):
    assert how_wrong(expected, came_back) == wrong
