"""One record of an export, whatever tool wrote it: names looked up without regard to case, nesting or spelling.

`InstanceId`, `Instance ID`, `instance_id` and `DEVPKEY_Device_InstanceId` are one name. Knows shapes of JSON that
tools make of the same record; not what a record means.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

_MOST_LEAVES = 2000
_DEEPEST = 8
_TEXT_KEYS = ("text", "value", "data", "innertext")
_NAME_KEYS = ("name", "keyname", "key")
_PREFIX = re.compile(r"^devpkey(?:device|pci)?")
_NUMBER = re.compile(r"^\s*(0[xX][0-9a-fA-F]{1,16}|-?\d{1,20})(?![\w.])")
_HEX_DIGITS = re.compile(r"[0-9a-fA-F]{1,16}\Z")


def plain(name: str) -> str:
    """A field's name in lower case without blanks, marks and the prefix of property keys."""
    kept = "".join(char for char in name.lower() if char.isalnum())
    return _PREFIX.sub("", kept) or kept


class Record:
    """The leaves of one object by plain name; those further out stand before those further in."""

    def __init__(self, value: Mapping[str, Any]) -> None:
        self._leaves: dict[str, Any] = {}
        for name, leaf in _leaves_of(value):
            if leaf not in (None, "", [], {}):
                self._leaves.setdefault(name, leaf)

    def __contains__(self, name: str) -> bool:
        return name in self._leaves

    def text(self, *names: str) -> str | None:
        """The first of these fields that holds words or a number, as text."""
        for name in names:
            for leaf in _flat(self._leaves.get(name)):
                if isinstance(leaf, str) and leaf.strip():
                    return leaf.strip()
                if isinstance(leaf, int | float) and not isinstance(leaf, bool):
                    return str(leaf)
        return None

    def texts(self, *names: str) -> tuple[str, ...]:
        """All words of the first of these fields that holds any; a list of one is often written as the thing
        itself, and several as one text in braces."""
        for name in names:
            found: list[str] = []
            for leaf in _flat(self._leaves.get(name)):
                if isinstance(leaf, str) and leaf.strip():
                    found += _in_braces(leaf.strip())
            if found:
                return tuple(found)
        return ()

    def number(self, *names: str) -> int | None:
        """The first of these fields that begins with a whole number, decimal or with 0x."""
        for name in names:
            for leaf in _flat(self._leaves.get(name)):
                found = number_of(leaf)
                if found is not None:
                    return found
        return None

    def flag(self, *names: str) -> bool | None:
        """The first of these fields that says yes or no."""
        for name in names:
            for leaf in _flat(self._leaves.get(name)):
                if isinstance(leaf, bool):
                    return leaf
                if isinstance(leaf, int | str):
                    word = str(leaf).strip().lower()
                    if word in ("true", "yes", "1", "false", "no", "0"):
                        return word in ("true", "yes", "1")
        return None

    def values(self, name: str) -> tuple[Any, ...]:
        """The members of a list, in order."""
        return tuple(_flat(self._leaves.get(name)))


def number_of(leaf: object) -> int | None:
    """The whole number a value holds or begins with; None for anything else, also for yes and no."""
    if isinstance(leaf, bool):
        return None
    if isinstance(leaf, int):
        return leaf if abs(leaf) < 1 << 64 else None
    if isinstance(leaf, float):
        return int(leaf) if leaf.is_integer() and abs(leaf) < 1 << 53 else None
    match = _NUMBER.match(leaf) if isinstance(leaf, str) else None
    return int(match[1], 16 if match[1][:2].lower() == "0x" else 10) if match else None


def hex_of(text: str | None) -> int | None:
    """A number written in hexadecimal digits, with or without 0x."""
    digits = (text or "").strip().lower().removeprefix("0x")
    return int(digits, 16) if _HEX_DIGITS.match(digits) else None


def _flat(leaf: object) -> Iterator[Any]:
    if isinstance(leaf, list | tuple):
        for one in leaf[:_MOST_LEAVES]:
            yield from _flat(_value_of(one)) if isinstance(one, Mapping) else [one]
    elif leaf is not None:
        yield leaf


def _in_braces(text: str) -> list[str]:
    if text.startswith("{") and text.endswith("}") and ("," in text or "\\" in text):
        return [part.strip().strip('"') for part in text[1:-1].split(",") if part.strip().strip('"')]
    return [text]


def _value_of(value: object) -> object:
    """What a wrapped leaf holds: `{"#text": …}`, `{"Value": …}`, `{"value": "/Date(…)/", "DateTime": …}`."""
    if isinstance(value, Mapping):
        for name, inner in list(value.items())[:20]:
            if plain(str(name)) in _TEXT_KEYS and not isinstance(inner, Mapping):
                return inner
    return None


def _name_of(value: Mapping[Any, Any]) -> str | None:
    for name, inner in list(value.items())[:20]:
        if plain(str(name)) in _NAME_KEYS and isinstance(inner, str):
            return plain(inner)
    return None


def _leaves_of(value: Mapping[Any, Any]) -> Iterator[tuple[str, Any]]:
    """Leaves, the outer ones first; `Provider: {Name: x}` is also `providername`, and a list of named values
    (`[{"Name": "Problem", "#text": "0x2b"}]`) gives each by its name."""
    level: list[tuple[str, Mapping[Any, Any]]] = [("", value)]
    given = 0
    for _ in range(_DEEPEST):
        deeper: list[tuple[str, Mapping[Any, Any]]] = []
        for outer, mapping in level:
            for name, inner in mapping.items():
                given += 1
                if given > _MOST_LEAVES:
                    return
                key = plain(str(name))
                yield from _leaf(outer, key, inner)
                if "." in str(name):  # `winlog.event_data.DeviceInstanceId` of log shippers
                    yield from _leaf(outer, plain(str(name).rpartition(".")[2]), inner)
                deeper += _inner(outer, key, inner)
        level = deeper


def _leaf(outer: str, key: str, inner: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(inner, Mapping):
        wrapped = _value_of(inner)
        if wrapped is not None:
            yield key, wrapped
        return
    if isinstance(inner, Sequence) and not isinstance(inner, str):
        named = [(n, _value_of(m)) for m in inner[:_MOST_LEAVES] if isinstance(m, Mapping) and (n := _name_of(m))]
        yield from named
    if outer and key in (*_NAME_KEYS, *_TEXT_KEYS, "systemtime", "id"):
        yield outer + key, inner
    if not (outer and key in (*_NAME_KEYS, *_TEXT_KEYS)):
        yield key, inner


def _inner(outer: str, key: str, inner: Any) -> list[tuple[str, Mapping[Any, Any]]]:
    if isinstance(inner, Mapping):
        passing = key in ("attributes", "event", "system", "winlog")  # wrappers that are no name of their own
        return [(outer if passing else key, inner)]
    if isinstance(inner, list | tuple):
        return [(key, m) for m in inner[:_MOST_LEAVES] if isinstance(m, Mapping)]
    return []
