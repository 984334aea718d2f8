"""Over weeks in which nothing changes, the sums raise no more alarms than their methods state."""

from __future__ import annotations

import pytest

from tests.sampling import WHOLE, number_of
from tests.trials.good_weeks import WEEKS, good_weeks


@pytest.mark.trial(name="good-weeks", seed="from 1")
@pytest.mark.timeout(7200 if WHOLE else 120)
def test_the_false_alarms_stay_at_the_stated_rate():
    found = good_weeks(range(1, 1 + number_of(WEEKS, 1)))
    for one in found:
        print(one.line)
    assert [one.line for one in found if not one.kept] == []
