"""What a result rests on, in one line; and what is said when there is too little to compute anything."""

from __future__ import annotations

import msgspec


class Basis(msgspec.Struct, frozen=True, kw_only=True):
    """The method of a result, the number of observations, and what the method takes for granted."""

    method: str
    n: int
    of: str = "values"
    """What was counted: "runs", "errors"."""
    assumes: str

    @property
    def line(self) -> str:
        """All of it in one line."""
        return f"{self.method}; n = {self.n} {self.of}; assumes {self.assumes}."


class TooFew(msgspec.Struct, frozen=True, kw_only=True):
    """There are too few observations, so nothing was computed."""

    method: str
    n: int
    wanted: int
    of: str = "values"

    @property
    def line(self) -> str:
        """It in one line."""
        return f"{self.method}: too little data ({self.n} {self.of} of {self.wanted}); nothing computed."
