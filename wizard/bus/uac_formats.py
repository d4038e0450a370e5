"""Sound formats from the class-specific descriptors of one setting of an audio streaming interface.

USB Audio 1.0: streaming interface Audio Device Class 1.0 §4.5.2, format type I Audio Data Formats 1.0 §2.2.5; USB
Audio 2.0: Audio Device Class 2.0 §4.9.2, Audio Data Formats 2.0 §2.3.1.6. The layouts are those of Linux 6.1
include/uapi/linux/usb/audio.h and include/linux/usb/audio-v2.h, which name these clauses but for §2.2.5 (confirmed
there; the documents themselves were not at hand). Knows bytes only and raises for none; whoever calls counts and stops.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wizard.bus.formats import AudioFormat

AUDIO_CLASS = 0x01
"""bInterfaceClass: Linux include/uapi/linux/usb/ch9.h (confirmed)."""
AUDIO_STREAMING = 0x02
"""bInterfaceSubClass: Audio Device Class 1.0 A.2 (Linux audio.h, confirmed)."""
VERSION_2, VERSION_3 = 0x20, 0x30
"""bInterfaceProtocol by version of the standard; 0x00 is version 1 (Linux audio.h, confirmed)."""

_AS_GENERAL, _FORMAT_TYPE = 0x01, 0x02  # bDescriptorSubtype: Audio Device Class 1.0 A.6
_LIKE_TYPE_I = frozenset((0x01, 0x03, 0x81))
"""bFormatType with the layout of type I: itself, type III (IEC 1937 in PCM frames; from memory) and the extended type
I of USB Audio 2.0."""


class Remark(NamedTuple):
    """Something odd in the bytes. `lost` says that a format, or a part of one, could not be told because of it."""

    text: str
    lost: bool


def audio_formats(parts: Sequence[bytes], protocol: int) -> Iterator[AudioFormat | Remark]:
    """The formats in `parts`, the CS_INTERFACE descriptors of one setting whose bInterfaceProtocol is `protocol`.

    A protocol without a version is read as version 1, as Linux does (sound/usb/card.c, from memory). Every part has
    three bytes at least: length, type and subtype.
    """
    if protocol == VERSION_3:
        yield Remark("speaks version 3.0 of the audio class, which keeps its formats out of the descriptors", True)
        return
    channels = _channels_2(parts) if protocol == VERSION_2 else None
    for part in parts:
        if part[2] != _FORMAT_TYPE:
            continue
        if len(part) < 4 or part[3] not in _LIKE_TYPE_I:
            kind = f"0x{part[3]:02x}" if len(part) > 3 else "without a number"
            yield Remark(f"has a sound format of type {kind}, which is not decoded here", True)
        elif protocol == VERSION_2:
            yield from _version_2(part, channels)
        else:
            yield from _version_1(part)


def _channels_2(parts: Sequence[bytes]) -> int | None:
    """bNrChannels of the AS_GENERAL descriptor of version 2 (16 bytes: Audio Device Class 2.0 §4.9.2)."""
    return next((p[10] for p in parts if p[2] == _AS_GENERAL and len(p) >= 16), None)


def _version_1(part: bytes) -> Iterator[AudioFormat | Remark]:
    if len(part) < 8:
        yield Remark(f"has a sound format of {len(part)} bytes instead of 8 or more", True)
        return
    channels, size, bits, count = part[4:8]
    room = (len(part) - 8) // 3
    if count == 0:
        yield from _checked(channels, size, bits, (), _range(part) if room >= 2 else (0, 0))
        return
    if count > room:
        yield Remark(f"announces {count} sample rates, of which {room} are there", True)
    listed = tuple(_three(part, 8 + 3 * n) for n in range(min(count, room)))
    rates = tuple(rate for rate in listed if rate)
    if len(rates) < len(listed):
        yield Remark("lists a sample rate of 0, which was skipped", False)
    yield from _checked(channels, size, bits, rates, None)


def _version_2(part: bytes, channels: int | None) -> Iterator[AudioFormat | Remark]:
    if len(part) < 6 or channels is None:
        missing = "a whole format" if channels is not None else "the number of channels"
        yield Remark(f"has a sound format without {missing}", True)
        return
    yield from _checked(channels, part[4], part[5], (), None)


def _checked(
    channels: int, size: int, bits: int, rates: tuple[int, ...], limits: tuple[int, int] | None
) -> Iterator[AudioFormat | Remark]:
    """The format, unless it carries nothing; with what is odd about it."""
    if not channels or not size:
        yield Remark(f"has a sound format of {channels} channels with {size} bytes a sample", True)
        return
    if bits > 8 * size:
        yield Remark(f"claims {bits} bits in a sample of {size} bytes", False)
    if limits is not None and not 0 < limits[0] <= limits[1]:
        yield Remark(f"gives {limits[0]} to {limits[1]} as its range of sample rates", True)
        limits = None
    yield AudioFormat(channels=channels, bytes_per_sample=size, bits=bits, sample_rates=rates, sample_range=limits)


def _range(part: bytes) -> tuple[int, int]:
    return _three(part, 8), _three(part, 11)


def _three(part: bytes, at: int) -> int:
    return int.from_bytes(part[at : at + 3], "little")
