"""What the visitors' page knows of a machine that rests until a person begins something."""

from __future__ import annotations

from typing import Any

import pytest

from exhibit.decisions.page.views import View
from tests.decisions.driver import Driver
from tests.decisions.session.day import IN_PHASE, next_day, opening, resting, then


def items(driver: Driver) -> dict[str, Any]:
    view = View()
    for entry in driver.entries:
        view.apply(entry)
    shown: dict[str, Any] = view.batch(0, console=False)["items"]
    return shown


@pytest.mark.parametrize(
    ("driver", "what"),
    [
        (lambda: next_day(IN_PHASE["over"]()), "beginning"),
        (lambda: then(opening(), "stop"), "going on"),
        (lambda: then(resting(), "away"), "going on"),
        (lambda: then(resting(), "close", "confirm"), ""),
        (lambda: then(resting(), "away", "back"), ""),
    ],
    ids=["after midnight", "stopped in the opening", "away", "over", "back"],
)
def test_it_is_known_whether_a_person_has_to_begin_something(driver, what):
    shown = items(driver())
    assert shown["session"]["state"] == "resting"
    assert (shown["waits"] or {"what": ""})["what"] == what
