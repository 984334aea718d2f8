"""What is installed: Python, and whether the packages are those that were tested."""

from __future__ import annotations

import json
import platform
import re
import shutil
import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path
from typing import Final

from exhibit import __version__
from exhibit.doctor.computer import Computer, Finding

DISTRIBUTION: Final = "exhibit-for-old-machines"
LOCK: Final = Path(__file__).resolve().parents[2] / "supply" / "runtime.txt"
"""Where exhibit runs from its source. A wheel has a bill of materials instead."""
BILL: Final = "exhibit.cdx.json"
OLDEST_PYTHON: Final = (3, 11)
BROWSERS: Final = ("chromium", "chromium-browser", "firefox-esr", "firefox")


def looks_at_installed(computer: Computer) -> Iterator[Finding]:
    """Look at Python, at the packages and for a browser."""
    python: dict[str, object] = {"python": platform.python_version(), "version": __version__}
    yield Finding("python" if sys.version_info >= OLDEST_PYTHON else "python old", python)
    yield from against_lock(tested_versions())
    browser = next((name for name in BROWSERS if shutil.which(name)), "")
    if browser:
        yield Finding("browser", {"browser": browser})
    else:
        shows = computer.at("/etc/systemd/system/exhibit-screen.service").exists()
        yield Finding("browser missing" if shows else "browser not needed")


def against_lock(tested: dict[str, str]) -> Iterator[Finding]:
    """Compare what is installed with what was tested."""
    if not tested:
        yield Finding("lock missing")
        return
    others = [
        f"{name} {installed} ({tested[name]})"
        for name in sorted(tested)
        if (installed := _installed(name)) not in ("", tested[name])
    ]
    if others:
        yield Finding("packages differ", {"packages": ", ".join(others)})
    else:
        yield Finding("packages", {"count": len(tested)})


def tested_versions() -> dict[str, str]:
    """Package -> the version that was tested; empty if that isn't known here."""
    if LOCK.is_file():
        return dict(re.findall(r"^([a-z0-9-]+)==([^ ]+)", LOCK.read_text("utf-8"), re.MULTILINE))
    try:
        files = metadata.distribution(DISTRIBUTION).files or []
    except metadata.PackageNotFoundError:
        return {}
    bill = next((file for file in files if file.name == BILL), None)
    if bill is None:
        return {}
    parts = json.loads(bill.read_text("utf-8")).get("components", [])
    return {part["name"]: part["version"] for part in parts if part.get("purl", "").startswith("pkg:pypi/")}


def _installed(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return ""
