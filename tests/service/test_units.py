"""The units: systemd takes them, the program takes their commands, and none can do much more than its job."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import click
import pytest

from exhibit.commands.cli import main
from exhibit.commands.running import BRIDGE_ENDS_WITHIN_S
from exhibit.doctor.computer import BRIDGE_USER
from exhibit.doctor.folder import SERVICE_FOLDER, SERVICE_SECRETS
from exhibit.doctor.looking import SERVICE_RECORDINGS
from exhibit.doctor.port import SERVICE_LINE
from exhibit.doctor.services import UNITS

SERVICE = Path(__file__).resolve().parents[2] / "service"
MOST_EXPOSED = {"exhibit-bridge": 0.9, "exhibit-page": 1.2, "exhibit-desk": 1.3, "exhibit-screen": 8.0}
"""As systemd 252 counts, of at most 10. The screen's browser shuts itself in, for which it needs rights."""
OURS = ("exhibit-bridge", "exhibit-page", "exhibit-desk")


def unit(name: str) -> dict[str, list[str]]:
    """Each key of a unit or drop-in, with its values in order."""
    found: dict[str, list[str]] = {}
    for line in (SERVICE / name).read_text("utf-8").splitlines():
        if "=" in line and not line.startswith("#"):
            key, value = line.split("=", 1)
            found.setdefault(key, []).append(value)
    return found


def named(name: str) -> dict[str, list[str]]:
    return unit(f"{name}.service")


def command_of(line: str) -> list[str]:
    program, *words = shlex.split(line)
    assert program == "/opt/exhibit/now/bin/exhibit"
    return words


def test_there_is_a_unit_for_each_service_that_the_doctor_looks_at():
    assert {path.stem for path in SERVICE.glob("*.service")} == set(UNITS) == set(MOST_EXPOSED)


@pytest.mark.parametrize("name", [*OURS, "network-adapter"])
def test_the_program_takes_the_command(needs, name):
    file = f"{name}.conf" if name == "network-adapter" else f"{name}.service"
    command, *arguments = command_of(unit(file)["ExecStart"][-1])
    needs.that(command in main.commands, f"the command `exhibit {command}`, which is still to be written")
    known = {option for one in main.commands[command].params for option in one.opts}
    missing = {word for word in arguments if word.startswith("--")} - known
    needs.that(not missing, f"options of `exhibit {command}` that are still to be written: {missing}")
    with main.commands[command].make_context(command, list(arguments), resilient_parsing=False) as taken:
        assert isinstance(taken, click.Context)


def test_the_places_are_those_where_the_doctor_looks():
    bridge = named("exhibit-bridge")
    command = bridge["ExecStart"][0]
    for place in (SERVICE_FOLDER, SERVICE_SECRETS, SERVICE_RECORDINGS, SERVICE_LINE):
        assert place in shlex.split(command)
    assert bridge["User"] == [BRIDGE_USER]
    assert 'SYMLINK+="exhibit-line"' in (SERVICE / "60-exhibit.rules").read_text("utf-8")


@pytest.mark.parametrize("name", OURS)
def test_each_has_a_user_of_its_own_a_watchdog_and_a_folder_system_that_it_cannot_write(name):
    said = named(name)
    assert said["User"] == [name]
    assert said["Type"] == ["notify"]
    assert int(said["WatchdogSec"][0]) >= 30
    assert said["ProtectSystem"] == ["strict"]
    assert said["LimitCORE"] == ["0"], "what is in memory can be secret"
    assert said["Restart"][0] in ("on-failure", "always")


def test_the_bridge_is_not_started_again_without_end_and_has_time_to_tidy_up():
    said = named("exhibit-bridge")
    assert (said["StartLimitBurst"], said["StartLimitIntervalSec"]) == (["5"], ["1h"])
    assert int(said["TimeoutStopSec"][0]) > BRIDGE_ENDS_WITHIN_S


def test_the_bridge_has_one_device_and_no_network_unless_its_line_is_one():
    said = named("exhibit-bridge")
    assert said["DevicePolicy"] == ["closed"]
    assert said["DeviceAllow"] == [f"{SERVICE_LINE} rw"]
    assert said["PrivateNetwork"] == ["yes"]
    assert said["RestrictAddressFamilies"] == ["AF_UNIX"]
    assert "ProtectClock" not in said, "it allows the device of the clock"
    with_network = unit("network-adapter.conf")
    assert with_network["DeviceAllow"] == [""]
    assert with_network["IPAddressAllow"] == ["192.0.2.7"]
    assert with_network["ExecStart"][-1] == said["ExecStart"][0].replace(
        SERVICE_LINE, "socket://192.0.2.7:4001"
    )


def groups() -> dict[str, set[str]]:
    """User -> its groups, by the unit and by sysusers.conf."""
    found = {name: {*named(name)["Group"], *named(name).get("SupplementaryGroups", [])} for name in OURS}
    for line in (SERVICE / "sysusers.conf").read_text("utf-8").splitlines():
        kind, *words = line.split()
        if kind == "u":
            found.setdefault(words[0], set()).add(words[0])
        elif kind == "m":
            found[words[0]].add(words[1])
    return found


def folders() -> dict[str, list[str]]:
    """Path -> mode, user, group."""
    lines = [line.split() for line in (SERVICE / "tmpfiles.conf").read_text("utf-8").splitlines()]
    return {words[1]: words[2:5] for words in lines if words and words[0] in ("d", "f")}


def test_the_page_can_read_recordings_and_has_no_way_to_the_door_the_line_or_a_secret():
    of = groups()
    assert folders()[SERVICE_RECORDINGS] == ["2750", "exhibit-bridge", "exhibit"]
    assert "exhibit" in of["exhibit-page"]
    mode, user, group = folders()["/run/exhibit"]
    assert mode[-1] == "0", "others can't enter the door's folder"
    assert group not in of["exhibit-page"]
    assert group in of["exhibit-desk"]
    assert named("exhibit-desk")["Group"] == [group], "the door knows a caller by its first group"
    assert user == "exhibit-bridge"
    assert "exhibit-line" not in of["exhibit-page"] | of["exhibit-desk"]
    assert folders()[SERVICE_SECRETS] == ["0600", "exhibit-bridge", "exhibit-bridge"]
    barred = " ".join(named("exhibit-page")["InaccessiblePaths"])
    assert {"-/run/exhibit", "-/etc/exhibit"} <= set(barred.split())


def test_the_rule_keeps_other_programs_from_the_adapter_and_starts_the_bridge():
    text = (SERVICE / "60-exhibit.rules").read_text("utf-8")
    for part in (
        'ENV{ID_MM_DEVICE_IGNORE}="1"',
        'GROUP="exhibit-line"',
        'MODE="0660"',
        'TAG+="systemd"',
        'ENV{SYSTEMD_WANTS}+="exhibit-bridge.service"',
    ):
        assert part in text
    assert r"Wants=dev-exhibit\x2dline.device" in (SERVICE / "exhibit-bridge.service").read_text("utf-8")


# -- what systemd says


@pytest.fixture
def analyze(needs, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_RUNTIME_DIR", f"{tmp_path}")
    return needs("systemd-analyze")


@pytest.mark.parametrize("name", UNITS)
def test_systemd_counts_little_that_a_service_could_do(analyze, name, capsys):
    done = subprocess.run(
        [analyze, "security", "--offline=true", "--no-pager", SERVICE / f"{name}.service"],
        capture_output=True,
        text=True,
        check=False,
    )
    exposure = re.search(r"Overall exposure level for \S+: ([0-9.]+)", done.stdout)
    assert exposure is not None, done.stdout + done.stderr
    with capsys.disabled():
        print(f"\n{name}: {exposure[1]} of 10 exposed")
    assert float(exposure[1]) <= MOST_EXPOSED[name]


def verified(analyze: str, folder: Path, name: str) -> list[str]:
    """What systemd complains of in this unit, with programs that are here in place of those that aren't."""
    path = folder / f"{name}.service"
    text = re.sub(r"(?m)^(ExecStart(?:Pre)?=)\S+", rf"\g<1>{shutil.which('true')}", path.read_text("utf-8"))
    path.write_text(text)
    done = subprocess.run([analyze, "verify", path], capture_output=True, text=True, check=False)
    return [line for line in done.stderr.splitlines() if path.name in line]


@pytest.mark.parametrize("name", UNITS)
def test_systemd_takes_the_unit_and_would_notice_a_slip(analyze, tmp_path, name):
    for path in SERVICE.glob("*.service"):
        shutil.copy(path, tmp_path)
    assert verified(analyze, tmp_path, name) == []
    slip = tmp_path / f"{name}.service"
    slip.write_text(slip.read_text("utf-8").replace("RestartSec=", "RestartSeconds="))
    assert "RestartSeconds" in "".join(verified(analyze, tmp_path, name))


def test_systemd_makes_the_users_and_folders(needs, tmp_path):
    sysusers, tmpfiles = needs("systemd-sysusers"), needs("systemd-tmpfiles")
    (tmp_path / "etc").mkdir()
    made = subprocess.run(
        [sysusers, f"--root={tmp_path}", SERVICE / "sysusers.conf"],
        capture_output=True,
        text=True,
        check=False,
    )
    needs.that(made.returncode == 0, f"the right to make users ({made.stderr.strip()})")
    passwd = (tmp_path / "etc/passwd").read_text("utf-8")
    assert all(f"{name}:x:" in passwd for name in UNITS)
    done = subprocess.run(
        [tmpfiles, f"--root={tmp_path}", "--create", SERVICE / "tmpfiles.conf"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / SERVICE_RECORDINGS.lstrip("/")).stat().st_mode & 0o7777 == 0o2750
    assert (tmp_path / "run/exhibit").stat().st_mode & 0o7777 == 0o2750
    assert (tmp_path / SERVICE_SECRETS.lstrip("/")).stat().st_mode & 0o7777 == 0o600
