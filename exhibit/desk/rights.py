"""Who may ask for what. Stopping never needs a password: any device that somebody has paired may."""

from __future__ import annotations

from typing import Final, Literal, get_args

from exhibit.facts.session_facts import RequestKind

Who = Literal["stranger", "device", "docent", "engineer"]
"""A browser that nobody has paired, one that is, and who is signed in there."""
STOPPING: Final[frozenset[RequestKind]] = frozenset({"stop", "hands off"})
ENGINEERS: Final[frozenset[RequestKind]] = frozenset({"take keyboard", "key in"})
"""A docent may give back what an engineer left behind: then the program finds out where the console is."""
NOT_BY_ITSELF: Final[frozenset[RequestKind]] = frozenset({"note"})
"""A note's words have to be kept first, so it isn't asked for in this way."""
EVERY: Final[frozenset[RequestKind]] = frozenset(get_args(RequestKind))
MAY: Final[dict[Who, frozenset[RequestKind]]] = {
    "stranger": frozenset(),
    "device": STOPPING,
    "docent": EVERY - ENGINEERS - NOT_BY_ITSELF,
    "engineer": EVERY - NOT_BY_ITSELF,
}
