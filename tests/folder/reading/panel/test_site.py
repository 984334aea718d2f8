"""A folder without what must be known about its site isn't in order."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from exhibit.folder.files import read_files
from exhibit.folder.reading.languages import SITE
from exhibit.folder.whole import examine

HERON = read_files(Path("scripts/heron"))


def test_these_must_be_known():
    assert [*SITE] == ["mains_stop", "keyholder", "rules", "two_people", "risk_assessment", "fire_watch"]


@pytest.mark.parametrize("key", SITE)
@pytest.mark.parametrize("instead", ["", 'KEY = "TODO"', 'KEY = "yes"'])
def test_each_is_needed_and_the_finding_says_what_to_write(key, instead):
    words = HERON["captions/en.toml"].decode()
    changed = re.sub(rf"(?m)^{key} = .*$", instead.replace("KEY", key), words)
    assert changed != words
    found = [m for m in examine({**HERON, "captions/en.toml": changed.encode()}).mistakes if not m.is_advice]
    assert len(found) == 1
    assert found[0].file == "captions/en.toml"
    assert found[0].write_instead.startswith(f"{key} = ") or instead.endswith('"TODO"')
