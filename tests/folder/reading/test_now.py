"""[now] of machine.toml leads to readings of the right kind, or says what is wrong."""

import pytest

from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure


def test_the_demonstration_says_how_busy_it_is():
    now = folder_from(FILES, "whimbrel").machine.now
    assert now.share == ["board.load"]
    assert now.jobs == ["board.jobs"]
    assert len(now.transfers) == 3


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('share = ["board.load"]', 'share = ["board.lode"]', 'no reading "board.lode" of kind number'),
        ('share = ["board.load"]', 'share = ["board.jobs"]', 'no reading "board.jobs" of kind number'),
        ('jobs = ["board.jobs"]', 'jobs = ["board.load"]', 'no reading "board.load" of kind table'),
        ('job_name = "name"', 'job_name = "nam"', 'has no column "nam"'),
    ],
)
def test_an_unknown_reading_or_one_of_another_kind_is_a_mistake(old, new, said):
    machine = FILES["machine.toml"].decode()
    assert old in machine
    found = mistakes_in({**FILES, "machine.toml": machine.replace(old, new).encode()})
    assert [said in mistake.what for mistake in found] == [True]
