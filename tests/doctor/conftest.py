"""The made computer, for every test here."""

from pathlib import Path

import pytest

from tests.doctor.made_computer import Made


@pytest.fixture
def made(tmp_path: Path) -> Made:
    return Made(tmp_path / "root")
