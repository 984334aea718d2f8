"""Strangers can't fill the journal."""

from __future__ import annotations

import logging

from exhibit.web.bounded_log import FewAMinute


def test_messages_a_minute_are_limited_and_the_last_says_so() -> None:
    few = FewAMinute(most=3)
    records = [logging.makeLogRecord({"msg": f"rubbish {number}"}) for number in range(10)]
    written = [record.getMessage() for record in records if few.filter(record)]
    assert written == ["rubbish 0", "rubbish 1", "(further messages of this minute are left out)"]
