"""The museum's own pictures are served from the recordings that are shown now, and from nothing else."""

from __future__ import annotations

import base64
import io
from pathlib import Path

import pytest
from PIL import Image

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.folder.gallery.names import served_name
from exhibit.folder.gallery.photographs import clean_photograph
from exhibit.folder.gallery.svg import clean_svg
from exhibit.web.drawn import JPEG, SVG, drawn_picture
from exhibit.web.picture import Picture
from exhibit.web.replaying import Control, Replayer
from exhibit.web.website import make_app
from tests.pages import made_facts


def front(shade: str) -> str:
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 6 9"><path fill="{shade}"/></svg>'
    return clean_svg("front.svg", drawing.encode()).text  # type: ignore[union-attr]


def jpeg(width: int = 9, height: int = 9, *, progressive: bool = False) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height)).save(out, "JPEG", progressive=progressive)
    return out.getvalue()


def says_it_is(width: int, height: int, photograph: bytes) -> bytes:
    """The same file with another size in its header."""
    frame = photograph.index(b"\xff\xc0") + 5
    size = height.to_bytes(2) + width.to_bytes(2)
    return photograph[:frame] + size + photograph[frame + 4 :]


FRONT, OTHER, PHOTOGRAPH = front("red"), front("blue"), jpeg()
FRONT_NAME, OTHER_NAME = (served_name(one.encode(), ".svg") for one in (FRONT, OTHER))
PHOTOGRAPH_NAME = served_name(PHOTOGRAPH, ".jpg")
PICTURES = {FRONT_NAME: FRONT, PHOTOGRAPH_NAME: base64.b64encode(PHOTOGRAPH).decode()}


def showing(pictures: dict[str, str], mode: str = "live") -> Picture:
    picture = Picture(mode)  # type: ignore[arg-type]
    view = View()
    for entry in made_facts.entries([], made_facts.opened(pictures=pictures)):
        view.apply(entry)
    picture.see(Sight(mode="replay") if mode == "replay" else Sight(mode="live", writer="writing"))
    picture.show(view, "stream")
    return picture


def test_a_picture_is_served_as_what_it_is() -> None:
    shown = showing(PICTURES)
    assert drawn_picture(shown, FRONT_NAME) == (FRONT.encode(), SVG)
    assert drawn_picture(shown, PHOTOGRAPH_NAME) == (PHOTOGRAPH, JPEG)


def test_what_is_shown_meanwhile_has_its_pictures_too_and_only_as_long_as_it_is_shown() -> None:
    live = showing(PICTURES)
    live.show_instead(showing({OTHER_NAME: OTHER}, "replay"))
    assert drawn_picture(live, OTHER_NAME) == (OTHER.encode(), SVG)
    assert drawn_picture(live, FRONT_NAME) == (FRONT.encode(), SVG)
    live.changed()
    assert drawn_picture(live, OTHER_NAME) is None


def test_nothing_is_served_while_nothing_is_shown() -> None:
    assert drawn_picture(Picture("live"), FRONT_NAME) is None


HOSTILE = FRONT.replace("<path", "<script>alert(1)</script><path")


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        (served_name(HOSTILE.encode(), ".svg"), HOSTILE),
        (served_name(b"GIF89a", ".jpg"), base64.b64encode(b"GIF89a").decode()),
        (served_name(b"<html>", ".html"), base64.b64encode(b"<html>").decode()),
        (PHOTOGRAPH_NAME, "not base64!"),
        (OTHER_NAME, FRONT),
        (FRONT_NAME, "\ud800"),
    ],
)
def test_a_picture_in_a_recording_from_elsewhere_is_not_trusted(name: str, kept: str) -> None:
    assert drawn_picture(showing({name: kept}), name) is None


@pytest.mark.parametrize(
    "photograph",
    [
        jpeg(1001, 9),
        says_it_is(65000, 65000, jpeg()),
        says_it_is(9, 0, jpeg()),
        jpeg(progressive=True),
        jpeg() + b"x" * 60_000,
        jpeg()[:40],
        b"\xff\xd8\xff",
        b"\xff\xd8" + b"\xff\xe0\0\0" * 9,
        b"\xff\xd8\xff\xda\0\2" + jpeg()[2:],
    ],
    ids=[
        *("too wide", "a few bytes for billions of points", "no height yet", "told again and again"),
        *("too many bytes", "cut off", "nothing in it", "pieces of no length", "points before the size"),
    ],
)
def test_a_photograph_from_elsewhere_that_is_not_as_ours_is_not_served(photograph: bytes) -> None:
    name = served_name(photograph, ".jpg")
    assert drawn_picture(showing({name: base64.b64encode(photograph).decode()}), name) is None


def test_every_photograph_that_a_folder_keeps_is_served() -> None:
    noise = Image.effect_noise((1600, 1200), 90).convert("RGB")
    given = io.BytesIO()
    noise.save(given, "PNG")
    kept = clean_photograph("front.png", given.getvalue()).jpeg  # type: ignore[union-attr]
    name = served_name(kept, ".jpg")
    assert drawn_picture(showing({name: base64.b64encode(kept).decode()}), name) == (kept, JPEG)


def test_the_page_s_items_carry_only_the_names() -> None:
    batch = showing(PICTURES).view.batch(0)
    assert "pictures" not in batch["items"]["recording"]
    assert FRONT not in str(batch)


def test_a_keyframe_is_kept_without_pictures_and_they_are_served_after_a_seek(tmp_path: Path) -> None:
    path = made_facts.write(tmp_path, made_facts.a_day(), made_facts.opened(pictures=PICTURES))
    picture = Picture("replay")
    replayer = Replayer(picture, path, cache_folder=tmp_path / "cache")
    view = View()
    for entry in made_facts.entries([], made_facts.opened(pictures=PICTURES)):
        view.apply(entry)
    assert view.snapshot()["opened"]["pictures"] == {}
    again = View()
    again.restore(view.snapshot())
    picture.show(again, "after a seek")
    assert drawn_picture(picture, FRONT_NAME) == (FRONT.encode(), SVG)
    replayer.control(Control(do="go to fact", value=3))
    assert drawn_picture(picture, FRONT_NAME) == (FRONT.encode(), SVG)
    replayer.close()


def test_the_web_process_serves_them_with_their_type_and_the_rules_of_all_paths() -> None:
    app = make_app(showing(PICTURES), None)
    for name, kind in ((FRONT_NAME, SVG), (PHOTOGRAPH_NAME, JPEG)):
        response = app.test_client().get(f"/drawn/{name}")
        assert (response.status_code, response.content_type) == (200, kind)
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["Content-Security-Policy"].startswith("default-src 'none'")


@pytest.mark.parametrize(
    "name", ["", "x.svg", OTHER_NAME, "../visitor/index.html", "%2e%2e/index.html", "a/b"]
)
def test_any_other_name_is_not_found(name: str) -> None:
    assert make_app(showing(PICTURES), None).test_client().get(f"/drawn/{name}").status_code == 404
