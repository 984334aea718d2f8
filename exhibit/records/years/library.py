"""DuckDB, which is installed only with `exhibit[years]`. The only module that imports it."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING, Final

from exhibit.facts.errors import not_installed

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

__all__ = ["MEMORY", "Connection", "connect", "faults", "why"]

MEMORY: Final = "512MB"
"""What doesn't fit into this is put on the disc meanwhile."""


def connect(memory: str = MEMORY) -> Connection:
    """A database in memory that reaches nothing but files. Raises SetUpFault if DuckDB isn't installed."""
    try:
        import duckdb
    except ImportError as error:
        why = "Parquet files, and sums over years of many machines, need it; nothing else does."
        raise not_installed("DuckDB", why, "years") from error
    settings: dict[str, str | bool | int | float | list[str]] = {
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
        "memory_limit": memory,
        "preserve_insertion_order": False,
        "temp_directory": tempfile.gettempdir(),
    }
    return duckdb.connect(":memory:", config=settings)


def why(error: Exception) -> str:
    """The first line of what DuckDB says about a fault, which may go on with a piece of the query."""
    return f"{error}".partition("\n")[0]


def faults() -> tuple[type[Exception], ...]:
    """What DuckDB raises."""
    import duckdb

    return (duckdb.Error, OSError)
