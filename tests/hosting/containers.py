"""Starts what hosting/compose.yaml names, as an engine would: user, volumes, folders that can't be written.

All containers share one network namespace, in which each of their host names is this computer. So nothing can
be reached from outside, and no port is taken.
"""

import re
import shlex
import signal
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from tests.hosting.containerfile import ROOT, Stage

COMPOSE = ROOT / "hosting/compose.yaml"
USER = "10001"


def services() -> dict[str, dict[str, Any]]:
    """The services of the compose file, by name."""
    return yaml.safe_load(COMPOSE.read_text("utf-8"))["services"]


@dataclass
class Container:
    """One service of the compose file, on the folder of its image."""

    name: str
    said: dict[str, Any]
    stage: Stage
    folder: Path
    volumes: Path
    environment: dict[str, str]
    more: tuple[str, ...] = ()
    """Added to the command: where each needs a port of its own."""

    def mounts(self) -> Iterator[str]:
        """The shell's commands that lay volumes, devices and /tmp over the image's folder."""
        yield f"mount --bind {self.folder} {self.folder}"
        yield f"mount --rbind /dev {self.folder}/dev"
        yield f"mount -t proc proc {self.folder}/proc"
        yield f"mount -t tmpfs -o mode=1777 tmpfs {self.folder}/tmp"
        for volume in self.said.get("volumes", []):
            text = re.sub(r"\$\{(\w+):-([^}]*)\}", lambda m: self.environment.get(m[1], m[2]), volume)
            source, where, *options = text.split(":")
            kept = (COMPOSE.parent / source) if source.startswith((".", "/")) else self.volumes / source
            inside = self.folder / where.strip("/")
            if not kept.exists():
                # An engine fills an empty volume with what the image has there, and its owner is the same.
                subprocess.run(["cp", "-a", inside, kept], check=True)
            yield f"mkdir -p {inside} && mount --bind {kept} {inside}"
            if "ro" in options:
                yield f"mount -o remount,bind,ro {inside}"
        assert self.said["read_only"] is True
        yield f"mount -o remount,bind,ro {self.folder}"

    def process(self, command: str, **streams: Any) -> subprocess.Popen[str]:
        """Starts a shell's command in the container, as its user, without any privilege."""
        place = self.stage.last("WORKDIR") or "/"
        limited = ["setpriv", f"--reuid={self.stage.last('USER')}", f"--regid={USER}", "--clear-groups"]
        limited += ["--no-new-privs", "--bounding-set=-all", "env", "-i", *self.stage.environment()]
        inside = ["chroot", str(self.folder), *limited, "sh", "-c", f"cd {place} && {command}"]
        script = " && ".join([*self.mounts(), "exec " + shlex.join(inside)])
        return subprocess.Popen(["unshare", "-m", "sh", "-c", script], text=True, **streams)

    def start(self, log: Path) -> subprocess.Popen[str]:
        """Starts what the compose file says, or what the image says."""
        told = self.said.get("command") or shlex.join(self.stage.command)
        with log.open("a", encoding="utf-8") as file:
            return self.process(
                shlex.join([*shlex.split(told), *self.more]).join(["exec ", ""]), stdout=file, stderr=file
            )

    def is_well(self, port: str = "8000") -> bool:
        """Whether the image's own check says so."""
        check = self.stage.health.replace(":8000", f":{port}")
        quiet = subprocess.DEVNULL
        return self.process(check, stdout=quiet, stderr=quiet).wait(60) == 0

    def outcome(self, command: str) -> tuple[int, str]:
        """How a command ends in the container, and what it says."""
        process = self.process(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        said, _ = process.communicate(timeout=60)
        return process.returncode, said.strip()


def end(process: subprocess.Popen[str]) -> int:
    """Stops a container as an engine does: a request, then 10 s later by force."""
    process.send_signal(signal.SIGTERM)
    try:
        return process.wait(10)
    except subprocess.TimeoutExpired:
        process.kill()
        return process.wait()
