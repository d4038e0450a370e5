"""Bytes to text: the marks and code pages of Windows' tools."""

import pytest

from wizard.observe.exports.decoding import encoding_of, text_of

WORDS = '{"Name": "Gerät prüfen – ok"}'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
def test_every_encoding_that_tools_write_is_read(encoding):
    assert text_of(WORDS.encode(encoding)) == WORDS


def test_a_character_cut_at_the_end_is_no_other_encoding():
    assert text_of("prüfen ü".encode()[:-1]) == "prüfen �"


def test_any_bytes_are_text_without_nul():
    assert text_of(bytes(range(256))).find("\0") == -1
    assert encoding_of(b"") == "utf-8"
