"""The libraries of the extra `exhibit[sums]`: scipy, and a sentence that says how to get it."""

from __future__ import annotations

from typing import Any

from exhibit.facts.errors import SetUpFault, not_installed


def distributions() -> Any:
    """The module scipy.stats. Raises SetUpFault if it isn't installed."""
    try:
        from scipy import stats
    except ImportError as fault:
        raise missing("scipy") from fault
    return stats


def missing(library: str) -> SetUpFault:
    """What to say where a library of the extra isn't installed."""
    return not_installed(library, "Only the engineer's sums use it, so exhibit comes without it.", "sums")
