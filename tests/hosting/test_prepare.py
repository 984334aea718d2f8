"""The first start makes keys and passwords, once, that fit each other and that nobody else can read."""

import hashlib
import os
import subprocess
from pathlib import Path

import pytest

from tests.hosting.containerfile import ROOT


def prepare(folder: Path, *names: str) -> subprocess.CompletedProcess[str]:
    (folder / "keys").mkdir(exist_ok=True)
    places = {"KEYS": f"{folder}/keys", "LOGINS": f"{folder}/login"}
    command = ["sh", ROOT / "hosting/prepare", *names]
    return subprocess.run(command, env={**os.environ, **places}, capture_output=True, text=True, check=False)


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def prepared(needs, tmp_path) -> Path:
    needs("openssl")
    done = prepare(tmp_path, "redis", "pages.example.org")
    assert done.returncode == 0, done.stderr
    assert done.stdout + done.stderr == ""
    return tmp_path


def test_everything_is_there_and_only_its_owner_can_read_it(prepared):
    keys = {"ca.crt", "server.crt", "server.key", "users.acl", "redis.conf", "ready"}
    logins = {f"login/{side}/{name}" for side in ("relay", "page") for name in ("login", "ca.crt")}
    assert files(prepared).keys() == {f"keys/{name}" for name in keys} | logins
    assert {path.stat().st_mode & 0o077 for path in prepared.rglob("*") if path.is_file()} == {0}


def test_redis_gets_the_digest_of_each_password_and_never_the_password(prepared):
    acl = (prepared / "keys/users.acl").read_text("utf-8")
    assert acl.startswith("user default off\n")
    for side in ("relay", "page"):
        name, password = (prepared / f"login/{side}/login").read_text("utf-8").splitlines()
        assert name == side
        assert len(password) == 64
        assert f"user {side} on #{hashlib.sha256(password.encode()).hexdigest()} " in acl
        assert password not in acl
    assert "PASSWORD" not in acl


def test_the_certificate_is_for_each_name_and_of_the_authority_that_both_sides_trust(prepared):
    for side in ("relay", "page"):
        for name in ("redis", "pages.example.org"):
            command = ["openssl", "verify", "-x509_strict", "-verify_hostname", name, "-CAfile"]
            files_ = [prepared / f"login/{side}/ca.crt", prepared / "keys/server.crt"]
            done = subprocess.run([*command, *files_], capture_output=True, text=True, check=False)
            assert done.returncode == 0, done.stderr
    done = subprocess.run(
        ["openssl", "verify", "-verify_hostname", "elsewhere.example.org", "-CAfile", *files_],
        capture_output=True,
        check=False,
    )
    assert done.returncode != 0


def test_the_next_start_changes_nothing(prepared):
    before = files(prepared)
    assert prepare(prepared, "redis").returncode == 0
    assert files(prepared) == before


def test_a_first_start_that_was_interrupted_is_begun_again(prepared):
    before = files(prepared)
    (prepared / "keys/ready").unlink()
    assert prepare(prepared, "redis").returncode == 0
    assert files(prepared).keys() == before.keys()
    assert files(prepared)["keys/server.key"] != before["keys/server.key"]


def test_each_start_makes_passwords_of_its_own(needs, prepared, tmp_path_factory):
    other = tmp_path_factory.mktemp("other")
    assert prepare(other, "redis").returncode == 0
    assert files(other)["login/page/login"] != files(prepared)["login/page/login"]


def test_without_a_name_it_says_what_to_do(tmp_path):
    done = prepare(tmp_path)
    assert done.returncode == 2
    assert "Name the hosts by which Redis is reached" in done.stderr
