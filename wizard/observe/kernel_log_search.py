"""Turns tables of message patterns into one regular expression that is quick to search with.

All patterns of one expression stand behind one literal anchor (a colon, a line's end), so the search
runs at the speed of finding that byte; behind it, patterns that begin alike share their beginning, so
few alternatives are tried. Knows nothing of what the messages mean.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

BLANK = r"\s{1,80}(?:>\s{0,2}){0,2}"
"""Between two words: blanks, or a line's end that a mail program put there, quote marks included."""

_END = r"(?=[ \t\r.]{0,8}(?:\n|\Z))"
# Letters, or escaped signs, that no quantifier follows.
_PLAIN = re.compile(r"(?:(?:[^\\\[(.?*+{|^$)]|\\[\[\](){}.?*+|#])(?![?*+{]))*")


@dataclass
class _Node:
    children: "dict[str, _Node]" = field(default_factory=dict)
    leaves: list[tuple[str, int]] = field(default_factory=list)


@dataclass(frozen=True)
class Search:
    """A compiled search: `label_of[group]` is the label of the pattern that matched."""

    pattern: re.Pattern[bytes]
    label_of: tuple[tuple[str, str], ...]

    def hits(self, data: bytes, start: int, limit: int) -> Iterator[tuple[int, int, tuple[str, str]]]:
        """Each match whose anchor lies in `data[start:limit]`: (anchor, end of what matched, label)."""
        for match in self.pattern.finditer(data, start):
            if match.start() >= limit:
                return
            group = match.lastindex or 1
            yield match.start(), match.end(group), self.label_of[group - 1]


def compile_search(anchor: str, before: str, patterns: Iterable[tuple[tuple[str, str], str]]) -> Search:
    """One search for all `patterns` (label, pattern) behind `anchor` and then `before`, regular expressions.

    A pattern begins with plain text, a digit or a group of such, and holds no capturing group; of two
    that fit, the one with the longer plain beginning wins, then the earlier one. The match itself is only
    the anchor, so that every anchor is looked at and where a search begins changes nothing.
    """
    root, digits = _Node(), _Node()
    labels: list[tuple[str, str]] = []
    for label, pattern in patterns:
        for plain, rest in map(_split, _expanded(pattern)):
            if not plain and not rest.startswith("\\d"):
                raise ValueError(f"{pattern!r} begins with neither plain text nor a digit")
            node = root if plain else digits
            for char in plain:
                node = node.children.setdefault(char, _Node())
            node.leaves.append((rest, len(labels)))
            labels.append(label)
    order: list[int] = []
    body = _emit(root, order)
    if digits.leaves:
        # Kept apart: among the others, one alternative without a plain beginning makes all slow (measured: ten times).
        body = f"(?:{body}|(?=\\d){_emit(digits, order)})"
    expression = f"{anchor}(?={before}{body})".encode("ascii")
    return Search(re.compile(expression), tuple(labels[index] for index in order))


def _emit(node: _Node, order: list[int]) -> str:
    parts = [(BLANK if char == " " else re.escape(char)) + _emit(child, order) for char, child in node.children.items()]
    for rest, index in node.leaves:
        order.append(index)
        parts.append(f"({_spaced(rest)})")
    return parts[0] if len(parts) == 1 else "(?:" + "|".join(parts) + ")"


def _spaced(pattern: str) -> str:
    body, end = (pattern[:-1], _END) if pattern.endswith("$") else (pattern, "")
    return body.replace(" ", BLANK) + end


def _split(pattern: str) -> tuple[str, str]:
    """The plain beginning of a pattern, and the rest."""
    match = _PLAIN.match(pattern)
    end = match.end() if match else 0
    return pattern[:end].replace("\\", ""), pattern[end:]


def _expanded(pattern: str) -> Iterator[str]:
    """The pattern, once for each alternative of a group it begins with, so that each has a plain beginning."""
    if not pattern.startswith("(?:"):
        yield pattern
        return
    alternatives, close = _alternatives(pattern)
    rest = pattern[close + 1 :]
    if rest.startswith("?"):
        rest = rest[1:]
        alternatives.append("")
    for alternative in alternatives:
        yield from _expanded(alternative + rest)


def _alternatives(pattern: str) -> tuple[list[str], int]:
    """The alternatives of the leading group, and where its bracket closes. No escaped brackets inside."""
    depth, begin = 0, 3
    parts: list[str] = []
    for index, char in enumerate(pattern):
        if char == "(":
            depth += 1
        elif char == ")":
            depth -= 1
            if depth == 0:
                return [*parts, pattern[begin:index]], index
        elif char == "|" and depth == 1:
            parts.append(pattern[begin:index])
            begin = index + 1
    raise ValueError(f"the group in {pattern!r} does not close")
