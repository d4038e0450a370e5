"""The sound and picture streams of a device: what each needs, and its share of the place it is carried through.

Joins the needs that follow from formats (`stream_needs`) with the bus, translator or link they are carried on.
Knows no words for people, and not which format a program has chosen.
"""

from collections.abc import Iterable
from math import fsum

from wizard.budget.bus_time import bus_speed, service_ns
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US
from wizard.budget.link_capacity import capacity_mb_s, reserved_mb_s
from wizard.budget.reserving import Settings
from wizard.budget.stream_needs import StreamNeed, audio_bytes_per_second, stream_need, video_bytes_per_second
from wizard.budget.ways import translator_of
from wizard.bus.document import Document
from wizard.bus.formats import InterfaceFormats
from wizard.bus.model import Alternate, Device, Endpoint, Interface
from wizard.bus.tree import BusTree

__all__ = [
    "StreamNeed",
    "StreamPlace",
    "StreamUse",
    "audio_bytes_per_second",
    "expected_mb_s",
    "stream_uses",
    "video_bytes_per_second",
]


class StreamPlace(Document):
    """What one service of an endpoint takes of the place it is reserved at.

    `used` of `limit` at `where`: microseconds of a frame or microframe on a bus or translator (think time included
    where it is known), MB/s on a SuperSpeed link; `share` is the two divided. All are None for a bulk stream, which
    reserves nothing, and where the way to the host or the rate of the link is not known. The split transactions above
    a translator are not in it.
    """

    where: str | None = None
    used: float | None = None
    limit: float | None = None
    unit: str | None = None
    share: float | None = None


class StreamUse(StreamNeed, StreamPlace):
    """What one setting of a sound or picture interface carries, needs and takes.

    `endpoint` is the address of the one that carries the stream; one that only feeds the rate back is left out.
    """

    device: str
    interface: int
    alternate: int
    endpoint: int
    towards_host: bool


def stream_uses(
    tree: BusTree, device: Device, formats: Iterable[InterfaceFormats], settings: Settings = "current"
) -> tuple[StreamUse, ...]:
    """The streams of a device, by interface: of the settings in use now, or of the greatest ones.

    `formats` are those of this device, of all its configurations. A setting that carries nothing (a sound interface at
    rest) gives no use.
    """
    uses = []
    for interface, described in _streaming(device, formats):
        setting = interface.current() if settings == "current" else _greatest(interface)
        endpoint = _carrier(setting)
        if setting is None or endpoint is None:
            continue
        use = StreamUse(
            device=device.id,
            interface=interface.number,
            alternate=setting.number,
            endpoint=endpoint.address,
            towards_host=endpoint.is_in,
            **dict(stream_need(setting, endpoint, described)),
            **dict(_place(tree, device, endpoint)),
        )
        uses.append(use)
    return tuple(uses)


def expected_mb_s(
    device: Device,
    formats: Iterable[InterfaceFormats],
    settings: Settings = "greatest",
    towards_host: bool | None = None,
) -> float | None:
    """What the streams of a device need in MB/s (decimal): the most that could be asked, or what runs now.

    `towards_host` picks one direction; None adds both. None comes back where no interface describes formats, or where
    one of them has a need that can't be told: now, a bulk stream or one of several possible formats.
    """
    needs: list[float | None] = []
    for interface, described in _streaming(device, formats):
        setting = interface.current() if settings == "current" else _greatest(interface)
        endpoint = _carrier(setting)
        if setting is None:
            needs.append(None)
        elif endpoint is None or towards_host not in (None, endpoint.is_in):
            needs.append(0.0)
        else:
            need = stream_need(setting, endpoint, described)
            needs.append(need.mb_s if settings == "current" else need.most_mb_s)
    known = [need for need in needs if need is not None]
    return fsum(known) if needs and len(known) == len(needs) else None


def _streaming(
    device: Device, formats: Iterable[InterfaceFormats]
) -> list[tuple[Interface, tuple[InterfaceFormats, ...]]]:
    """The interfaces that describe formats in the configuration in use, each with what it describes.

    Where the system does not tell the configuration and only one describes formats, that one is taken.
    """
    told = tuple(formats)
    configurations = {f.configuration for f in told}
    if device.configuration is not None:
        configurations &= {device.configuration}
    if len(configurations) != 1:
        return []
    found = []
    for interface in device.interfaces:
        own = tuple(f for f in told if f.configuration in configurations and f.interface == interface.number)
        if own:
            found.append((interface, own))
    return found


def _carrier(setting: Alternate | None) -> Endpoint | None:
    """The endpoint that carries the stream: the widest isochronous one (a narrower one feeds the rate back), else a
    bulk one."""
    if setting is None:
        return None
    streams = [e for e in setting.endpoints if e.type == "isochronous" and e.max_packet and e.interval_us]
    if streams:
        return max(streams, key=reserved_mb_s)
    return next((e for e in setting.endpoints if e.type == "bulk"), None)


def _greatest(interface: Interface) -> Alternate | None:
    """The setting that reserves most; one with a bulk endpoint where none reserves."""
    carrying = [(reserved_mb_s(e), a) for a in interface.alternates if (e := _carrier(a)) is not None]
    return max(carrying, key=lambda pair: pair[0])[1] if carrying else None


def _place(tree: BusTree, device: Device, endpoint: Endpoint) -> StreamPlace:
    if not endpoint.is_periodic:
        return StreamPlace()
    if device.is_super:
        return _shared(device.id, reserved_mb_s(endpoint), capacity_mb_s(device.mbps), "MB/s")
    speed, root = bus_speed(device.speed), tree.root_of(device.id)
    if speed is None or root is None:
        return StreamPlace()
    ns = service_ns(speed, endpoint)
    if speed == "high":
        return _shared(root.id, ns / 1000, MICROFRAME_US.value, "us/microframe")
    translator = translator_of(tree, device)
    if translator is None:
        return _shared(root.id, ns / 1000, FRAME_US.value, "us/frame")
    hub = tree.devices.get(translator.split("/", 1)[0])
    think_ns = hub.hub.think_ns if hub is not None and hub.hub is not None else None
    return _shared(translator, (ns + (think_ns or 0)) / 1000, TRANSLATOR_US.value, "us/frame")


def _shared(where: str, used: float, limit: float | None, unit: str) -> StreamPlace:
    return StreamPlace(where=where, used=used, limit=limit, unit=unit, share=used / limit if limit else None)
