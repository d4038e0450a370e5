"""Finding a plug by its name, its place, its kind or its USB number, and whatever is overdrawn. Draws nothing."""

from wizard.bus.tree import BusTree
from wizard.desktop.strip_bands import Bands, worst
from wizard.desktop.strip_figures import WORDS
from wizard.desktop.strips import Picture
from wizard.desktop.widgets.strip_view import Spot


def found_plugs(picture: Picture, tree: BusTree, text: str) -> list[str] | None:
    """Keys of the plugs that hold every word of a text, in the order of the strips; None where there is no text."""
    words = text.casefold().split()
    if not words:
        return None
    found: list[str] = []
    for hole in picture.holes.values():
        if hole.plug is None:
            continue
        devices = [tree.devices[h] for h in hole.plug.halves if h in tree.devices]
        numbers = [f"{d.vid}:{d.pid}" for d in devices if d.vid or d.pid]
        told = " ".join((hole.plug.name, hole.id, *hole.plug.halves, WORDS[hole.plug.figure], *numbers)).casefold()
        if all(word in told for word in words):
            found.append(hole.plug.key)
    return found


def overdrawn(picture: Picture, bands: Bands) -> list[Spot]:
    """The strips and sockets at which something is overdrawn, in the order of the strips."""
    found: list[Spot] = []
    for strip in picture.strips.values():
        if worst(bands.at(strip.key, strip=True)) == "over":
            found.append(Spot("strip", strip.key))
        found += [Spot("hole", h.key) for h in strip.holes if worst(bands.at(h.key, strip=False)) == "over"]
    return found
