"""The code beside the machine leads a phone to the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE


def test_the_code_is_read_by_another_program_as_the_address(page: Page, tmp_path: Path) -> None:
    """PyPI zxing-cpp reads the code off a picture of the page, as a phone's camera would."""
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    path = made_facts.write(tmp_path / "recordings", made_facts.a_day())
    with web_processes.live(path.parent, host="127.0.0.1", phone="http://10.1.2.3:8000/") as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        wait_until(page, "document.querySelector('#phone-code').naturalWidth > 0")
        assert "10.1.2.3:8000" in page.inner_text("#phone-words")
        page.locator("#phone-code").screenshot(path=tmp_path / "code.png")
    (found,) = zxingcpp.read_barcodes(image.open(tmp_path / "code.png"))
    assert found.text == "http://10.1.2.3:8000/"
