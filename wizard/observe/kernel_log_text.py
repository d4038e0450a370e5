"""The bytes of a log as plain text: colours and other orders to a terminal left out, UTF-16 turned into UTF-8.

Only where seen: a log without either passes through untouched, at the speed of looking for one byte. Lines stay
lines, so that line numbers are those of the file. Knows nothing of what the log says.
"""

import codecs
import re
from collections.abc import Iterable, Iterator
from itertools import chain

from wizard.observe.exports.decoding import encoding_of

_ESCAPE = b"\x1b"
# Control sequences, and strings for the terminal with what ends them (ECMA-48 §5.4, §5.6; BEL: common practice, no
# source); last, any other escape of two bytes.
_ORDER = re.compile(
    rb"\x1b(?:\[[0-?]{0,64}[ -/]{0,8}[@-~]|[\]PX^_][^\x07\x1b\n]{0,1000}(?:\x07|\x1b\\)|[ -/]{1,4}[0-~]|[0-Z\\^-~])"
)
# The start of an order that the end of a piece cuts off.
_CUT = re.compile(rb"\x1b(?:\[[0-?]{0,64}[ -/]{0,8}|[\]PX^_][^\x07\x1b\n]{0,1000}\x1b?|[ -/]{0,4})\Z")
_BLANK = b"\xef\xbb\xbf"


def plain(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """The same log, cut anywhere. Never raises on any bytes."""
    source = iter(chunks)
    first = _first(source)
    encoding = encoding_of(first)
    if encoding == "utf-8":
        return _without_orders(chain((first.removeprefix(_BLANK),), source))
    return _without_orders(_recoded(chain((first,), source), encoding))


def _first(source: Iterator[bytes]) -> bytes:
    """Enough of the beginning to tell the encoding from."""
    held = b""
    for chunk in source:
        held += chunk
        if len(held) >= _ENOUGH:
            break
    return held


_ENOUGH = 64


def _recoded(chunks: Iterable[bytes], encoding: str) -> Iterator[bytes]:
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    for chunk in chunks:
        yield decoder.decode(chunk).removeprefix("\ufeff").encode("utf-8", "replace")
    yield decoder.decode(b"", final=True).encode("utf-8", "replace")


def _without_orders(chunks: Iterable[bytes]) -> Iterator[bytes]:
    rest = b""
    for chunk in chunks:
        if not rest and _ESCAPE not in chunk:
            yield chunk
            continue
        data = rest + chunk
        cut = _CUT.search(data, max(0, data.rfind(b"\n")))
        end = cut.start() if cut is not None else len(data)
        yield _ORDER.sub(b"", data[:end])
        rest = data[end:]
    yield rest
