"""What a sound or picture stream needs: reckoned from the formats described and the endpoint that carries them.

The format that runs now stands in no descriptor, only the endpoint reserved for it. So what is told of a stream is what
that endpoint leaves possible: one format, several, or a ceiling. Knows no places, no limits and no words for people.
"""

from typing import NamedTuple

from wizard.budget.link_capacity import reserved_mb_s
from wizard.bus.document import Document
from wizard.bus.formats import AudioFormat, InterfaceFormats, VideoFormat
from wizard.bus.model import Alternate, Endpoint

_US = 1_000_000  # microseconds in a second, bytes in a megabyte


class StreamNeed(Document):
    """What a stream carries and needs, as far as it follows from descriptors.

    `mb_s` is the need in MB/s (decimal), None where several formats are possible or none is known; `most_mb_s` is the
    greatest need that is possible, None if nothing bounds it. Sound: `sample_rates` are the listed rates that fit the
    endpoint, `sample_range` the lowest (0 if not known) and highest where none are listed; `sample_rate` is set if only
    one is possible. Pictures: size and interval are set if only one of each is possible; `most_width` and
    `most_height` are the largest picture that fits.
    """

    channels: int | None = None
    bits: int | None = None
    sample_rate: int | None = None
    sample_rates: tuple[int, ...] = ()
    sample_range: tuple[int, int] | None = None
    width: int | None = None
    height: int | None = None
    frame_interval_us: float | None = None
    most_width: int | None = None
    most_height: int | None = None
    mb_s: float | None = None
    most_mb_s: float | None = None


def audio_bytes_per_second(sound: AudioFormat, sample_rate: int) -> int:
    """Bytes a second of this sound at a rate in samples per second and channel."""
    return sound.channels * sound.bytes_per_sample * sample_rate


def video_bytes_per_second(picture: VideoFormat, interval_us: float) -> float | None:
    """Bytes a second with a picture every `interval_us` microseconds: exact if uncompressed, else the most it may be.

    The declared sizes bound a compressed stream: the greatest picture, and the bit rate at the shortest interval. None
    if neither is declared. Raises ValueError for an interval of 0 or less.
    """
    if interval_us <= 0:
        raise ValueError(f"an interval must be more than 0: {interval_us}")
    raw = _raw_bytes(picture)
    if raw is not None:
        return raw * _US / interval_us
    bounds = []
    if picture.max_frame_bytes:
        bounds.append(picture.max_frame_bytes * _US / interval_us)
    shortest = min(_extremes(picture), default=None)
    if picture.max_bit_rate and shortest is not None:
        bounds.append(picture.max_bit_rate / 8 * min(1.0, shortest / interval_us))
    return min(bounds, default=None)


def stream_need(setting: Alternate, endpoint: Endpoint, described: tuple[InterfaceFormats, ...]) -> StreamNeed:
    """The need of the stream that `endpoint` carries in `setting`; `described` is what its interface describes."""
    if any(f.video for f in described):
        # A picture interface describes its formats once, for all of its settings: Video Class 1.5 §3.9.2 (from memory).
        return _picture_need(endpoint, described)
    own = tuple(f for f in described if f.alternate == setting.number)
    sounds = tuple(sound for f in own for sound in f.audio)
    if len(sounds) == 1 and all(f.complete for f in own) and endpoint.interval_us:
        return _sound_need(endpoint, sounds[0])
    return StreamNeed(most_mb_s=reserved_mb_s(endpoint) or None)


def _sound_need(endpoint: Endpoint, sound: AudioFormat) -> StreamNeed:
    """Every service carries the whole samples that have come since the last one: a rate fits if its greatest number
    of them does (Audio Data Formats 1.0 §2.2.1, from memory)."""
    room = round(reserved_mb_s(endpoint) * endpoint.interval_us) // (sound.channels * sound.bytes_per_sample)
    highest = room * _US // endpoint.interval_us
    rates: tuple[int, ...] = ()
    limits: tuple[int, int] | None = None
    if sound.sample_rates:
        rates = tuple(r for r in sound.sample_rates if -(-r * endpoint.interval_us // _US) <= room)
        ends = (min(rates), max(rates)) if rates else None
    else:
        low, high = sound.sample_range or (0, highest)
        ends = limits = (low, min(high, highest)) if low <= highest else None
    if ends is None or not ends[1]:  # not even its slowest rate fits the endpoint: the device contradicts itself
        return StreamNeed(channels=sound.channels, bits=sound.bits, most_mb_s=reserved_mb_s(endpoint))
    only = ends[0] if ends[0] == ends[1] else None
    return StreamNeed(
        channels=sound.channels,
        bits=sound.bits,
        sample_rate=only,
        sample_rates=rates,
        sample_range=limits,
        mb_s=None if only is None else audio_bytes_per_second(sound, only) / _US,
        most_mb_s=audio_bytes_per_second(sound, ends[1]) / _US,
    )


class _Way(NamedTuple):
    """One way an interface can send pictures: at one interval, or at any within a range.

    `least` is what it needs in MB/s at the longest interval, 0 for a compressed one; `most` at the shortest one, None
    if nothing bounds it. Both are the same where size and interval are fixed.
    """

    picture: VideoFormat
    interval_us: float | None
    least: float
    most: float | None


def _picture_need(endpoint: Endpoint, described: tuple[InterfaceFormats, ...]) -> StreamNeed:
    """What fits the endpoint. Payload headers (2 bytes or more a packet) are left out of account, so that nothing
    possible is ruled out."""
    room = reserved_mb_s(endpoint) if endpoint.is_periodic else None
    fitting = [w for f in described for video in f.video for w in _ways(video) if room is None or w.least <= room]
    bounds = [w.most for w in fitting if w.most is not None]
    certain = bool(fitting) and len(bounds) == len(fitting) and all(f.complete for f in described)
    most = max(bounds) if certain else None
    if room is not None:
        most = room if most is None else min(most, room)
    sizes = [(w.picture.width or 0, w.picture.height or 0) for w in fitting]
    width, height = max(sizes, key=lambda size: size[0] * size[1], default=(0, 0))
    if not certain or len(fitting) != 1 or fitting[0].least != fitting[0].most or room is None:
        return StreamNeed(most_mb_s=most, most_width=width or None, most_height=height or None)
    only = fitting[0]
    return StreamNeed(
        width=only.picture.width,
        height=only.picture.height,
        frame_interval_us=only.interval_us,
        most_width=only.picture.width,
        most_height=only.picture.height,
        mb_s=only.most,
        most_mb_s=most,
    )


def _ways(picture: VideoFormat) -> list[_Way]:
    """A way for every listed interval, or one for a range; of unknown need where no interval is told."""
    if picture.frame_interval_range_us is not None:
        return [_way(picture, *picture.frame_interval_range_us)]
    return [_way(picture, interval, interval) for interval in picture.frame_intervals_us] or [
        _Way(picture, None, 0.0, None)
    ]


def _way(picture: VideoFormat, shortest_us: float, longest_us: float) -> _Way:
    interval_us = shortest_us if shortest_us == longest_us else None
    raw = _raw_bytes(picture)
    if raw is not None:
        return _Way(picture, interval_us, raw / longest_us, raw / shortest_us)
    most = video_bytes_per_second(picture, shortest_us)
    return _Way(picture, interval_us, 0.0, None if most is None else most / _US)


def _raw_bytes(picture: VideoFormat) -> float | None:
    """Bytes of one uncompressed picture; None if it is compressed or does not tell."""
    if picture.encoding != "uncompressed" or not (picture.width and picture.height and picture.bits_per_pixel):
        return None
    return picture.width * picture.height * picture.bits_per_pixel / 8


def _extremes(picture: VideoFormat) -> tuple[float, ...]:
    """The intervals it lists, or the shortest and longest of its range."""
    return picture.frame_interval_range_us or picture.frame_intervals_us
