"""A note becomes a fact with its digest, on a machine that is operated and on one that is only watched."""

from __future__ import annotations

import pytest

from exhibit.decisions.commands import Tell
from exhibit.decisions.session.notes_made import NO_DIGEST, note_made
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.heron import folder, opened

DIGEST = "0123456789abcdef" * 4


@pytest.mark.parametrize(
    ("why", "kind"),
    [(DIGEST, "note"), (f"photograph {DIGEST}", "photograph"), (f"minutes kept {DIGEST}", "minutes kept")],
)
def test_each_kind_of_note_becomes_a_fact(why: str, kind: kinds.NoteMade) -> None:
    made = kinds.RequestMade(request="note", by="docent 2", why=why)
    assert note_made(made) == kinds.NoteMade(kind=kind, by="docent 2", digest=DIGEST)


@pytest.mark.parametrize("why", ["", "a note", DIGEST[1:], DIGEST.upper(), f"film {DIGEST}", f"{DIGEST} "])
def test_without_a_digest_there_is_no_note(why: str) -> None:
    made = kinds.RequestMade(request="note", by="docent 2", why=why)
    assert note_made(made) == kinds.RequestRefused(request="note", why=NO_DIGEST)


@pytest.mark.parametrize("watched", [True, False])
def test_it_is_recorded_once_whatever_is_going_on(watched: bool) -> None:
    decider = decider_for(folder(), opened(), None if watched else Wanted(rounds=None))
    made = kinds.RequestMade(request="note", by="docent 2", why=DIGEST)
    told = [command.fact for command in decider.note(kinds.Entry(5, 1, made)) if isinstance(command, Tell)]
    assert told == [kinds.NoteMade(kind="note", by="docent 2", digest=DIGEST)]
