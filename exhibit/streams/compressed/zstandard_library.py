"""Zstandard (RFC 8878): part of Python from 3.14 on, and before that the same module as a package."""

from __future__ import annotations

import sys

if sys.version_info >= (3, 14):
    from compression import zstd
else:
    from backports import zstd

__all__ = ["zstd"]
