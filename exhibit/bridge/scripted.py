"""Runs scripts at a machine: a bridge that types."""

from __future__ import annotations

from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.decisions.operating import Operating
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.folder.secret_words import Secrets
from exhibit.line.typist import Typist


def run_scripts(order: BridgeOrder, wanted: Wanted, secrets: Secrets) -> int:
    """Run these scripts until they are over or the process is asked to stop. Returns the exit status."""
    typist = Typist(order.line, order.folder.machine.line)

    def type_byte(byte: int, opening: int) -> str:
        outcome = typist.type_byte(byte, opening)
        return str(outcome.fault) if outcome.sent != "yes" else ""

    return run_bridge(
        order,
        typing="scripts",
        make_decider=lambda opened: Operating(Watching(order.folder, opened), wanted, secrets),
        borrower=typist,
        type_byte=type_byte,
        secrets=secrets.all_words(),
    )
