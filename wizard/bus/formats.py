"""What an audio or video interface says its streams are made of. Values only; not how they stand in bytes.

Nothing here tells which format runs now: that is agreed between driver and device and stands in no descriptor.
"""

from typing import Literal

from pydantic import Field

from wizard.bus.document import Document

Encoding = Literal["uncompressed", "mjpeg", "frame_based", "stream_based", "mpeg2_ts", "dv"]
"""How pictures are coded. `frame_based` and `stream_based` leave the coding to an identifier; it is nearly always a
compressed one (from memory)."""


class AudioFormat(Document):
    """Sound as one setting carries it: `channels` samples of `bytes_per_sample` bytes each, of which `bits` count.

    Rates are in samples per second and channel. `sample_rates` are the listed ones, `sample_range` the lowest and
    highest where any rate between is possible. Both are empty in USB Audio 2.0, which keeps the rates out of the
    descriptors: the rate is then unknown.
    """

    channels: int = Field(ge=1)
    bytes_per_sample: int = Field(ge=1)
    bits: int = Field(ge=0)
    sample_rates: tuple[int, ...] = ()
    sample_range: tuple[int, int] | None = None


class VideoFormat(Document):
    """Pictures as an interface offers them; None is what the encoding does not state, or stated as nothing (0).

    Times are in microseconds between two pictures: `frame_intervals_us` the listed ones, `frame_interval_range_us`
    the shortest and longest where any between is possible, `default_interval_us` the one the device proposes. Rates
    are in bits per second; `max_bit_rate` belongs to the shortest interval. `max_frame_bytes` is the largest picture.
    """

    encoding: Encoding
    width: int | None = None
    height: int | None = None
    bits_per_pixel: int | None = None
    frame_intervals_us: tuple[float, ...] = ()
    frame_interval_range_us: tuple[float, float] | None = None
    default_interval_us: float | None = None
    min_bit_rate: int | None = None
    max_bit_rate: int | None = None
    max_frame_bytes: int | None = None


class InterfaceFormats(Document):
    """The formats one alternate setting of an interface describes.

    A sound setting describes its own. A video interface describes all of its formats once, in setting 0, and its other
    settings share them (from memory). `complete` is false where a format was there that could not be read or was left
    out; `problems` are sentences about what was odd or lost.
    """

    configuration: int
    interface: int
    alternate: int
    audio: tuple[AudioFormat, ...] = ()
    video: tuple[VideoFormat, ...] = ()
    complete: bool = True
    problems: tuple[str, ...] = ()
