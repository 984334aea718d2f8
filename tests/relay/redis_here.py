"""A real redis-server with TLS and its two users, as docs/hosting.md sets it up, on a free port here."""

from __future__ import annotations

import hashlib
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.relay.access import Access, read_access

HOSTING = Path(__file__).resolve().parents[2] / "hosting"
PASSWORDS = {"relay": "words for the relay", "page": "words for the page"}
ADMIN = "words for the tests"
WITHIN_S = 60


def make_certificates(folder: Path) -> None:
    """An authority of our own, and the server's certificate for this computer."""

    def openssl(*arguments: str) -> None:
        subprocess.run(["openssl", *arguments], cwd=folder, check=True, capture_output=True)

    new = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
    openssl(
        "req", "-x509", *new, "-keyout", "ca.key", "-out", "ca.crt", "-days", "3650", "-subj", "/CN=tests"
    )
    openssl("req", *new, "-keyout", "server.key", "-out", "server.csr", "-subj", "/CN=localhost")
    (folder / "names").write_text("subjectAltName=DNS:localhost\n")
    signed = ("-CA", "ca.crt", "-CAkey", "ca.key", "-CAcreateserial", "-extfile", "names", "-days", "3650")
    openssl("x509", "-req", "-in", "server.csr", "-out", "server.crt", *signed)


class RedisHere:
    """The server; it can be stopped and started again at the same port."""

    def __init__(self, folder: Path, certificates: Path) -> None:
        self.folder = folder
        for name in ("ca.crt", "server.crt", "server.key"):
            shutil.copy(certificates / name, folder)
        self.ca = folder / "ca.crt"
        acl = (HOSTING / "users.acl").read_text()
        for user, password in PASSWORDS.items():
            digest = hashlib.sha256(password.encode()).hexdigest()
            acl = acl.replace(f"{user.upper()}_PASSWORD_SHA256", digest)
            self.login(user).write_text(f"{user}\n{password}\n")
            self.login(user).chmod(0o600)
        admin = hashlib.sha256(ADMIN.encode()).hexdigest()
        (folder / "users.acl").write_text(f"{acl}user admin on #{admin} ~* &* +@all\n")
        settings = (HOSTING / "redis.conf").read_text().replace("/etc/redis/", f"{folder}/")
        (folder / "redis.conf").write_text(settings)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.start()

    def login(self, user: str) -> Path:
        """The file with this user's name and password."""
        return self.folder / f"{user}.login"

    @property
    def address(self) -> str:
        return f"rediss://localhost:{self.port}"

    def access(self, user: str) -> Access:
        """How this user gets in."""
        return read_access(self.address, self.login(user), self.ca)

    def start(self) -> None:
        """Start it, and wait until it takes connections."""
        own = ("--bind", "127.0.0.1", "--tls-port", f"{self.port}", "--dir", f"{self.folder}")
        self._log = (self.folder / "redis.log").open("ab")
        self.process = subprocess.Popen(
            ["redis-server", "./redis.conf", *own], cwd=self.folder, stdout=self._log, stderr=self._log
        )
        give_up_s = time.monotonic() + WITHIN_S
        while True:
            assert self.process.poll() is None, (self.folder / "redis.log").read_text()
            assert time.monotonic() < give_up_s, "redis-server doesn't start"
            with socket.socket() as asked:
                if asked.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.02)

    def stop(self, *, forget: bool = False) -> None:
        """Stop it in good order; with `forget` it has lost all that it held."""
        self.process.terminate()
        self.process.wait(WITHIN_S)
        self._log.close()
        if forget:
            shutil.rmtree(self.folder / "appendonlydir")

    def all_it_ever_got(self) -> bytes:
        """The file to which it appends every change."""
        return b"".join(
            path.read_bytes() for path in (self.folder / "appendonlydir").iterdir() if path.is_file()
        )


@contextmanager
def redis_here(folder: Path) -> Iterator[RedisHere]:
    """A server for as long as this lasts."""
    certificates = folder / "certificates"
    certificates.mkdir()
    make_certificates(certificates)
    redis = RedisHere(folder, certificates)
    try:
        yield redis
    finally:
        if redis.process.poll() is None:
            redis.stop()
