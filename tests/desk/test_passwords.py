"""What is kept of a password, and which passwords can be chosen."""

from __future__ import annotations

import base64
import time

import pytest

from exhibit.desk.passwords import COST, LONGEST, check_new, hashed, is_right, of_nobody
from exhibit.facts.errors import SetUpFault

CHEAP = (2**10, 8, 1)
RFC_7914 = [
    # RFC 7914, section 12: password, salt, N, r, p, the first 32 bytes of the key.
    ("password", "NaCl", 1024, 8, 16, "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"),
    (
        "pleaseletmein",
        "SodiumChloride",
        16384,
        8,
        1,
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2",
    ),
]


@pytest.mark.parametrize(("password", "salt", "n", "r", "p", "key"), RFC_7914)
def test_the_standard_s_own_examples_are_right(
    password: str, salt: str, n: int, r: int, p: int, key: str
) -> None:
    salt64, key64 = (base64.b64encode(data).decode() for data in (salt.encode(), bytes.fromhex(key)))
    assert is_right(password, f"scrypt${n}${r}${p}${salt64}${key64}")
    assert not is_right(password + "x", f"scrypt${n}${r}${p}${salt64}${key64}")


def test_the_same_password_is_kept_differently_each_time_and_never_as_itself() -> None:
    first, second = hashed("seven slow tides", CHEAP), hashed("seven slow tides", CHEAP)
    assert first != second
    assert "slow" not in first
    assert is_right("seven slow tides", first)
    assert not is_right("seven slow tide", first)


def test_both_ways_of_typing_a_letter_are_right() -> None:
    assert is_right("Du\u0308nenhafer und Sand", hashed("D\u00fcnenhafer und Sand", CHEAP))


@pytest.mark.parametrize(
    "kept",
    [
        "",
        "x",
        "scrypt$1",
        "scrypt$0$0$0$$",
        "plain$1024$8$1$eA==$eA==",
        pytest.param(of_nobody(), id="nobody"),
    ],
)
def test_what_is_no_hash_or_nobody_s_fits_no_password(kept: str) -> None:
    assert not is_right("seven slow tides", kept)


def test_a_new_one_takes_the_memory_that_is_meant() -> None:
    assert COST[0] * COST[1] * 128 == 64 * 1024 * 1024
    began_s = time.thread_time()
    kept = hashed("seven slow tides")
    assert time.thread_time() > began_s
    assert kept.startswith("scrypt$65536$8$2$")


@pytest.mark.parametrize(
    ("password", "says"),
    [
        ("short", "5 characters"),
        ("x" * (LONGEST + 1), "129 characters"),
        ("abababababab", "repeats"),
        ("my engineer's word", "name"),
    ],
)
def test_a_password_that_could_be_guessed_is_refused_in_sentences(password: str, says: str) -> None:
    with pytest.raises(SetUpFault) as refused:
        check_new(password, "Engineer")
    assert says in refused.value.what


@pytest.mark.parametrize("password", ["seven slow tides", "ваза и море 12", "🌊🌊🌊🌊 and a lighthouse"])
def test_any_characters_may_be_in_a_password(password: str) -> None:
    check_new(password, "Engineer")
