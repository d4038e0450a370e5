"""Where everything of a picture of strips is drawn. Lengths are lines of text; knows no Qt and no colours.

A strip stands upright: its plate with name and budgets on top, its sockets below one another, each plug with its tag
at its side. What hangs on a strip stands in the next column, at the height of the socket it hangs in where there is
room. What belongs to one controller is a block; blocks fill the width there is.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from math import sqrt

from wizard.desktop.strip_bands import Bands, shown_on_strip, worst
from wizard.desktop.strips import Hole, Picture, Strip

WIDE = 21.0
"""Width of a strip with its tags."""
BODY = 3.1
"""Width of the strip itself."""
BETWEEN = 3.6
"""Room for a cord between two columns."""
STEP = WIDE + BETWEEN
APART = 1.3
"""Room below a strip."""
HEAD = 2.7
"""Name and small print of a plate."""
BAND = 1.75
"""One budget on a plate."""
TAKEN = 2.25
"""Height of a socket with a plug in it."""
FREE = 1.25
"""Height of a free socket."""
DOUBTFUL = 0.85
"""Height of a socket that may not be led out; of several in a row only the first says so."""
FOLDED = 1.5
"""The line that tells what is folded away."""
EDGE = 0.8
"""Margin around everything."""


@dataclass(frozen=True)
class Row:
    """One socket of a strip: from `top` on, so high."""

    key: str
    top: float
    height: float

    @property
    def middle(self) -> float:
        """Where the cord leaves."""
        return self.top + self.height / 2


@dataclass(frozen=True)
class Hidden:
    """What a folded strip hides: plugs, and places by their worst state."""

    plugs: int = 0
    over: int = 0
    tight: int = 0
    unknown: int = 0


@dataclass(frozen=True)
class Box:
    """One strip in its place. `rows` is empty where it is folded; `hidden` then tells what is not seen."""

    key: str
    left: float
    top: float
    plate: float
    rows: tuple[Row, ...] = ()
    hidden: Hidden | None = None

    @property
    def bottom(self) -> float:
        """Where the strip ends."""
        if self.hidden is not None:
            return self.top + self.plate + FOLDED
        return self.rows[-1].top + self.rows[-1].height + BODY / 5 if self.rows else self.top + self.plate

    @property
    def right(self) -> float:
        """Where tags and plate end."""
        return self.left + WIDE

    @property
    def inlet(self) -> tuple[float, float]:
        """Where the cord comes in."""
        return self.left, self.top + HEAD / 2


@dataclass(frozen=True)
class Cord:
    """From a socket to the strip that hangs in it; both are keys of a box, `plug` is the key of the plug."""

    plug: str
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class Layout:
    """All strips that are to be seen, with the cords between them."""

    boxes: Mapping[str, Box] = field(default_factory=dict)
    cords: tuple[Cord, ...] = ()
    width: float = 0.0
    height: float = 0.0

    def row(self, picture: Picture, hole: str) -> Row | None:
        """The row of a socket, where it is to be seen."""
        box = self.boxes.get(picture.strip_of.get(hole, ""))
        return next((r for r in box.rows if r.key == hole), None) if box is not None else None


def lay_out(
    picture: Picture, bands: Bands, folded: Collection[str] = (), wide: float = 0.0, last: Collection[str] = ()
) -> Layout:
    """Put every strip into its place, within so many lines of width where that can be had. Strips in `last` (keys)
    stand behind the others."""
    tops = sorted((s for s in picture.strips.values() if s.above is None), key=lambda s: s.key in last)
    blocks = [_Block(picture, bands, folded, top) for top in tops]
    columns = max([1, int((wide - 2 * EDGE + BETWEEN) // STEP), *(b.span for b in blocks)])
    feet = [EDGE] * columns
    boxes: dict[str, Box] = {}
    for block in blocks:
        start = min(range(columns - block.span + 1), key=lambda c: (max(feet[c : c + block.span]), c))
        top = max(feet[start : start + block.span])
        for box in block.boxes.values():
            boxes[box.key] = _shifted(box, EDGE + start * STEP, top)
        foot = max(b.bottom for b in block.boxes.values()) + top + APART
        feet[start : start + block.span] = [foot] * block.span
    right = max((b.right for b in boxes.values()), default=0.0)
    return Layout(boxes, _cords(picture, boxes), right + EDGE, max(feet) - APART + EDGE)


HALVINGS = 5
"""How often the range of zooms is halved in search of the one that shows everything: then it is off by 4 % at most."""


def empty_ones(picture: Picture) -> frozenset[str]:
    """The controllers on which nothing hangs: least to look at."""
    tops = (strip for strip in picture.strips.values() if strip.above is None)
    return frozenset(strip.key for strip in tops if all(hole.plug is None for hole in strip.holes))


def fitting_zoom(
    picture: Picture,
    bands: Bands,
    folded: Collection[str],
    room: tuple[float, float],
    least: float,
    last: Collection[str] = (),
) -> float:
    """The largest zoom, from `least` to 1, at which everything stands in a room of so many lines by so many."""

    def fits(zoom: float) -> bool:
        layout = lay_out(picture, bands, folded, room[0] / zoom, last)
        return layout.width * zoom <= room[0] and layout.height * zoom <= room[1]

    if fits(1.0):
        return 1.0
    low, high = least, 1.0
    for _ in range(HALVINGS):
        middle = sqrt(low * high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _shifted(box: Box, right: float, down: float) -> Box:
    rows = tuple(Row(r.key, r.top + down, r.height) for r in box.rows)
    return replace(box, left=box.left + right, top=box.top + down, rows=rows)


def _cords(picture: Picture, boxes: Mapping[str, Box]) -> tuple[Cord, ...]:
    found: list[Cord] = []
    for box in boxes.values():
        above = picture.strips[box.key].above
        home = boxes.get(picture.strip_of.get(above or "", ""))
        row = next((r for r in home.rows if r.key == above), None) if home is not None else None
        if home is not None and row is not None:
            found.append(Cord(box.key, (home.right, row.middle), box.inlet))
    return tuple(found)


class _Block:
    """A strip with all that hangs on it, from the corner 0, 0 on."""

    def __init__(self, picture: Picture, bands: Bands, folded: Collection[str], top: Strip) -> None:
        self.picture, self.bands, self.folded = picture, bands, folded
        self.boxes: dict[str, Box] = {}
        self._feet: dict[int, float] = {}
        waiting = [(top, 0.0)]
        while waiting:
            strip, wanted = waiting.pop()
            box = self._put(strip, wanted)
            below = [
                (picture.strips[hole.plug.key], row.middle - HEAD / 2)
                for hole, row in zip(strip.holes, box.rows, strict=False)
                if hole.plug is not None and hole.plug.is_hub and hole.plug.key in picture.strips
            ]
            waiting.extend(reversed(below if strip.kind != "adrift" else []))
        self.span = 1 + round(max(b.left for b in self.boxes.values()) / STEP)

    def _put(self, strip: Strip, wanted: float) -> Box:
        column = strip.depth
        top = max(wanted, self._feet.get(column, 0.0), 0.0)
        box = self._box(strip, column * STEP, top)
        self.boxes[strip.key] = box
        self._feet[column] = box.bottom + APART
        return box

    def _box(self, strip: Strip, left: float, top: float) -> Box:
        plate = HEAD + BAND * len(shown_on_strip(self.bands.at(strip.key, strip=True)))
        if strip.key in self.folded:
            return Box(strip.key, left, top, plate, hidden=hidden_below(self.picture, self.bands, strip.key))
        rows: list[Row] = []
        at = top + plate + BODY / 5
        for hole in strip.holes:
            height = _height(hole)
            rows.append(Row(hole.key, at, height))
            at += height
        return Box(strip.key, left, top, plate, tuple(rows))


def _height(hole: Hole) -> float:
    if hole.plug is not None:
        return TAKEN
    return DOUBTFUL if hole.hold == "doubtful" else FREE


def hidden_below(picture: Picture, bands: Bands, strip: str) -> Hidden:
    """What is not seen while a strip is folded: its own sockets, and everything further down."""
    counts = {"over": 0, "tight": 0, "unknown": 0}
    plugs = 0
    for one in (picture.strips[strip], *picture.below(strip)):
        states = [worst(bands.at(hole.key, strip=False)) for hole in one.holes]
        if one.key != strip:
            states.append(worst(bands.at(one.key, strip=True)))
        plugs += sum(hole.plug is not None for hole in one.holes)
        for state in states:
            if state in counts:
                counts[state] += 1
    return Hidden(plugs, counts["over"], counts["tight"], counts["unknown"])


MOST_ROWS = 120
"""Sockets that a picture shows unasked; beyond, hubs are folded first: common practice (no source)."""


def folded_at_first(picture: Picture, keep_open: Collection[str] = ()) -> frozenset[str]:
    """Which strips to fold so that the reader is not lost: none on a desk of common size, else the hubs furthest
    from the PC first. Strips above `keep_open` (keys of plugs) stay open."""
    open_ones: set[str] = set()
    for plug in keep_open:
        open_ones |= _way_up(picture, plug)
    rows = {key: len(strip.holes) for key, strip in picture.strips.items()}
    folded: set[str] = set()
    for depth in range(max((s.depth for s in picture.strips.values()), default=0), -1, -1):
        shown = sum(n for key, n in rows.items() if key not in folded and picture.strips[key].depth <= depth)
        if shown <= MOST_ROWS:
            break
        folded |= {k for k, s in picture.strips.items() if s.depth == depth and k not in open_ones and s.holes}
    return frozenset(folded)


def _way_up(picture: Picture, plug: str) -> set[str]:
    way: set[str] = set()
    strip = picture.strip_of.get(picture.hole_of.get(plug, ""))
    while strip is not None and strip not in way:
        way.add(strip)
        strip = picture.strip_above(strip)
    return way


def opened_to(picture: Picture, folded: Collection[str], plug: str) -> frozenset[str]:
    """The folds that remain when a plug is to be seen."""
    return frozenset(folded) - _way_up(picture, plug)


def opened_to_strip(picture: Picture, folded: Collection[str], strip: str) -> frozenset[str]:
    """The folds that remain when the plate of a strip is to be seen; it may be folded itself."""
    return opened_to(picture, folded, strip) if picture.strips[strip].above is not None else frozenset(folded)
