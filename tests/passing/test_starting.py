"""The passing process has its socket where its name fits."""

import os
from pathlib import Path

import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.passing.starting import Passer

LONGEST_SOCKET_BYTES = 107
"""unix(7): sun_path has 108 bytes, with the zero at its end."""


@pytest.mark.parametrize("length", [20, 70, 71, 120])
def test_a_long_runtime_folder_is_not_used_because_the_sockets_name_would_not_fit(
    length: int, monkeypatch: pytest.MonkeyPatch
):
    runtime = Path("/tmp") / ("r" * (length - len("/tmp/")))
    runtime.mkdir(mode=0o700, exist_ok=True)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(runtime))
    try:
        place = Passer("/dev/one", "/dev/other", LineSettings()).place
        assert len(os.fsencode(place)) <= LONGEST_SOCKET_BYTES
        assert place.is_relative_to(runtime) is (length <= 70)
    finally:
        for folder in (runtime / "exhibit", runtime):
            if folder.is_dir():
                folder.rmdir()
