"""What is to be drawn of the strips at one moment, and what stands where the pointer is. Draws nothing itself."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Literal

from wizard.budget.entry import Entry
from wizard.desktop.strip_bands import Bands, shown_on_strip
from wizard.desktop.strip_layout import BAND, BODY, HEAD, Box, Layout, Row
from wizard.desktop.strips import Picture

TICK = 1.9
"""Width of the place for a tick at the end of a tag, in lines."""
HANDLE = 3.4
"""Width of the word that folds and unfolds, at the end of a plate, in lines."""

Part = Literal["strip", "hole", "band", "fold", "tick"]


@dataclass(frozen=True)
class Spot:
    """A place on the picture: a strip or a socket by its key, or a part of one. `entry` is a band's."""

    part: Part
    key: str
    entry: Entry | None = field(default=None, compare=False)
    number: int = 0

    @property
    def place(self) -> "Spot":
        """The strip or socket that the part belongs to."""
        return Spot("hole" if self.part in ("hole", "tick") else "strip", self.key)


@dataclass
class View:
    """What the canvas shows now. Only the canvas and the map change it."""

    picture: Picture = field(default_factory=Picture)
    bands: Bands = field(default_factory=Bands)
    before: Bands | None = None
    layout: Layout = field(default_factory=Layout)
    folded: frozenset[str] = frozenset()
    ticking: bool = False
    ticks: frozenset[str] = frozenset()
    found: frozenset[str] | None = None
    moved: Mapping[str, str | None] = field(default_factory=dict)
    current: Spot | None = None
    hover: Spot | None = None
    chosen: Spot | None = None
    held: str | None = None
    target: str | None = None
    refused: bool = False
    what_if: bool = False

    def spot_at(self, x: float, y: float) -> Spot | None:
        """What stands at a point, in lines."""
        for box in self.layout.boxes.values():
            if box.left <= x <= box.right and box.top <= y <= box.bottom:
                return self._in_box(box, x, y)
        return None

    def _in_box(self, box: Box, x: float, y: float) -> Spot | None:
        if y < box.top + HEAD:
            return Spot("fold" if x > box.right - HANDLE and y < box.top + HEAD / 2 + 0.2 else "strip", box.key)
        if y < box.top + box.plate:
            number = int((y - box.top - HEAD) // BAND)
            entries = shown_on_strip(self.bands.at(box.key, strip=True))
            return Spot("band", box.key, entries[number], number) if number < len(entries) else Spot("strip", box.key)
        if box.hidden is not None:
            return Spot("fold", box.key)
        for row in box.rows:
            if row.top <= y < row.top + row.height:
                return self._in_row(box, row, x)
        return None

    def _in_row(self, box: Box, row: Row, x: float) -> Spot | None:
        plug = self.picture.holes[row.key].plug
        if plug is None:  # a free socket has no tag, but a plug that is held may be let go beside it
            return Spot("hole", row.key) if self.held is not None or x < box.left + BODY + 7 else None
        return Spot("tick" if self.ticking and x > box.right - TICK else "hole", row.key)

    def rect(self, spot: Spot) -> tuple[float, float, float, float] | None:
        """Left, top, width and height of a strip's plate or a socket's row in lines, where it is to be seen."""
        place = spot.place
        if place.part == "strip":
            box = self.layout.boxes.get(place.key)
            return None if box is None else (box.left, box.top, box.right - box.left, box.plate)
        box = self.layout.boxes.get(self.picture.strip_of.get(place.key, ""))
        row = self.layout.row(self.picture, place.key)
        return None if box is None or row is None else (box.left, row.top, box.right - box.left, row.height)

    def spots(self) -> list[Spot]:
        """All places that the keyboard goes to, strip after strip."""
        found: list[Spot] = []
        for box in self.layout.boxes.values():
            found.append(Spot("strip", box.key))
            found += [Spot("hole", row.key) for row in box.rows]
        return found

    def is_dim(self, keys: Collection[str]) -> bool:
        """Whether a search leaves something out."""
        return self.found is not None and not any(key in self.found for key in keys)
