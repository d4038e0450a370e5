"""What the sound and picture interfaces of a device may ask of their bus, in a sentence each. Knows no layout."""

from wizard.budget.streams import StreamUse, stream_uses
from wizard.bus.model import Device
from wizard.bus.tree import BusTree

_CHANNELS = {1: "mono", 2: "stereo"}


def stream_sentences(device: Device, tree: BusTree) -> tuple[str, ...]:
    """For each stream: what it is made of at most, and its share of what its place may reserve."""
    return tuple(_sentence(use) for use in stream_uses(tree, device, device.formats, "greatest"))


def _sentence(use: StreamUse) -> str:
    way = "in" if use.towards_host else "out"
    words = [_made_of(use)]
    if use.most_mb_s is not None:
        words.append(f"up to {use.most_mb_s:.3g} MB/s")
    if use.share is not None and use.where is not None:
        place = "translator" if "/tt" in use.where else "link" if use.unit == "MB/s" else "bus"
        words.append(f"takes {use.share:.0%} of what its {place} may {'carry' if place == 'link' else 'reserve'}")
    return f"{way}: {', '.join(w for w in words if w)}"


def _made_of(use: StreamUse) -> str:
    if use.channels is not None:
        rates = "/".join(f"{rate / 1000:g}" for rate in use.sample_rates)
        rate = f" {rates} kHz" if rates else ""
        bits = f" {use.bits} bit" if use.bits else ""
        return f"{_CHANNELS.get(use.channels, f'{use.channels} channels')}{rate}{bits}"
    if use.width is not None and use.height is not None:
        return f"{use.width} × {use.height}"
    if use.most_width is not None and use.most_height is not None:
        return f"pictures up to {use.most_width} × {use.most_height}"
    return "stream"
