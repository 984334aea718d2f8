"""Who it was: a name on the command line becomes a number, and only the list of people has the name."""

from __future__ import annotations

import re
from pathlib import Path

from exhibit.desk.people import People, PeopleFile
from exhibit.facts.errors import SetUpFault

_NUMBERED = re.compile(r"(?:(docent|engineer) )?([1-9][0-9]{0,4})")


def number_of(who: str, people: Path) -> str:
    """What the record says for a name, initials or number: "engineer 1". A bare number is an engineer's.

    Raises SetUpFault for somebody who isn't in the list of people.
    """
    text = " ".join(who.split())
    if (numbered := _NUMBERED.fullmatch(text.lower())) is not None:
        return f"{numbered[1] or 'engineer'} {numbered[2]}"
    known = PeopleFile(people).read() if people.exists() else People()
    if (engineer := known.engineer(text)) is not None:
        return f"engineer {engineer.number}"
    if (docent := known.docent(text)) is not None:
        return f"docent {docent.number}"
    raise SetUpFault(
        f"{who!r} is nobody in the list of people, {people}.",
        "The record has numbers only, so that a name can be erased later.",
        "Give a number, such as 1, or add the name with `exhibit desk people engineer`.",
    )


def names_in(people: Path) -> dict[str, str]:
    """The name of each person in the list, by what the record says: {"engineer 1": ...}."""
    known = PeopleFile(people).read() if people.exists() else People()
    return {f"docent {one.number}": one.initials for one in known.docents} | {
        f"engineer {one.number}": one.name for one in known.engineers
    }
