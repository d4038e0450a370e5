"""What is said of one link of a drive's chain, and words used by several of them."""

from typing import NamedTuple

from wizard.bus.drive import LinkState

COPY_FIRST = (
    "If its files matter, copy them off before anything else, and do not let any program repair or format it first; "
    "ask a data recovery service where they are worth it."
)


class Told(NamedTuple):
    """A link without its name: state, what was found, what follows, kinds of signs that speak of it."""

    state: LinkState
    found: str
    follows: str | None = None
    signs: tuple[str, ...] = ()


def told(state: LinkState, found: str, follows: str | None = None, *signs: str) -> Told:
    """Short for a `Told`."""
    return Told(state, found, follows, signs)


def size_words(size: int) -> str:
    """Bytes in words, in powers of ten as makers count: `8.4 MB`."""
    for unit, bytes_ in (("TB", 10**12), ("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if size >= bytes_:
            return f"{size / bytes_:.3g} {unit}"
    return f"{size} bytes"
