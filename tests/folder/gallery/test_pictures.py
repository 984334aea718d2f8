"""The pictures of parts: where they are, under which names they are served, and how much they may take."""

import base64
import hashlib
import io

import pytest
from PIL import Image

from exhibit.facts import codec
from exhibit.folder.files import read_picture_files
from exhibit.folder.gallery.pictures import MOST_BYTES
from exhibit.folder.report.findings import Checked
from exhibit.folder.whole import examine, folder_from, read_folder
from tests.folder.folder_writing import FILES, WHIMBREL, mistakes_in

pytestmark = pytest.mark.pure

FRONT = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 175"><g id="opening-core"/></svg>'


def photograph(shade: int = 0, size: tuple[int, int] = (300, 480)) -> bytes:
    out = io.BytesIO()
    Image.effect_noise(size, 60 + shade).save(out, "PNG")
    return out.getvalue()


def files_with(**pictures: str) -> dict[str, bytes]:
    """The Whimbrel's files, with a picture for each of these parts."""
    text = FILES["machine.toml"].decode()
    for part, file in pictures.items():
        head = f"[parts.{part.replace('_', '-')}]\n"
        assert head in text
        text = text.replace(head, f'{head}picture = "{file}"\n')
    return {**FILES, "machine.toml": text.encode()}


def found_in(files: dict[str, bytes], others: dict[str, bytes]) -> list[str]:
    return [f"{one.file}: {one.what}" for one in examine(files, others).mistakes if not one.is_advice]


def advice_on(files: dict[str, bytes], others: dict[str, bytes]) -> list[str]:
    return [f"{one.file}: {one.what}" for one in examine(files, others).mistakes if one.is_advice]


def test_a_part_knows_its_picture_by_a_name_that_changes_with_the_content():
    files = files_with(processor="pictures/front.svg", small_drive="pictures/small.png")
    folder = folder_from(files, "folder", {"pictures/front.svg": FRONT, "pictures/small.png": photograph()})
    drawing = folder.machine.drawn["processor"].picture
    shot = folder.machine.drawn["small-drive"].picture
    assert list(folder.pictures) == [drawing, shot]
    assert drawing == f"{hashlib.sha256(folder.pictures[drawing].encode()).hexdigest()[:32]}.svg"
    jpeg = base64.b64decode(folder.pictures[shot])
    assert shot == f"{hashlib.sha256(jpeg).hexdigest()[:32]}.jpg"
    assert Image.open(io.BytesIO(jpeg)).format == "JPEG"
    assert folder.machine.drawn["console"].picture == ""
    assert {"pictures/front.svg", "pictures/small.png"} <= set(folder.digests)


def test_two_parts_can_have_the_same_picture_and_it_is_kept_once():
    files = files_with(upper_drive="pictures/big.svg", lower_drive="pictures/big.svg")
    folder = folder_from(files, "folder", {"pictures/big.svg": FRONT})
    assert len(folder.pictures) == 1


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("pictures/fornt.svg", 'there is no file "pictures/fornt.svg"'),
        ("front.svg", "can't be the name of a picture"),
        ("../front.svg", "can't be the name of a picture"),
        ("pictures/../../front.svg", "can't be the name of a picture"),
        ("/etc/passwd", "can't be the name of a picture"),
        ("pictures/front.gif", "can't be the name of a picture"),
        ("https://example.org/front.svg", "can't be the name of a picture"),
    ],
)
def test_a_picture_that_is_missing_or_elsewhere_is_a_mistake(name, said):
    (found,) = found_in(files_with(processor=name), {"pictures/front.svg": FRONT})
    assert said in found


def test_a_refused_picture_is_one_mistake_however_many_parts_have_it():
    files = files_with(upper_drive="pictures/big.svg", lower_drive="pictures/big.svg")
    (found,) = found_in(files, {"pictures/big.svg": b"<svg/>"})
    assert found.startswith("pictures/big.svg: this is not SVG")


def test_all_pictures_together_keep_a_limit_so_that_a_recording_s_first_line_stays_short():
    parts = ["processor", "small_drive", "upper_drive", "lower_drive", "console"]
    files = files_with(**{part: f"pictures/{part}.png" for part in parts})
    many = {f"pictures/{part}.png": photograph(5 * n, (700, 1000)) for n, part in enumerate(parts)}
    (found,) = found_in(files, many)
    assert f"at most {MOST_BYTES:,}" in found
    assert MOST_BYTES < codec.MAX_LINE_BYTES / 10


def test_advice_names_a_picture_of_another_shape_an_opening_that_is_none_and_a_file_that_is_unused():
    files = files_with(console="pictures/front.svg")
    advice = "\n".join(advice_on(files, {"pictures/front.svg": FRONT, "pictures/old.svg": FRONT}))
    assert "another shape than the part, which is 110 cm wide and 115 cm high" in advice
    assert 'has a group "opening-core", but this part has no such opening' in advice
    assert "pictures/old.svg: no part has this picture" in advice
    assert advice_on(files_with(processor="pictures/front.svg"), {"pictures/front.svg": FRONT}) == [
        found for found in advice_on(FILES, {})
    ]


def test_a_folder_on_disc_is_read_with_its_pictures(tmp_path):
    for name, content in {**files_with(processor="pictures/front.svg"), "pictures/front.svg": FRONT}.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(content)
    (tmp_path / "pictures/.hidden").write_bytes(b"x")
    (tmp_path / "pictures/folder").mkdir()
    assert list(read_picture_files(tmp_path)) == ["pictures/front.svg"]
    assert len(read_folder(tmp_path).pictures) == 1
    assert Checked(tmp_path).mistakes == []


def test_a_folder_without_pictures_has_none():
    assert read_folder(WHIMBREL).pictures == {}
    assert mistakes_in(FILES) == []
