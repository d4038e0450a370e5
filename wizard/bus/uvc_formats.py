"""Picture formats from the class-specific descriptors of a video streaming interface.

Video Class 1.5 §3.9.2 and the documents of the payloads (from memory). The layouts of the uncompressed and MJPEG
descriptors and the subtypes in use are those of Linux include/uapi/linux/usb/video.h (confirmed); the frame-based
layout stands here from memory, and Linux 6.1 reads a device written by it the same way. Knows bytes only and raises for
none; whoever calls counts and stops.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wizard.bus.formats import Encoding, VideoFormat
from wizard.bus.uac_formats import Remark

VIDEO_CLASS = 0x0E
"""bInterfaceClass: Linux include/uapi/linux/usb/ch9.h (confirmed)."""
VIDEO_STREAMING = 0x02
"""bInterfaceSubClass: Video Class A.2 (Linux video.h, confirmed)."""


class _Layout(NamedTuple):
    """Where a format keeps its bits a pixel, and its frames the fields in which encodings differ."""

    encoding: Encoding
    format_length: int
    depth_at: int | None
    frame_subtype: int
    frame_bytes_at: int | None
    default_at: int
    count_at: int


_FRAMED = {
    # bDescriptorSubtype of the format: Video Class A.6
    0x04: _Layout("uncompressed", 27, 21, 0x05, 17, 21, 25),  # VS_FORMAT_UNCOMPRESSED, VS_FRAME_UNCOMPRESSED
    0x06: _Layout("mjpeg", 11, None, 0x07, 17, 21, 25),  # VS_FORMAT_MJPEG, VS_FRAME_MJPEG
    0x10: _Layout("frame_based", 28, 21, 0x11, None, 17, 21),  # VS_FORMAT_FRAME_BASED, VS_FRAME_FRAME_BASED
}
_FRAMELESS: dict[int, Encoding] = {0x0A: "mpeg2_ts", 0x0C: "dv", 0x12: "stream_based"}
_OTHER_FORMATS = {0x13: "H.264", 0x15: "H.264 simulcast", 0x16: "VP8", 0x18: "VP8 simulcast"}  # A.6, from memory
_FRAME_SUBTYPES = frozenset(layout.frame_subtype for layout in _FRAMED.values())
_FRAME_LENGTH = 26
"""Bytes of a frame descriptor before its intervals, the same in the three encodings."""
_TENTHS_IN_US = 10  # intervals count 100 ns


class _Open(NamedTuple):
    """The format whose frames are being read."""

    layout: _Layout
    depth: int | None
    promised: int


def video_formats(parts: Sequence[bytes]) -> Iterator[VideoFormat | Remark]:
    """The formats in `parts`, the CS_INTERFACE descriptors of one setting: one for each size of picture.

    Every part has three bytes at least: length, type and subtype.
    """
    current: _Open | None = None
    present = 0
    for part in parts:
        subtype = part[2]
        if subtype in _FRAME_SUBTYPES:
            present += 1
            yield from _frame(part, current)
        elif subtype in _FRAMED or subtype in _FRAMELESS or subtype in _OTHER_FORMATS:
            yield from _counted(current, present)
            current, present = None, 0
            if subtype in _FRAMED:
                current = _opened(part)
            yield from _unframed(part, current)
    yield from _counted(current, present)


def _opened(part: bytes) -> _Open | None:
    layout = _FRAMED[part[2]]
    if len(part) < layout.format_length:
        return None
    depth = part[layout.depth_at] if layout.depth_at is not None else None
    return _Open(layout, depth or None, part[4])


def _unframed(part: bytes, opened: _Open | None) -> Iterator[VideoFormat | Remark]:
    """What there is to say of a format that has no frames to come."""
    subtype = part[2]
    if subtype in _FRAMELESS:
        yield VideoFormat(encoding=_FRAMELESS[subtype])
    elif subtype in _OTHER_FORMATS:
        yield Remark(f"offers {_OTHER_FORMATS[subtype]} pictures, which are not decoded here", True)
    elif opened is None:
        yield Remark(f"has a picture format of {len(part)} bytes, which is too short", True)


def _counted(opened: _Open | None, present: int) -> Iterator[Remark]:
    if opened is not None and present != opened.promised:
        text = f"has {present} sizes of {opened.layout.encoding} pictures instead of {opened.promised}"
        yield Remark(text, present < opened.promised)


def _frame(part: bytes, opened: _Open | None) -> Iterator[VideoFormat | Remark]:
    if opened is None or part[2] != opened.layout.frame_subtype:
        yield Remark("has a size of picture that belongs to no format", True)
        return
    if len(part) < _FRAME_LENGTH:
        yield Remark(f"has a size of picture in {len(part)} bytes instead of {_FRAME_LENGTH} or more", True)
        return
    layout = opened.layout
    intervals, limits, remarks = _intervals(part, part[layout.count_at])
    yield from remarks
    default = _word(part, layout.default_at)
    yield VideoFormat(
        encoding=layout.encoding,
        width=int.from_bytes(part[5:7], "little") or None,
        height=int.from_bytes(part[7:9], "little") or None,
        bits_per_pixel=opened.depth,
        frame_intervals_us=intervals,
        frame_interval_range_us=limits,
        default_interval_us=default / _TENTHS_IN_US if default else None,
        min_bit_rate=_word(part, 9) or None,
        max_bit_rate=_word(part, 13) or None,
        max_frame_bytes=(_word(part, layout.frame_bytes_at) or None) if layout.frame_bytes_at is not None else None,
    )


def _intervals(part: bytes, count: int) -> tuple[tuple[float, ...], tuple[float, float] | None, list[Remark]]:
    """Listed intervals, or shortest and longest (then a step) where `count` is 0; and what is odd about them."""
    room = (len(part) - _FRAME_LENGTH) // 4
    values = [_word(part, _FRAME_LENGTH + 4 * n) for n in range(min(count or 2, room))]
    if count == 0:
        if len(values) < 2 or not 0 < values[0] <= values[1]:
            return (), None, [Remark("has a size of picture without a usable range of intervals", True)]
        return (), (values[0] / _TENTHS_IN_US, values[1] / _TENTHS_IN_US), []
    remarks: list[Remark] = []
    if count > room:
        remarks.append(Remark(f"announces {count} intervals for a size of picture, of which {room} are there", True))
    if 0 in values:
        remarks.append(Remark("lists an interval of 0 between pictures, which was skipped", False))
    return tuple(value / _TENTHS_IN_US for value in values if value), None, remarks


def _word(part: bytes, at: int) -> int:
    return int.from_bytes(part[at : at + 4], "little")
