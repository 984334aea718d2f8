"""Without the extra, whoever asks for a sum is told how to get it."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

import exhibit
from exhibit.facts.errors import SetUpFault
from exhibit.sums.statistical.library import distributions
from exhibit.sums.statistical.rates import rate


def test_without_scipy_a_sentence_says_how_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy", None)
    with pytest.raises(SetUpFault) as told:
        rate(3, 5.0)
    assert "scipy" in told.value.what
    assert told.value.do.endswith(".venv/bin/pip install '.[sums]'")


def test_with_scipy_it_is_scipys():
    assert distributions().norm.cdf(0) == 0.5


def test_the_libraries_of_the_extra_are_imported_in_two_places_and_only_when_needed():
    places = {}
    root = Path(exhibit.__file__).parent
    for path in root.rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            if {name.partition(".")[0] for name in names} & {"scipy", "matplotlib", "numpy"}:
                places[str(path.relative_to(root))] = node not in tree.body
    assert places == {"sums/statistical/library.py": True, "records/reckoning/charts.py": True}
