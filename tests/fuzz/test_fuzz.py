"""Each target takes what once found something, some made inputs, and in the trial an hour of others."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from functools import cache
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz.__main__ import fuzz, table
from tests.fuzz.corpus_files import CORPUS, LIST, TARGETS, kept
from tests.fuzz.fed import fed
from tests.sampling import SEED, number_of, sample

HOUR_S = 3600
EXAMPLES = {"codec": 200, "display": 60, "withheld": 60}
"""How many made inputs a run takes; of the other targets, whose inputs take longer, MOST."""
MOST = 25


def targets(names: list[str]) -> Any:
    """These as cases of a test."""
    return pytest.mark.parametrize("name", names)


@cache
def target(name: str) -> ModuleType:
    return importlib.import_module(f"tests.fuzz.{name}")


def one(name: str) -> Callable[[bytes], None]:
    take: Callable[[bytes], None] = fed(name) if name.startswith("web_") else target(name).one
    return take


def changed(seed: bytes, at: int, length: int, by: bytes) -> bytes:
    """A seed with some bytes replaced."""
    at %= len(seed) + 1
    return seed[:at] + by + seed[at + length :]


@targets([*TARGETS])
def test_what_once_found_something_finds_nothing_more(name):
    for data in kept(name).values():
        one(name)(data)


@targets([*TARGETS])
def test_made_inputs_find_nothing(name):
    seeds = target(name).seeds()
    bits = st.binary(max_size=12)
    inputs = st.builds(changed, st.sampled_from(seeds), st.integers(0, 4000), st.integers(0, 8), bits)

    @settings(max_examples=EXAMPLES.get(name, MOST))
    @given(inputs | st.binary(max_size=200))
    def takes(data: bytes) -> None:
        one(name)(data)

    takes()


@pytest.mark.parametrize("name", TARGETS)
def test_every_kept_input_says_what_it_found(name):
    there = CORPUS / name / LIST
    told = (
        re.findall(r"^- `([a-z0-9-]+)`: .+\.$", there.read_text("utf-8"), re.MULTILINE)
        if there.exists()
        else []
    )
    assert told == sorted(kept(name))


@pytest.mark.trial(name="fuzz")
@pytest.mark.waits
@targets(sample([*TARGETS], 1))
def test_an_hour_of_inputs_finds_nothing(name, tmp_path, needs):
    needs.that(importlib.util.find_spec("atheris"), "the package atheris (Linux, Python 3.11 to 3.13)")
    tally = fuzz(name, number_of(HOUR_S // len(TARGETS), 2), SEED, tmp_path)
    print(table([tally]))
    assert tally.inputs > 0
    assert not tally.findings, table([tally])
