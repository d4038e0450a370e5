"""The one search made of many patterns finds what each of them would find, and says which it was."""

import re

import pytest

from wizard.observe.kernel_log_search import compile_search

PATTERNS = [
    (("rule", "short"), r"not enough"),
    (("rule", "long"), r"not enough bandwidth"),
    (("rule", "either"), r"(?:red|green) light"),
    (("rule", "maybe"), r"(?:very )?slow"),
    (("rule", "number"), r"\d\d*mA"),
    (("rule", "bracket"), r"\[sd\w"),
    (("rule", "end"), r"full stop$"),
]
SEARCH = compile_search(":", r"\s{1,80}(?:>\s{0,2}){0,2}", PATTERNS)


def found(text: str) -> list[str]:
    """The labels in order."""
    data = text.encode()
    return [kind for _, _, (_, kind) in SEARCH.hits(data, 0, len(data))]


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("a: not enough bread", ["short"]),
        ("a: not enough bandwidth", ["long"]),
        ("a: red light", ["either"]),
        ("a: green light", ["either"]),
        ("a: very slow", ["maybe"]),
        ("a: slow", ["maybe"]),
        ("a: 1500mA", ["number"]),
        ("a: [sdb]", ["bracket"]),
        ("a: full stop.\nb", ["end"]),
        ("a: full stop now", []),
        ("a: not\n> enough bandwidth", ["long"]),
        ("a:\nnot\r\nenough bandwidth", ["long"]),
        ("a: not enough: red light: slow", ["short", "either", "maybe"]),
        ("not enough", []),
        ("a:not enough", []),
    ],
)
def test_each_pattern_is_found_behind_its_anchor(text: str, kinds: list[str]) -> None:
    assert found(text) == kinds


def test_hits_outside_the_asked_part_are_left_to_others() -> None:
    data = b"a: slow b: slow c: slow"
    assert [at for at, _, _ in SEARCH.hits(data, 2, 18)] == [9, 17]


def test_a_pattern_that_would_make_the_search_slow_is_refused() -> None:
    with pytest.raises(ValueError, match="neither plain text nor a digit"):
        compile_search(":", " ", [(("rule", "wild"), r"\w+ failed")])


def test_a_group_that_does_not_close_is_refused() -> None:
    with pytest.raises(ValueError, match="does not close"):
        compile_search(":", " ", [(("rule", "open"), r"(?:red|green")])


def test_the_match_is_only_the_anchor() -> None:
    match = SEARCH.pattern.search(b"a: very slow")
    assert isinstance(match, re.Match)
    assert match[0] == b":"
