"""Whatever is stopped, killed or started behind the page, it shows no error, no alarm, and never nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.sampling import WHOLE, how_sampled, sample
from tests.trials.never_dark import DISTURBANCES, Disturbance, played, table, wrong

pytestmark = [pytest.mark.waits, pytest.mark.timeout(400)]
SECOND_S = 1.0 if WHOLE else 0.05
"""In a run the pauses are short: what follows after twenty seconds of rest is left to the trials."""


@pytest.mark.trial(name="never-dark")
@pytest.mark.parametrize("disturbance", sample(DISTURBANCES, 1), ids=lambda one: one.name)
def test_a_visitor_never_sees_an_error_or_alarm_or_nothing_and_the_page_is_live_again(
    disturbance: Disturbance, page: Page, tmp_path: Path
) -> None:
    with played(disturbance, tmp_path / "recordings", page, SECOND_S) as world:
        shown = table(disturbance, world.rows)
        assert wrong(disturbance, world) == [], f"{shown}\n{how_sampled()}"
        # In the trials every pause is long enough for the recording that follows within a minute.
        turned = any(seen.mode == "meanwhile" for seen in world.rows)
        assert turned or not WHOLE or disturbance.name.startswith("page killed"), shown
        # A screen that is switched on only now finds the page as well.
        page.goto("about:blank")
        world.open()
        world.looks_until(lambda seen: seen.badge != "opening")
