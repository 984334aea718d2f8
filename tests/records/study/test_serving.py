"""The process of the records page: on loopback, for whoever has its address, and only to be read."""

from __future__ import annotations

import http.client
import json
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[3]
SAMPLE = ROOT / "recordings" / "whimbrel-one-round.exhibit"
NAME = SAMPLE.stem


def copied(folder: Path) -> Path:
    """The sample in a folder of the test's own, since its index is kept beside it."""
    path = folder / SAMPLE.name
    path.write_bytes(SAMPLE.read_bytes())
    return path


class Served:
    """A records page's process, and how to ask it."""

    def __init__(self, cache: Path, *more: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "records", f"{copied(cache)}", "--no-browser", *more],
            cwd=ROOT,
            env={"PATH": "/usr/bin:/bin", "HOME": f"{cache}", "PYTHONPATH": f"{ROOT}"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.process.stdout is not None
        self.said = self.process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)/([\w-]+)/", self.said)
        assert found, self.said
        self.address, self.port, self.token = found[0], int(found[1]), found[2]

    def ask(self, path: str, method: str = "GET", **headers: str) -> tuple[int, dict[str, str], bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request(method, path, headers={key.replace("_", "-"): v for key, v in headers.items()})
            answer = connection.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()
        finally:
            connection.close()

    def json(self, what: str) -> tuple[int, Any]:
        status, _, body = self.ask(f"/{self.token}/{what}")
        return status, json.loads(body)


@pytest.fixture(scope="module")
def served(needs: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    needs.that((ROOT / "web/built/faces.css").is_file(), "web/built, which `pip install` makes")
    one = Served(tmp_path_factory.mktemp("home"))
    yield one
    one.process.kill()
    one.process.communicate()


@pytest.mark.parametrize("path", ["/", "/recordings", "/wrong/", "/wrong/recordings", "/%ff/", "//"])
def test_without_the_token_there_is_nothing_but_a_sentence(served: Served, path: str) -> None:
    status, _, body = served.ask(path)
    assert status == 403
    assert b"Start `exhibit records` again" in body
    assert b"whimbrel" not in body


def test_with_the_token_there_is_the_page_and_every_answer_has_the_headers(served: Served) -> None:
    for path in (f"/{served.token}/", f"/{served.token}/recordings", f"/{served.token}/nothing", "/"):
        _, headers, _ = served.ask(path)
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["Referrer-Policy"] == "no-referrer"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Cache-Control"] == "no-store"
    assert served.ask(f"/{served.token}/")[0] == 200


def test_it_listens_on_loopback_alone_and_has_another_address_each_time(
    served: Served, tmp_path: Path
) -> None:
    again = Served(tmp_path)
    try:
        assert again.token != served.token
        assert len(again.token) >= 32
    finally:
        again.process.kill()
        again.process.communicate()
    listening = Path("/proc/net/tcp").read_text().splitlines()
    (mine,) = [line.split()[1] for line in listening if line.split()[1].endswith(f":{served.port:04X}")][:1]
    assert mine.startswith("0100007F:")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Host": "evil.example"}, 421),
        ({"Host": "127.0.0.1.evil.example"}, 421),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Sec_Fetch_Site": "same-site"}, 403),
        ({"Host": "localhost"}, 200),
    ],
)
def test_somebody_else_s_page_gets_nothing_even_with_the_address(
    served: Served, headers: dict[str, str], status: int
) -> None:
    assert served.ask(f"/{served.token}/recordings", **headers)[0] == status


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_it_can_only_be_read(served: Served, method: str) -> None:
    assert served.ask(f"/{served.token}/recordings", method)[0] == 405


@pytest.mark.parametrize(
    "what",
    ["files/built/../../pyproject.toml", "files/records/%2e%2e%2fpyproject.toml", "files/visitor/page.js"],
)
def test_no_other_file_is_served(served: Served, what: str) -> None:
    assert served.ask(f"/{served.token}/{what}")[0] == 404


def test_what_is_asked_for_is_answered(served: Served) -> None:
    status, listed = served.json("recordings")
    assert status == 200
    assert [row["name"] for row in listed["recordings"]] == [NAME]
    line = served.json(f"line?recording={NAME}")[1]
    assert line["end_seq"] == 6990
    assert served.json(f"moment?recording={NAME}&seq=3000")[1]["seq"] == 3000
    assert [one["seq"] for one in served.json(f"facts?recording={NAME}&seqs=5,9")[1]["facts"]] == [5, 9]


@pytest.mark.parametrize(
    "what",
    [
        "moment?recording={name}",
        "moment?recording={name}&seq=x",
        "moment?recording={name}&seq=5&at_us=5",
        "moment?recording={name}&seq=99999999999999999999",
        "moment?recording={name}&seq=-1",
    ],
)
def test_a_question_that_makes_no_sense_is_refused(served: Served, what: str) -> None:
    assert served.ask(f"/{served.token}/{what.format(name=NAME)}")[0] == 400


def test_what_is_not_there_is_said_in_sentences(served: Served) -> None:
    status, answer = served.json("line?recording=nothing")
    assert status == 422
    assert answer["fault"]["what"] == "There is no recording nothing here."


def test_a_signal_ends_it_in_good_order(needs: Any, tmp_path: Path) -> None:
    needs.that((ROOT / "web/built/faces.css").is_file(), "web/built, which `pip install` makes")
    for number in (signal.SIGTERM, signal.SIGINT):
        one = Served(tmp_path)
        one.json(f"line?recording={NAME}")
        one.process.send_signal(number)
        _, said = one.process.communicate(timeout=30)
        assert one.process.returncode == 0
        assert said == ""


def test_a_link_from_the_command_line_opens_at_the_fact(needs: Any, tmp_path: Path) -> None:
    needs.that((ROOT / "web/built/faces.css").is_file(), "web/built, which `pip install` makes")
    one = Served(tmp_path, "--fact", "4711")
    one.process.kill()
    one.process.communicate()
    assert one.said.rstrip().endswith(f"/#{NAME}/4711")
