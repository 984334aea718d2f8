"""Runs scripts at a machine: a bridge that types."""

from __future__ import annotations

from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.decisions.machine.script import CLOSING, ROUND
from exhibit.decisions.operating import Operating
from exhibit.decisions.session.day_phase import OPENING
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import Secrets
from exhibit.line.typist import Typist


def run_scripts(order: BridgeOrder, wanted: Wanted | ByTheDay, secrets: Secrets) -> int:
    """Run these scripts until they are over or the process is asked to stop. Returns the exit status.

    A day is never over. Raises SetUpFault if it can't be run by this folder.
    """
    if isinstance(wanted, ByTheDay):
        _check_for_a_day(order)
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


def _check_for_a_day(order: BridgeOrder) -> None:
    folder = order.folder
    missing = [name for name in (OPENING, ROUND, CLOSING) if name not in folder.scripts]
    if missing:
        raise SetUpFault(
            f"The folder has no script {' and no script '.join(missing)}.",
            "A day is an opening, rounds and a closing.",
            "Write the script, or run the others one by one with `exhibit run --script`.",
        )
    if folder.presence_us is None and not folder.simulated_docent:
        raise SetUpFault(
            "Nothing in day.toml says how long rounds may go on without a sign that somebody is there.",
            "With nobody there, nobody would see smoke or hear a drive, so no day begins.",
            'Write within = "30 min" in [presence] of day.toml, or whatever your risk assessment says.',
        )
