"""TIDEBOOK's clock, which starts from the date and time that the operator types."""

from datetime import datetime, timedelta

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.dialogue import day_text


class Clock:
    """The date and time that the machine believes it is; it knows no time zones.

    `confirmed`: the operator has said that they are right.
    """

    def __init__(self, agenda: Agenda) -> None:
        self.confirmed = False
        self._agenda = agenda
        self._set_us = 0
        self._set_to = datetime(1970, 1, 1)  # noqa: DTZ001 no zones here

    def set(self, moment: datetime) -> None:
        """It is `moment` now."""
        self._set_us, self._set_to = self._agenda.now_us, moment

    def now(self) -> datetime:
        """The date and time."""
        return self._set_to + timedelta(microseconds=self._agenda.now_us - self._set_us)

    def time_text(self) -> str:
        """The time of day as the machine prints it: 09.14."""
        return f"{self.now():%H.%M}"

    def moment_text(self) -> str:
        """Date and time as the machine prints them: 25.11.1998 09.14.05."""
        now = self.now()
        return f"{day_text(now)} {now:%H.%M.%S}"
