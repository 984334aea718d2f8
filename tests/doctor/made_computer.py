"""A computer made of files, with which everything is well until a test makes something wrong."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from exhibit.doctor.computer import Computer, Finding

LINE = "/dev/exhibit-line"
BRIDGE_UID, LINE_GID = 901, 902


class Made:
    """Its files are beneath `root`; `answers` is what its programs print, by the first words of a command."""

    def __init__(self, root: Path) -> None:
        self.root = root
        root.mkdir()
        self.answers: dict[str, str] = {}
        self.uid = 0
        self.write("/etc/passwd", f"root:x:0:0::/root:\nexhibit-bridge:x:{BRIDGE_UID}:{BRIDGE_UID}::/:\n")
        self.write("/etc/group", f"root:x:0:\nexhibit-line:x:{LINE_GID}:exhibit-bridge\ntty:x:5:\n")
        (root / "etc/localtime").symlink_to("/usr/share/zoneinfo/Etc/UTC")

    def write(self, path: str, text: str) -> Path:
        """Write a file, with its folders."""
        file = self.root / path.lstrip("/")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
        return file

    def process(self, pid: int, *words: str, parent: int = 700, cgroup: str = "0::/user.slice") -> None:
        """A process that runs this command."""
        self.write(f"/proc/{pid}/cmdline", "\0".join(words) + "\0")
        self.write(f"/proc/{pid}/comm", words[0].rpartition("/")[2] + "\n")
        self.write(f"/proc/{pid}/status", f"Name:\tx\nPPid:\t{parent}\n")
        self.write(f"/proc/{pid}/cgroup", cgroup + "\n")
        (self.root / f"proc/{pid}/fd").mkdir()

    def boots_systemd(self) -> None:
        """From now on systemd runs there."""
        (self.root / "run/systemd/system").mkdir(parents=True)

    @property
    def computer(self) -> Computer:
        """The computer that the doctor looks at."""
        return Computer(self.root, self._answer, self.uid)

    def _answer(self, command: Sequence[str]) -> str:
        words = " ".join(command)
        return next((said for begins, said in self.answers.items() if words.startswith(begins)), "")


def keys(findings: Iterable[Finding]) -> list[str]:
    """Which they are."""
    return [finding.key for finding in findings]
