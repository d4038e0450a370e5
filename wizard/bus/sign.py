"""A sign: what a log or a watch reports about one place, with repeats folded into one value."""

from wizard.bus.document import Document


class Sign(Document):
    """One kind of trouble at one place.

    `where` is a device path, a controller, a disk, or `-`. `count` includes what the log itself says
    was repeated; `first` and `last` are stamps as the log prints them; `lines` are 1-based line
    numbers, at most the first 1000; `text` is one sample and is untrusted.
    """

    kind: str
    where: str = "-"
    count: int = 1
    first: str | None = None
    last: str | None = None
    lines: tuple[int, ...] = ()
    text: str = ""
