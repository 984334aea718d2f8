"""Makes the decider that a test needs."""

from __future__ import annotations

from collections.abc import Mapping

from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.operating import Operating
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds


def decider_for(
    folder: Folder,
    opened: kinds.RecordingOpened,
    wanted: Wanted | ByTheDay | None = None,
    secrets: Mapping[str, str] | None = None,
) -> Decider:
    """One that operates the machine where something is wanted; else one that only watches it."""
    watching = Watching(folder, opened)
    return watching if wanted is None else Operating(watching, wanted, secrets or {})
