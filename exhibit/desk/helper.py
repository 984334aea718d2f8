"""A process of its own for one job that takes long or must reach the disc: the desk goes on answering.

    python -m exhibit.desk.helper password < {"password": ..., "kept": ...}

What it is to do comes in on standard input, so no secret is in the list of processes. The answer is one line.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import msgspec

from exhibit.output.terminal import put


def main(job: str, *where: str) -> dict[str, Any]:
    """Do this job. Returns its answer."""
    if job == "photograph":
        from exhibit.desk.keeping import keep_photograph
        from exhibit.desk.messages import LONGEST_PHOTOGRAPH_BYTES

        return {"digest": keep_photograph(Path(where[0]), sys.stdin.buffer, LONGEST_PHOTOGRAPH_BYTES)}
    given = msgspec.json.decode(sys.stdin.buffer.read())
    if job == "password":
        from exhibit.desk.passwords import is_right

        return {"right": is_right(given["password"], given["kept"])}
    if job == "pair":
        from exhibit.desk.people import PeopleFile, pair

        return {"why": pair(PeopleFile(Path(where[0])), given["code"], given["token"])}
    from exhibit.desk.keeping import keep_minutes, keep_note

    if job == "note":
        return {"digest": keep_note(Path(where[0]), given["text"])}
    digest, kept_at = keep_minutes(Path(where[0]), given["machine"], given["minutes"], Path(where[1]))
    return {"digest": digest, "file": f"{kept_at}"}


def answered(job: str, *where: str) -> dict[str, Any]:
    """The answer, or why there is none."""
    from exhibit.desk.keeping import NotKept
    from exhibit.facts.errors import ExhibitError

    try:
        return main(job, *where)
    except NotKept as not_kept:
        return {"why": f"{not_kept}"}
    except OSError as error:
        return {"why": f"{error.strerror}"}
    except ExhibitError as error:
        return {"why": f"{error}"}


if __name__ == "__main__":
    put(msgspec.json.encode(answered(*sys.argv[1:])).decode("ascii", "backslashreplace"))
