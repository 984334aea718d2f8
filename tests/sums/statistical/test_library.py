"""Without the extra, whoever asks for a sum is told how to get it."""

from __future__ import annotations

import sys

import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.sums.statistical.library import INSTALL
from exhibit.sums.statistical.rates import rate


def test_without_scipy_a_sentence_says_how_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy", None)
    with pytest.raises(SetUpFault) as told:
        rate(3, 5.0)
    assert "scipy" in told.value.what
    assert told.value.do.endswith(INSTALL)
