"""Watch only: mirrors, records and captions a machine without any code that could type at it.

Nothing that this module imports, however far one follows it, can write to the line (a test follows it).
"""

from __future__ import annotations

from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.decisions.watching import Watching


def watch(order: BridgeOrder) -> int:
    """Watches until it is told to stop; gives the exit status."""
    return run_bridge(
        order,
        typing="nothing",
        make_decider=lambda opened: Watching(order.folder, opened),
        borrower=None,
        type_byte=None,
    )
