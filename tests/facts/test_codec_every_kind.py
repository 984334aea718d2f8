"""Every kind of fact, with any values of its fields, is read back from its line unchanged."""

import types
import typing

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exhibit.facts.codec import FORMAT, decode_line, encode_line
from exhibit.facts.kinds import ALL_KINDS, BytesReceived, BytesTyped, Entry

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
FOR_BYTES = st.text(st.characters(max_codepoint=0xFF), max_size=12)
NUMBER = st.integers(-(2**63), 2**63 - 1)
PLACE = st.integers(1, 10**15 - 1)


def values(kind: object) -> st.SearchStrategy:
    """Any value of a type that a field of a fact has."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if kind is str:
        return TEXT
    if kind is int:
        return NUMBER
    if kind is bool:
        return st.booleans()
    if kind is float:
        return st.floats(allow_nan=False, allow_infinity=False)
    if kind is type(None):
        return st.none()
    if origin is typing.Literal:
        return st.sampled_from(arguments)
    if origin in (typing.Union, types.UnionType):
        return st.one_of([values(argument) for argument in arguments])
    if origin is list:
        return st.lists(values(arguments[0]), max_size=3)
    if origin is dict:
        return st.dictionaries(values(arguments[0]), values(arguments[1]), max_size=3)
    assert isinstance(kind, type)
    assert issubclass(kind, msgspec.Struct), f"no values for {kind}"
    hints = typing.get_type_hints(kind)
    fields = {field.name: values(hints[field.name]) for field in msgspec.structs.fields(kind)}
    if kind in (BytesReceived, BytesTyped):
        fields["bytes"] = FOR_BYTES
    return st.builds(kind, **fields)


@pytest.mark.parametrize("kind", ALL_KINDS.values(), ids=ALL_KINDS)
@settings(max_examples=60)
@given(data=st.data())
def test_it_comes_back_as_it_was(kind, data):
    entry = Entry(data.draw(PLACE), data.draw(PLACE) - 1, data.draw(values(kind)))
    previous = b"%08x" % data.draw(st.integers(0, 2**32 - 1))
    line, crc = encode_line(entry, previous)
    read = decode_line(line, previous, FORMAT)
    assert read == entry
    assert type(read.fact) is kind
    assert encode_line(read, previous) == (line, crc)
