"""Builds the images' folders, and starts what hosting/compose.yaml names.

`python -m tests.hosting.trial FOLDER`: what was built is kept in FOLDER for the next time. This needs root,
mmdebstrap and a network, and takes several minutes. It is no engine: hosting/README.md says what is left out.
"""

import hashlib
import os
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

from tests.hosting.containerfile import ROOT, carry_out, stages
from tests.hosting.containers import Container, end, services

LONGEST_S = 60
STARTED = "TRIAL_STARTED"


def main() -> int:
    """Builds, then starts itself anew in a network of its own, and starts everything there."""
    work = Path(sys.argv[1]).resolve()
    folders = {name: work / name for name in stages()}
    if STARTED in os.environ:
        return start_all(work, folders)
    base = work / "debian.tar"
    work.mkdir(parents=True, exist_ok=True)
    if not base.exists():
        subprocess.run(["mmdebstrap", "--quiet", "--variant=minbase", "bookworm", base], check=True)
    if len(list((ROOT / "dist").glob("*.whl"))) != 1:
        print("There must be one wheel in dist/: python -m build --no-isolation --wheel", file=sys.stderr)
        return 2
    for name, stage in stages().items():
        if not (work / f"{name}.done").exists():
            carry_out(stage, base, folders, ROOT)
            (work / f"{name}.done").touch()
    command = [
        "unshare",
        "-mn",
        "sh",
        "-c",
        'ip link set lo up && exec "$@"',
        "sh",
        sys.executable,
        "-m",
        __spec__.name,
    ]
    return subprocess.run([*command, work], env={**os.environ, STARTED: "yes"}, check=False).returncode


def until(what: str, holds: Callable[[], bool]) -> None:
    """Waits for something, and prints how long it took."""
    began_s = time.monotonic()
    while not holds():
        if time.monotonic() - began_s > LONGEST_S:
            raise SystemExit(f"FAILED: not within {LONGEST_S} s: {what}")
        time.sleep(0.2)
    print(f"{time.monotonic() - began_s:6.1f} s  {what}", flush=True)


def expect(what: str, holds: bool) -> None:
    """States what was looked at, or ends."""
    if not holds:
        raise SystemExit(f"FAILED: {what}")
    print(f"      ok  {what}", flush=True)


def start_all(work: Path, folders: dict[str, Path]) -> int:
    """Starts the services in their order, disturbs them, and ends them."""
    volumes, log = work / "volumes", work / "log.txt"
    subprocess.run(["rm", "-rf", volumes, log], check=True)
    volumes.mkdir()
    names = services()
    for folder in folders.values():
        (folder / "etc/hosts").write_text(f"127.0.0.1 localhost {' '.join(names)}\n", encoding="utf-8")
    pages = [name for name in names if name.startswith("page")]
    port = {name: f"{8001 + number}" for number, name in enumerate(pages)}
    made = {
        name: Container(
            name,
            said,
            stages()[said["build"]["target"]],
            folders[said["build"]["target"]],
            volumes,
            dict(os.environ),
            ("--port", port[name]) if name in port else (),
        )
        for name, said in names.items()
    }
    running = {}
    try:
        expect("the first start makes keys, passwords and rules", made["prepare"].start(log).wait() == 0)
        before = digests(volumes)
        expect(
            "the next start changes nothing",
            made["prepare"].start(log).wait() == 0 and digests(volumes) == before,
        )
        running["redis"] = made["redis"].start(log)
        until("Redis is well", made["redis"].is_well)
        for name in ("relay", *pages):
            running[name] = made[name].start(log)
        for name in pages:
            until(f"{name} is well", lambda name=name: made[name].is_well(port[name]))
        for name in pages:
            expect(f"{name} serves the visitors' page", "<html" in page_at(port[name]))
        for name in ("redis", "relay", *pages):
            expect_guarded(made[name])
        disturb(made, running, pages, port, log)
        for name in ("relay", *pages, "redis"):
            expect(
                f"{name} ends when asked: {end(running[name])}", running.pop(name).returncode in (0, 143, -15)
            )
    finally:
        for process in running.values():
            process.kill()
        print(f"What they said: {log}")
    return 0


def expect_guarded(container: Container) -> None:
    """Holds a container to what the README says of it."""
    said = container.outcome(
        "id -u; touch /x 2>&1; grep -E '^Cap(Eff|Bnd|Prm)' /proc/self/status | sort -u -k 2"
    )[1]
    expect(
        f"{container.name} is user 10001, can't write to its image, and has no privilege",
        said.startswith("10001\n")
        and "Read-only file system" in said
        and said.count("0000000000000000") == 1
        and said.count("Cap") == 1,
    )
    if container.name.startswith("page"):
        found = container.outcome("cat /login/login | head -1; ls /login/relay /etc/redis 2>&1")[1]
        expect(
            f"{container.name} has its own name only",
            found.startswith("page\n") and found.count("cannot access") == 2,
        )


def disturb(made: dict, running: dict, pages: list[str], port: dict[str, str], log: Path) -> None:
    """Kills a worker, then Redis; an engine starts them again, and so does this."""
    running[pages[0]].kill()
    running[pages[0]].wait()
    expect(
        "one worker was killed, and the others serve",
        all("<html" in page_at(port[name]) for name in pages[1:]),
    )
    running[pages[0]] = made[pages[0]].start(log)
    until("it is well again", lambda: made[pages[0]].is_well(port[pages[0]]))
    running["redis"].kill()
    running["redis"].wait()
    expect("Redis was killed, and every worker serves", all("<html" in page_at(port[name]) for name in pages))
    running["redis"] = made["redis"].start(log)
    until("Redis is well again", made["redis"].is_well)
    running[pages[1]].kill()
    running[pages[1]].wait()
    running[pages[1]] = made[pages[1]].start(log)
    until("a worker that starts afterwards is well", lambda: made[pages[1]].is_well(port[pages[1]]))


def page_at(port: str) -> str:
    """What a browser gets first."""
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=10) as answer:
        return answer.read().decode()


def digests(folder: Path) -> dict[str, str]:
    """The SHA-256 of each file beneath `folder`."""
    return {
        str(path): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


if __name__ == "__main__":
    sys.exit(main())
