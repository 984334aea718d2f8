"""The parts in machine.toml: their lengths, joins and shapes, and what can be seen on their fronts."""

import pytest

from exhibit.facts.parts_and_cards import Opening
from exhibit.folder.files import read_files
from exhibit.folder.reading.parts import SHAPES, length_cm, opening
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import FILES, ROOT, mistakes_in

pytestmark = pytest.mark.pure


@pytest.mark.parametrize(("text", "cm"), [("1 cm", 1), ("60 cm", 60), ("2000 cm", 2000)])
def test_a_length_is_read(text, cm):
    assert length_cm(text) == cm


@pytest.mark.parametrize(
    ("text", "write"),
    [("60", '"60 cm"'), ("60 mm", '"60 cm"'), ("wide", '"60 cm"'), ("0 cm", "from"), ("2001 cm", "from")],
)
def test_a_text_that_is_not_a_length_is_reported_with_what_to_write(text, write):
    with pytest.raises(ValueMistake) as caught:
        length_cm(text)
    assert write in caught.value.write_instead


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('joins = ["small-drive",', 'joins = ["processor",', "joined to itself"),
        ('joins = ["small-drive",', 'joins = ["nothing",', 'no part is named "nothing"'),
    ],
)
def test_a_cable_that_leads_nowhere_is_a_mistake(old, new, said):
    machine = FILES["machine.toml"].decode()
    assert old in machine
    found = mistakes_in({**FILES, "machine.toml": machine.replace(old, new).encode()})
    assert [said in mistake.what for mistake in found] == [True]


@pytest.mark.parametrize(
    ("count", "start", "fits"),
    [
        (24, "14000200", True),  # references: 24 bits are 8 octal digits, up to 77777777
        (24, "77777777", True),
        (24, "1400020", False),
        (24, "14000280", False),
        (16, "177777", True),  # 16 bits: 6 digits, the top one 0 or 1 only
        (16, "277777", False),
    ],
)
def test_a_start_address_must_fit_the_switches(count, start, fits):
    machine = FILES["machine.toml"].decode()
    changed = machine.replace("count = 24", f"count = {count}").replace(
        'start = "14000200"', f'start = "{start}"'
    )
    found = mistakes_in({**FILES, "machine.toml": changed.encode()})
    assert [m.what for m in found] == ([] if fits else [found[0].what])
    assert fits or "can't be set" in found[0].what


# -- how a part is drawn

HERON = read_files(ROOT / "scripts/heron")


def drawn(parts: str, display: str = "paper"):
    """The parts of the Heron, with these tables in place of its own."""
    machine = HERON["machine.toml"].decode()
    machine = machine[: machine.index("[parts.processor]")].replace('kind = "paper"', f'kind = "{display}"')
    files = {**HERON, "machine.toml": (machine + parts).encode()}
    return examine(files).drafts.machine.parts


def seen(parts: str, part: str, display: str = "paper") -> list[str]:
    return [
        f"{one.kind}{f' {one.count}' if one.count else ''}{'' if one.real else ' cut'}"
        for one in drawn(parts, display)[part].openings
    ]


@pytest.mark.parametrize(
    ("text", "kind", "real", "count"),
    [
        ("disc", "disc", True, 0),
        ("core cut", "core", False, 0),
        ("lamps 24", "lamps", True, 24),
        ("switches 16 cut", "switches", False, 16),
    ],
)
def test_an_opening_is_read(text, kind, real, count):
    assert opening(text) == Opening(kind=kind, real=real, count=count)


@pytest.mark.parametrize(
    ("text", "write"),
    [
        ("dics", '"disc"'),
        ("cores cut", '"core cut"'),
        ("window", '"disc"'),
        ("disc 3", '"disc"'),
        ("lamps 0", '"lamps"'),
        ("lamps 1000", '"lamps"'),
        ("core open", '"core"'),
        ("Core", '"core"'),
        ("", '"disc"'),
    ],
)
def test_a_text_that_is_no_opening_is_reported_with_what_to_write(text, write):
    with pytest.raises(ValueMistake) as caught:
        opening(text)
    assert write in caught.value.write_instead


@pytest.mark.parametrize(
    ("name", "shape"),
    [
        *[("console", "desk"), ("front-desk", "desk"), ("lower-drive", "drive"), ("disc", "drive")],
        *[("terminal", "terminal"), ("line-printer", "printer"), ("tape", "tape"), ("core", "cabinet")],
    ],
)
def test_the_usual_shape_follows_from_the_last_word_of_a_part_s_name(name, shape):
    assert drawn(f"[parts.{name}]\n")[name].shape == shape


def test_every_shape_can_be_written():
    for shape in SHAPES:
        assert drawn(f'[parts.thing]\nshape = "{shape}"\n')["thing"].shape == shape


@pytest.mark.parametrize(
    ("shape", "openings"),
    [
        *[("drive", ["disc"]), ("tape", ["tape"]), ("printer", ["paper"]), ("cabinet", []), ("chest", [])],
        *[("desk", ["paper"]), ("terminal", ["paper"])],  # the Heron prints on paper
    ],
)
def test_a_part_has_the_openings_that_nearly_all_of_its_shape_have(shape, openings):
    assert seen(f'[parts.thing]\nshape = "{shape}"\n', "thing") == openings
    assert seen(f'[parts.thing]\nshape = "{shape}"\nopenings = []\n', "thing") == []


def test_the_console_of_a_machine_with_a_screen_is_a_screen():
    assert seen("[parts.console]\n", "console", "screen") == ["screen"]


def test_what_is_known_of_a_part_is_shown_in_openings_cut_into_it():
    assert seen('[parts.store]\ntested = ["sum"]\n', "store") == ["core cut"]
    posix = folder_from(read_files(ROOT / "scripts/posix"), "posix").machine
    assert posix.drawn["processor"].share == "processes.busy"  # the only one of [now]
    assert [one.kind for one in posix.drawn["processor"].openings] == ["gauge"]
    assert posix.drawn["disc"].share == ""


def test_the_whimbrel_s_parts_know_their_own_readings_and_tests():
    machine = folder_from(FILES, "whimbrel").machine
    transfers = {name: part.transfers for name, part in machine.drawn.items() if part.transfers}
    assert transfers == {
        "small-drive": "board.small-transfers",
        "upper-drive": "board.upper-transfers",
        "lower-drive": "board.lower-transfers",
    }
    assert machine.drawn["processor"].share == "board.load"
    assert machine.tested == {"processor": ["core-sound"]}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('plate = "UPPER"', f'plate = "{"U" * 25}"', "plate has 25 characters"),
        ('openings = ["disc"]', 'openings = ["disc", "disc cut"]', '"disc" stands here twice'),
        (
            'openings = ["disc"]',
            'openings = ["disc", "packs", "gauge", "core", "screen", "paper", "tape"]',
            "room for 6 openings",
        ),
        ('share = "board.load"', 'share = "board.jobs"', "no reading of kind number"),
        ('share = "board.load"', 'share = "load"', "no reading of kind number"),
        ('tested = ["core-sound"]', 'tested = ["starter"]', 'no line is named "starter"'),
    ],
)
def test_what_no_part_can_have_is_a_mistake(old, new, said):
    machine = FILES["machine.toml"].decode()
    assert old in machine
    found = mistakes_in({**FILES, "machine.toml": machine.replace(old, new).encode()})
    assert [said in mistake.what for mistake in found] == [True]


def test_a_mistake_in_now_is_reported_once_though_a_part_takes_its_share_from_there():
    machine = FILES["machine.toml"].decode().replace('share = "board.load"\n', "")
    changed = machine.replace('share = ["board.load"]', 'share = ["board.loda"]')
    assert changed != machine
    assert len(mistakes_in({**FILES, "machine.toml": changed.encode()})) == 1
