"""What has the visitors' page has no way to the bridge's door, as seen from the operating system."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.desk.desks import World, world
from tests.pages import web_processes
from tests.pages.web_processes import ROOT


def open_files(pid: int) -> list[str]:
    return [os.readlink(f"/proc/{pid}/fd/{name}") for name in os.listdir(f"/proc/{pid}/fd")]


def sockets_of(pid: int, kind: str) -> dict[str, str]:
    """The process's sockets of this kind, by inode, with their lines in /proc/net."""
    inodes = {name[8:-1] for name in open_files(pid) if name.startswith("socket:[")}
    lines = Path(f"/proc/{pid}/net/{kind}").read_text().splitlines()[1:]
    column = 6 if kind == "unix" else 9
    return {fields[column]: line for line in lines if (fields := line.split())[column] in inodes}


def shown(there: World, pid: int) -> bool:
    """Whether the process reads this world's recording by now."""
    return any(f"{there.writer.path}" == name for name in open_files(pid))


def test_the_process_of_the_visitors_page_has_neither_the_door_open_nor_a_connection_to_it(
    tmp_path: Path,
) -> None:
    with world(tmp_path) as there, web_processes.live(tmp_path / "recordings") as page:
        while not shown(there, page.pid):
            there.tablet()  # takes a while, in which the page looks for the recording
        there.tablet("AB").asks("here")
        door = f"{tmp_path / 'door'}"
        assert not any(door in name for name in open_files(page.pid))
        assert not any("people.json" in name for name in open_files(page.pid))
        assert all(door not in line for line in sockets_of(page.pid, "unix").values())
        # It only listens: no connection leads from it to the desk.
        to_desk = f":{there.port:04X}"
        assert all(line.split()[2][-5:] != to_desk for line in sockets_of(page.pid, "tcp").values())


def test_the_code_of_the_visitors_page_has_neither_desk_nor_door() -> None:
    code = (
        "import sys; import exhibit.web.website; "
        "print([name for name in sys.modules if name.startswith(('exhibit.bridge', 'exhibit.desk'))])"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_the_code_of_the_desk_has_of_the_bridge_its_door_alone_and_no_line() -> None:
    code = (
        "import sys; import exhibit.desk.serving; "
        "print(sorted(name for name in sys.modules "
        "if name.startswith(('exhibit.bridge.', 'exhibit.line', 'serial'))))"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "['exhibit.bridge.door_note', 'exhibit.bridge.request_door']"
