"""A real redis-server for the tests that ask for one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.relay.redis_here import RedisHere, redis_here


@pytest.fixture
def redis(needs: Any, tmp_path: Path) -> Iterator[RedisHere]:
    """A server of this test's own."""
    needs("redis-server")
    needs("openssl")
    (tmp_path / "redis").mkdir()
    with redis_here(tmp_path / "redis") as server:
        yield server
