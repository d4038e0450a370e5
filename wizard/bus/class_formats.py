"""Sound and picture formats a device describes, read from the raw bytes of its descriptors.

Finds the settings of audio and video streaming interfaces in a blob as Linux keeps it (a device descriptor and its
configurations; USB 2.0 §9.6) and the class-specific descriptors that belong to each. Knows where they lie; what is
in them is read by `uac_formats` and `uvc_formats`.

The bytes may be anything. Nothing here raises, and what comes out is bounded by the limits below; whatever is left out
is told in the `problems` of the interface it is missing from.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from wizard.bus.descriptors import CONFIGURATION, INTERFACE, LARGEST_BLOB
from wizard.bus.formats import AudioFormat, InterfaceFormats, VideoFormat
from wizard.bus.uac_formats import AUDIO_CLASS, AUDIO_STREAMING, Remark, audio_formats
from wizard.bus.uvc_formats import VIDEO_CLASS, VIDEO_STREAMING, video_formats

CS_INTERFACE = 0x24
"""bDescriptorType of class-specific interface descriptors (Linux include/uapi/linux/usb/ch9.h, confirmed)."""
MOST_SETTINGS = 128
"""Settings with formats that are kept of one device. Our own bound; no device met comes near it."""
MOST_FORMATS = 256
"""Formats that are kept of one setting. Our own bound; the camera in the reference recordings has 16."""

_MOST_PROBLEMS = 20  # a garbled blob could fill a report with thousands
_CONFIGURATION_LENGTH, _INTERFACE_LENGTH = 9, 9  # USB 2.0 Tables 9-10, 9-12
_CUT = f"More than {MOST_SETTINGS} settings of this device describe formats; the rest was left out"
_BREAK = b""  # stands among the descriptors where they can't be followed any further


@dataclass
class _Setting:
    """One alternate setting of a streaming interface while its class-specific descriptors are collected."""

    configuration: int
    interface: int
    alternate: int
    video: bool
    protocol: int
    parts: list[bytes] = field(default_factory=list)
    broken: bool = False

    @property
    def key(self) -> tuple[int, int, int]:
        return self.configuration, self.interface, self.alternate


def parse_formats(blob: bytes) -> tuple[InterfaceFormats, ...]:
    """The formats of every setting that describes any, in the order of the bytes.

    `blob` is a device descriptor followed by whole configurations; bytes after the first `LARGEST_BLOB` are left
    unread. Where a setting is described twice, the first one counts, as for its endpoints.
    """
    found: list[InterfaceFormats] = []
    seen: set[tuple[int, int, int]] = set()
    for setting in _settings(blob[:LARGEST_BLOB]):
        if setting.key in seen:
            continue
        seen.add(setting.key)
        told = _told(setting)
        if told is None:
            continue
        if len(found) == MOST_SETTINGS:
            last = found[-1]
            found[-1] = last.model_copy(update={"complete": False, "problems": (*last.problems, _CUT)})
            break
        found.append(told)
    return tuple(found)


def _settings(blob: bytes) -> Iterator[_Setting]:
    """Every setting of a streaming interface, with its class-specific descriptors."""
    configuration = 0
    setting: _Setting | None = None
    for part in _descriptors(blob):
        kind = part[1] if part else None
        if kind == CS_INTERFACE:
            if setting is not None and len(part) >= 3:
                setting.parts.append(part)
            continue
        if setting is not None:
            setting.broken = kind is None
            yield setting
        setting = _streaming(part, configuration) if kind == INTERFACE else None
        if kind == CONFIGURATION:
            configuration = part[5]
    if setting is not None:
        yield setting


def _descriptors(blob: bytes) -> Iterator[bytes]:
    """Configurations, interfaces and class-specific descriptors, one after another.

    One of impossible length ends its configuration, as it does in Linux (descriptors.py tells more); a break stands
    in place of what is lost. Configurations and interfaces too short to be read are skipped.
    """
    at, end = 0, len(blob)
    while at + 2 <= len(blob):
        length, kind = blob[at], blob[at + 1]
        if length < 2 or at + length > len(blob):
            yield _BREAK
            # Only the announced length tells where the next configuration begins.
            if end <= at or blob[end + 1 : end + 2] != bytes([CONFIGURATION]):
                return
            at = end
            continue
        part = blob[at : at + length]
        at += length
        if kind == CONFIGURATION and length >= _CONFIGURATION_LENGTH:
            end = at - length + int.from_bytes(part[2:4], "little")
            yield part
        elif kind == CS_INTERFACE or (kind == INTERFACE and length >= _INTERFACE_LENGTH):
            yield part
    if at < len(blob) or end > len(blob):
        yield _BREAK


def _streaming(part: bytes, configuration: int) -> _Setting | None:
    """The setting an interface descriptor opens, if it is one of an audio or video streaming interface."""
    family = part[5], part[6]
    if family not in ((AUDIO_CLASS, AUDIO_STREAMING), (VIDEO_CLASS, VIDEO_STREAMING)):
        return None
    return _Setting(configuration, part[2], part[3], part[5] == VIDEO_CLASS, part[7])


def _told(setting: _Setting) -> InterfaceFormats | None:
    """What the setting describes, or None if it describes nothing (as the idle setting 0 of a sound interface)."""
    items = video_formats(setting.parts) if setting.video else audio_formats(setting.parts, setting.protocol)
    formats, remarks = _bounded(items if setting.parts else ())
    if setting.broken:
        remarks.append(Remark("is cut off by bytes that are no descriptor", True))
    if not formats and not remarks:
        return None
    return InterfaceFormats(
        configuration=setting.configuration,
        interface=setting.interface,
        alternate=setting.alternate,
        audio=tuple(f for f in formats if isinstance(f, AudioFormat)),
        video=tuple(f for f in formats if isinstance(f, VideoFormat)),
        complete=not any(remark.lost for remark in remarks),
        problems=tuple(dict.fromkeys(remark.text for remark in remarks))[:_MOST_PROBLEMS],
    )


def _bounded(
    items: Iterable[AudioFormat | VideoFormat | Remark],
) -> tuple[list[AudioFormat | VideoFormat], list[Remark]]:
    """Formats and remarks apart, the formats up to the limit."""
    formats: list[AudioFormat | VideoFormat] = []
    remarks: list[Remark] = []
    for item in items:
        if isinstance(item, Remark):
            remarks.append(item)
        elif len(formats) < MOST_FORMATS:
            formats.append(item)
        else:
            return formats, [
                Remark(f"describes more than {MOST_FORMATS} formats; the rest was left out", True),
                *remarks,
            ]
    return formats, remarks
