"""Only watches: mirrors, records and captions a machine, without any code that could type at it.

Nothing that this module imports, directly or indirectly, can write to the line (a test checks this).
"""

from __future__ import annotations

from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.decisions.watching import Watching
from exhibit.folder.secret_words import Secrets


def watch(order: BridgeOrder, secrets: Secrets) -> int:
    """Watch until the process is asked to stop. Returns the exit status."""
    return run_bridge(
        order,
        typing="nothing",
        make_decider=lambda opened: Watching(order.folder, opened),
        borrower=None,
        type_byte=None,
        secrets=secrets.all_words(),
    )
