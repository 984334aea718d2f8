"""The files of the docent's page: all that it names are there, and nothing else is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import urljoin

import pytest

from tests.desk.desks import Tablet, World, world
from tests.pages.web_processes import ROOT

NAMED = re.compile(
    r"""(?:src|href)="(/[^"]*)"|url\("([^"#]*)"\)|(?:from|import) "(\.[^"]*)\"""",
)


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    with world(tmp_path_factory.mktemp("desk")) as made:
        yield made


def test_every_file_that_the_page_names_is_there(there: World) -> None:
    tablet = Tablet(there.port)
    files = [path for path in (ROOT / "web/desk").iterdir() if path.suffix in (".html", ".css", ".js")]
    assert files
    for file in files:
        for groups in NAMED.findall(file.read_text("utf-8")):
            named = next(group for group in groups if group)
            address = urljoin(f"/today/files/desk/{file.name}", named)
            assert (file.name, named, tablet.get(address)[0]) == (file.name, named, 200)


@pytest.mark.parametrize(
    "path",
    [
        "/today/files/",
        "/today/files/desk/",
        "/today/files/desk/../../pyproject.toml",
        "/today/files/desk/%2e%2e%2f%2e%2e%2fpyproject.toml",
        "/today/files/built/made-from.txt",
        "/today/files//etc/passwd",
        "/today/files/desk/sign_in.js%00.css",
        "/today/../people.json",
        "/today/people.json",
        "/today/files/saved/notes",
    ],
)
def test_nothing_else_is_served(there: World, path: str) -> None:
    assert there.tablet(engineer="Engineer").get(path)[0] == 404


def test_each_page_gets_a_token_of_its_browser_s_own_and_never_another_s(there: World) -> None:
    first, second = Tablet(there.port), Tablet(there.port)
    first.open()
    second.open()
    assert first.token != second.token
    again = first.token
    first.open()
    assert first.token == again
