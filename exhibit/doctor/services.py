"""The services, as systemd has them, and the port at which the visitors' page is served."""

from __future__ import annotations

import http.client
import socket
from collections.abc import Iterator
from contextlib import closing
from typing import Final

from exhibit.doctor.computer import Computer, Finding

UNITS: Final = ("exhibit-bridge", "exhibit-page", "exhibit-desk", "exhibit-screen")
PORT: Final = 8000
LOOPBACK: Final = "127.0.0.1"
WITHIN_S: Final = 5.0
OURS: Final = b'id="badge"'
"""Found in the visitors' page and hardly in another program's."""


def looks_at_services(computer: Computer) -> Iterator[Finding]:
    """Look at each service that is set up here."""
    if not computer.has_systemd:
        yield Finding("no systemd")
        return
    known = 0
    for unit in UNITS:
        wanted = ("LoadState", "ActiveState", "UnitFileState", "NRestarts", "Result")
        said = computer.ask(["systemctl", "show", f"{unit}.service", f"--property={','.join(wanted)}"])
        state = dict(line.split("=", 1) for line in said.splitlines() if "=" in line)
        if state.get("LoadState") != "loaded":
            continue
        known += 1
        places: dict[str, object] = {
            "unit": unit,
            "restarts": state.get("NRestarts", "0"),
            "why": state.get("Result", "-"),
        }
        active = state.get("ActiveState")
        if active == "failed":
            yield Finding("service failed", places)
        elif active == "activating":
            yield Finding("service starting", places)
        elif active not in ("active", "reloading") and state.get("UnitFileState") == "enabled":
            yield Finding("service stopped", places)
        elif active not in ("active", "reloading"):
            yield Finding("service off", places)
        else:
            yield Finding("service runs", places)
    if not known:
        yield Finding("no service")


def looks_at_page(port: int = PORT) -> Iterator[Finding]:
    """Look who answers where the visitors' page is served."""
    places: dict[str, object] = {"port": port}
    with closing(socket.socket()) as asking:
        asking.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            asking.bind((LOOPBACK, port))
        except OSError:
            pass
        else:
            yield Finding("page port free", places)
            return
    yield Finding("page served" if _is_ours(port) else "page port taken", places)


def _is_ours(port: int) -> bool:
    asked = http.client.HTTPConnection(LOOPBACK, port, timeout=WITHIN_S)
    try:
        asked.request("GET", "/")
        return OURS in asked.getresponse().read(1_000_000)
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asked.close()
