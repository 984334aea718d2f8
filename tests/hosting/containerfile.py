"""Reads hosting/Containerfile, and carries out its steps in folders, by chroot, where there is no engine."""

import json
import re
import shlex
import shutil
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CONTAINERFILE = ROOT / "hosting/Containerfile"
STEPS = {"RUN", "COPY", "ENV", "USER", "WORKDIR", "CMD", "HEALTHCHECK"}
OF_THIS_COMPUTER = ("/etc/resolv.conf", "/etc/ssl/certs/ca-certificates.crt")
"""By which a step finds the package indexes, as an engine's own network would let it."""


@dataclass
class Stage:
    """One image: its steps, and what they leave for those who start it."""

    name: str
    base: str
    steps: list[tuple[str, str]] = field(default_factory=list)

    def last(self, kind: str) -> str:
        """What the last step of this kind says, or nothing."""
        return ([said for one, said in self.steps if one == kind] or [""])[-1]

    def environment(self, after: int | None = None) -> list[str]:
        """The variables that a process gets; or a step that comes after so many."""
        set_here = [said for kind, said in self.steps[:after] if kind == "ENV"]
        return ["PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin", *set_here]

    @property
    def command(self) -> list[str]:
        """What is started."""
        return list(json.loads(self.last("CMD")))

    @property
    def health(self) -> str:
        """The command that says whether it is well, for a shell."""
        return self.last("HEALTHCHECK").partition("CMD ")[2]


def stages() -> dict[str, Stage]:
    """The images of the file, by name. Each step must be of a kind that is carried out here."""
    found: dict[str, Stage] = {}
    for line in CONTAINERFILE.read_text("utf-8").splitlines():
        if not line or line.startswith("#"):
            continue
        kind, _, said = line.partition(" ")
        if kind == "FROM":
            base, name = said.split(" AS ")
            stage = found[name] = Stage(name, base)
        else:
            assert kind in STEPS, line
            stage.steps.append((kind, said))
    return found


def carry_out(stage: Stage, base: Path, folders: dict[str, Path], context: Path) -> None:
    """Makes the folder of `stage` from the archive `base` of a bare Debian."""
    folder = folders[stage.name]
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    subprocess.run(["tar", "-xf", base, "-C", folder, "--exclude=./dev/*"], check=True)
    index = ["DEBIAN_FRONTEND=noninteractive", f"PIP_CERT={OF_THIS_COMPUTER[1]}"]
    for number, (kind, said) in enumerate(stage.steps):
        if kind == "RUN":
            for name in OF_THIS_COMPUTER:
                (folder / name[1:]).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(name, folder / name[1:])
            print(f"  {stage.name}: {said}", flush=True)
            devices = f"mount --rbind /dev {folder}/dev && mount -t proc proc {folder}/proc && "
            inside = shlex.join(
                ["chroot", str(folder), "env", "-i", *stage.environment(number), *index, "sh", "-c", said]
            )
            subprocess.run(["unshare", "-m", "sh", "-c", devices + "exec " + inside], check=True)
        elif kind == "COPY":
            copy(said, folder, folders, context)


def copy(said: str, folder: Path, folders: dict[str, Path], context: Path) -> None:
    """Carries out a COPY of files, or of one folder from another stage."""
    origin = re.match(r"--from=(\S+) ", said)
    source = folders[origin[1]] if origin else context
    *names, into = said[origin.end() if origin else 0 :].split()
    target = folder / into.strip("/")
    for name in names:
        found = sorted(source.glob(name.lstrip("/")))
        assert found, f"nothing to copy: {name}"
        for path in found:
            if path.is_dir():
                shutil.copytree(path, target, symlinks=True)
            else:
                target.mkdir(parents=True, exist_ok=True)
                shutil.copy(path, target)
