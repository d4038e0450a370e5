"""Where the keyboard goes on the strips: what each key means, and which spot is next in a direction."""

from PySide6.QtCore import Qt

from wizard.desktop.widgets.strip_view import Spot, View

KEYS: dict[int, str] = {
    Qt.Key.Key_Up: "up",
    Qt.Key.Key_Down: "down",
    Qt.Key.Key_Left: "left",
    Qt.Key.Key_Right: "right",
    Qt.Key.Key_Home: "first",
    Qt.Key.Key_End: "last",
    Qt.Key.Key_PageUp: "strip before",
    Qt.Key.Key_PageDown: "strip after",
    Qt.Key.Key_Space: "press",
    Qt.Key.Key_Return: "press",
    Qt.Key.Key_Enter: "press",
    Qt.Key.Key_Escape: "back",
    Qt.Key.Key_Slash: "search",
    Qt.Key.Key_T: "tick",
}
"""Meaning by key. `+`, `-` and `0` are told by their text, which keyboards put on different keys."""

SAME_COLUMN = 4.0
"""Up and down stay in a column of strips, left and right leave it: lines of text between the two."""

_WAYS = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}


def next_spot(view: View, way: str) -> Spot | None:
    """The spot that a key leads to; while a plug is held only sockets are travelled."""
    spots = view.spots()
    if view.held is not None:
        spots = [s for s in spots if s.part == "hole"]
        now = Spot("hole", view.target or view.picture.hole_of.get(view.held, ""))
    else:
        now = view.current or (spots[0] if spots else Spot("strip", ""))
    if not spots:
        return None
    if way in ("first", "last"):
        return spots[0 if way == "first" else -1]
    if way in ("strip before", "strip after"):
        return _other_strip(view, spots, now, 1 if way == "strip after" else -1)
    return _along_the_cord(view, now, way) or _nearest(view, spots, now, _WAYS[way])


def _along_the_cord(view: View, now: Spot, way: str) -> Spot | None:
    """Right from a hub's plug to its strip; left from a strip to the socket it hangs in."""
    if view.held is not None:
        return None
    if way == "right" and now.part == "hole":
        plug = view.picture.holes[now.key].plug if now.key in view.picture.holes else None
        return Spot("strip", plug.key) if plug is not None and plug.key in view.layout.boxes else None
    if way == "left" and now.part == "strip" and now.key in view.picture.strips:
        above = view.picture.strips[now.key].above
        return Spot("hole", above) if above is not None and view.rect(Spot("hole", above)) is not None else None
    return None


def _other_strip(view: View, spots: list[Spot], now: Spot, step: int) -> Spot | None:
    keys = list(view.layout.boxes)
    mine = now.key if now.part == "strip" else view.picture.strip_of.get(now.key, "")
    if mine not in keys:
        return spots[0]
    other = keys[min(max(keys.index(mine) + step, 0), len(keys) - 1)]
    if view.held is None:
        return Spot("strip", other)
    return next((s for s in spots if view.picture.strip_of.get(s.key) == other), None)


def _nearest(view: View, spots: list[Spot], now: Spot, way: tuple[int, int]) -> Spot | None:
    """The nearest spot in a direction: what lies straight ahead counts as nearer than what lies aside."""
    here = view.rect(now)
    if here is None:
        return spots[0]
    x, y = _centre(here)
    best: tuple[float, Spot] | None = None
    for spot in spots:
        there = view.rect(spot)
        if spot == now or there is None:
            continue
        dx, dy = _centre(there)[0] - x, _centre(there)[1] - y
        ahead = dx * way[0] + dy * way[1]
        aside = abs(dx * way[1]) + abs(dy * way[0])
        if ahead > 0.2 and (aside < SAME_COLUMN if way[0] == 0 else ahead > SAME_COLUMN):
            cost = ahead + 1.5 * aside
            if best is None or cost < best[0]:
                best = (cost, spot)
    return best[1] if best is not None else None


def _centre(rect: tuple[float, float, float, float]) -> tuple[float, float]:
    """The middle of a spot; all start at the left of a strip, so that up and down stay in a column."""
    left, top, _, height = rect
    return left, top + height / 2
