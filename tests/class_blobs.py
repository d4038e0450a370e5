"""Descriptors of invented sound and picture devices as raw bytes, for tests only.

Written from the layouts of Linux 6.1 include/uapi/linux/usb/audio.h, video.h and include/linux/usb/audio-v2.h
(confirmed); frame-based video from memory, and Linux 6.1 took a device made so for a camera. Knows nothing of the code
under test.
"""

from collections.abc import Sequence


def piece(kind: int, *fields: int | bytes) -> bytes:
    """One descriptor: its length, its type, then single bytes and byte strings."""
    body = b"".join(bytes([f]) if isinstance(f, int) else f for f in fields)
    return bytes([len(body) + 2, kind]) + body


def word(value: int, size: int = 4) -> bytes:
    return value.to_bytes(size, "little")


def device_head(configurations: int = 1) -> bytes:
    """A device descriptor with invented ids."""
    return piece(
        1, word(0x0200, 2), 0xEF, 2, 1, 64, word(0xF00D, 2), word(1, 2), word(0x0100, 2), 0, 0, 0, configurations
    )


def configuration(*parts: bytes, value: int = 1) -> bytes:
    body = b"".join(parts)
    interfaces = {part[2] for part in parts if part[1] == 4}
    return piece(2, word(len(body) + 9, 2), len(interfaces), value, 0, 0x80, 50) + body


def blob(*configurations: bytes) -> bytes:
    return device_head(len(configurations)) + b"".join(configurations)


def setting(number: int, alternate: int, family: tuple[int, int, int], endpoints: int = 0) -> bytes:
    """An interface descriptor; `family` is class, subclass and protocol."""
    return piece(4, number, alternate, endpoints, *family, 0)


SOUND_1, SOUND_2, SOUND_3 = (1, 2, 0x00), (1, 2, 0x20), (1, 2, 0x30)
PICTURES = (14, 2, 0)


def sound_head_1() -> bytes:
    """AS_GENERAL of USB Audio 1.0: PCM."""
    return piece(0x24, 0x01, 1, 1, word(1, 2))


def sound_format_1(
    channels: int, size: int, bits: int, rates: Sequence[int] = (), limits: tuple[int, int] | None = None
) -> bytes:
    """FORMAT_TYPE I of USB Audio 1.0 with listed rates, or with a range."""
    tail = [word(rate, 3) for rate in (limits or rates)]
    return piece(0x24, 0x02, 0x01, channels, size, bits, 0 if limits else len(rates), *tail)


def sound_head_2(channels: int) -> bytes:
    """AS_GENERAL of USB Audio 2.0: PCM."""
    return piece(0x24, 0x01, 1, 0, 0x01, word(1), channels, word(0), 0)


def sound_format_2(size: int, bits: int) -> bytes:
    """FORMAT_TYPE I of USB Audio 2.0."""
    return piece(0x24, 0x02, 0x01, size, bits)


def iso_endpoint(address: int, packet: int, interval: int = 1, attributes: int = 0x05) -> bytes:
    """An isochronous endpoint descriptor in the nine bytes of the audio class."""
    return piece(5, address, attributes, word(packet, 2), interval, 0, 0)


YUY2 = bytes.fromhex("5955593200001000800000aa00389b71")
H264 = bytes.fromhex("4832363400001000800000aa00389b71")


def picture_head(frames: bytes, formats: int = 1) -> bytes:
    """VS_INPUT_HEADER for `frames`, the descriptors that follow it; the endpoint is 0x81."""
    length = 13 + formats
    return piece(0x24, 0x01, formats, word(length + len(frames), 2), 0x81, 0, 2, 0, 0, 0, 1, bytes(formats))


def raw_format(frames: int, bits_per_pixel: int = 16, number: int = 1) -> bytes:
    return piece(0x24, 0x04, number, frames, YUY2, bits_per_pixel, 1, 0, 0, 0, 0)


def mjpeg_format(frames: int, number: int = 2) -> bytes:
    return piece(0x24, 0x06, number, frames, 0, 1, 0, 0, 0, 0)


def frame_based_format(frames: int, bits_per_pixel: int = 16, number: int = 3) -> bytes:
    return piece(0x24, 0x10, number, frames, H264, bits_per_pixel, 1, 0, 0, 0, 0, 1)


def frame(
    subtype: int,
    size: tuple[int, int],
    intervals: Sequence[int],
    rates: tuple[int, int] = (0, 0),
    buffer: int = 0,
    limits: tuple[int, int, int] | None = None,
    default: int | None = None,
) -> bytes:
    """VS_FRAME_UNCOMPRESSED (5), _MJPEG (7) or _FRAME_BASED (0x11); intervals in 100 ns, or shortest, longest, step."""
    times = limits or tuple(intervals)
    proposed = word(default if default is not None else times[0] if times else 0)
    count = 0 if limits else len(intervals)
    head = [1, 0, word(size[0], 2), word(size[1], 2), word(rates[0]), word(rates[1])]
    middle = [proposed, count, word(0)] if subtype == 0x11 else [word(buffer), proposed, count]
    return piece(0x24, subtype, *head, *middle, *(word(t) for t in times))
