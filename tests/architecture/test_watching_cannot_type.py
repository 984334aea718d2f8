"""A decider that only watches can't order anything to be typed."""

from __future__ import annotations

import inspect
import typing

import grimp
import pytest

from exhibit.decisions.commands import Arm, Drop, Tell, Type, WatchCommand
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.flow import Flow
from exhibit.decisions.watching import Watching

KNOW_HOW_TO_TYPE = {
    f"exhibit.decisions.{name}"
    for name in (
        "console.keying",
        "console.sending",
        "console.typing_console",
        "session.session",
        "session.homing",
        "session.programme",
        "operating",
    )
}


@pytest.fixture(scope="module")
def graph():
    return grimp.build_graph("exhibit", cache_dir=None)


def test_no_command_of_one_that_watches_types():
    assert set(typing.get_args(WatchCommand)) == {Arm, Drop, Tell}
    assert Type not in typing.get_args(WatchCommand)


@pytest.mark.parametrize("watches", [Watching, Console, Flow])
def test_all_that_it_orders_is_of_that_type(watches):
    """mypy holds each method to what it says it returns."""
    returned = [
        typing.get_type_hints(method).get("return")
        for _, method in inspect.getmembers(watches, inspect.isfunction)
    ]
    orders = [kind for kind in returned if "Arm" in str(kind)]
    assert orders
    assert not [kind for kind in orders if "commands.Type" in str(kind)]


@pytest.mark.parametrize("module", ["exhibit.decisions.watching", "exhibit.bridge.watching"])
def test_it_reaches_nothing_that_knows_how_to_type(graph, module):
    reached = graph.find_upstream_modules(module)
    assert "exhibit.decisions.console.console" in reached, "the graph is empty, so it proves nothing"
    assert reached & KNOW_HOW_TO_TYPE == set()


def test_one_that_operates_does_reach_it(graph):
    """So the test above would notice."""
    assert graph.find_upstream_modules("exhibit.bridge.scripted") >= KNOW_HOW_TO_TYPE
