"""The index's file: where it is, and that it is one of ours and whole; otherwise it is made anew."""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
from pathlib import Path
from typing import Final

from exhibit.facts.errors import SetUpFault
from exhibit.records.index.schema import STATEMENTS, VERSION
from exhibit.streams.keyframe_cache import default_cache_folder

NAME: Final = "exhibit-index.sqlite"
"""The index's name in a folder of recordings."""
_WAITS_S: Final = 60.0
"""How long one process waits while another writes to the same index."""
_PAGES_KIB: Final = 32 * 1024


def connect(
    folder: Path, *, whole: bool = True, empty: bool = False, in_memory: bool = False
) -> sqlite3.Connection:
    """The index of a folder's recordings: beside them, or else in the cache folder, or else in memory.

    If not the `whole` folder is asked for, none is begun beside them; for a folder that is `empty`, in which
    there is no recording, none is begun anywhere. Raises SetUpFault if this Python's
    SQLite can't search text.
    """
    for path in [] if in_memory else _places(folder, whole=whole):
        if empty and not path.exists():
            continue
        found = _opened(path)
        if found is not None:
            return found
    return _made(sqlite3.connect(":memory:"))


def forget(database: sqlite3.Connection) -> None:
    """Remove the file of an index that turned out to be damaged. The connection is closed."""
    path = next((row[2] for row in database.execute("PRAGMA database_list") if row[1] == "main"), "")
    database.close()
    if path:
        _remove(Path(path))


def _places(folder: Path, *, whole: bool) -> list[Path]:
    beside = folder / NAME
    places = [beside] if os.access(folder, os.W_OK) and (whole or beside.exists()) else []
    cache = default_cache_folder()
    if cache is not None:
        mark = hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:40]
        places.append(cache / f"{mark}-{NAME}")
    return places


def _opened(path: Path) -> sqlite3.Connection | None:
    """None if there can't be a file here."""
    if path.is_symlink() or (path.exists() and not path.is_file()):
        return None
    for _ in range(2):
        database = None
        try:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            database = sqlite3.connect(path, timeout=_WAITS_S)
            if _is_ours(database):
                return _tuned(database)
            if _is_empty(database):
                return _made(database)
        except sqlite3.OperationalError as error:
            if database is not None:
                database.close()
            if "fts5" in f"{error}" or "trigram" in f"{error}":
                raise _cannot_search() from error
            return None  # it can't be opened or written here
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            pass  # no index at all, or a damaged one
        except OSError:
            return None
        if database is not None:
            database.close()
        if not _remove(path):
            return None
    return None


def _is_ours(database: sqlite3.Connection) -> bool:
    """Whether it has just the tables that this version makes: a stranger's could have others beside them."""
    if database.execute("PRAGMA user_version").fetchone()[0] != VERSION:
        return False
    said = {row[0] for row in database.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")}
    own = [sql for sql in said if sql in STATEMENTS]
    others = [sql for sql in said if sql not in STATEMENTS]
    return len(own) == len(STATEMENTS) and all("said_text_" in sql for sql in others)


def _is_empty(database: sqlite3.Connection) -> bool:
    return database.execute("SELECT 1 FROM sqlite_master").fetchone() is None


def _made(database: sqlite3.Connection) -> sqlite3.Connection:
    """An empty index. Raises SetUpFault if this Python's SQLite can't search text."""
    try:
        with database:
            database.execute("BEGIN IMMEDIATE")
            if _is_empty(database):  # another process may just have made it
                for statement in STATEMENTS:
                    database.execute(statement)
                database.execute(f"PRAGMA user_version = {VERSION}")
    except sqlite3.OperationalError as error:
        if "fts5" in f"{error}" or "tokenizer" in f"{error}":
            raise _cannot_search() from error
        raise
    return _tuned(database)


def _tuned(database: sqlite3.Connection) -> sqlite3.Connection:
    database.execute("PRAGMA trusted_schema = OFF")
    # What a recording said that was removed is gone from the index too, not only no longer found.
    database.execute("PRAGMA secure_delete = ON")
    database.execute(f"PRAGMA cache_size = -{_PAGES_KIB}")
    # A computer that loses its power may spoil the index, which then is made anew.
    database.execute("PRAGMA synchronous = NORMAL")
    return database


def _remove(path: Path) -> bool:
    with contextlib.suppress(OSError):
        for beside in ("-journal", "-wal", "-shm"):
            path.with_name(path.name + beside).unlink(missing_ok=True)
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return False
    return True


def _cannot_search() -> SetUpFault:
    return SetUpFault(
        f"The SQLite of this Python ({sqlite3.sqlite_version}) can't search text.",
        "Recordings are found through an index, which needs SQLite 3.34 or newer with FTS5.",
        "Install a newer Python, or one whose SQLite has FTS5.",
    )
