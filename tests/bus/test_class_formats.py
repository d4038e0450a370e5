"""Formats of sound and picture devices: as two kernel drivers read them, of a real camera, and from any bytes."""

import itertools
import tarfile
from pathlib import Path

import class_blobs as made
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.class_formats import MOST_FORMATS, MOST_SETTINGS, parse_formats
from wizard.bus.formats import AudioFormat, InterfaceFormats

RECORDINGS = Path(__file__).parent.parent / "reference" / "recordings"

EMULATED_SOUND_CARD = bytes.fromhex(
    "1201000100000040f446020000000102030109027100020104c03209040000000101040509240100012b0001010c24020101010002030000060d"
    "24060201020100020002000709240303010300020809040100000102000909040101010102000a072401010001000b2402010202100180bb0009"
    "05010dc00001000007250100000000"
)
"""The sound card QEMU 7.2 emulates, from `descriptors` of a Linux 6.1 in our own virtual machine."""


def sound_device() -> bytes:
    return made.blob(
        made.configuration(
            made.setting(0, 0, (1, 1, 0)),
            made.piece(0x24, 1, made.word(0x100, 2), made.word(9, 2), 1, 1),
            made.setting(1, 0, made.SOUND_1),
            made.setting(1, 1, made.SOUND_1, 1),
            made.sound_head_1(),
            made.sound_format_1(2, 2, 16, (44100, 48000)),
            made.iso_endpoint(1, 196),
            made.setting(1, 2, made.SOUND_1, 1),
            made.sound_head_1(),
            made.sound_format_1(2, 3, 24, (48000,)),
            made.iso_endpoint(1, 294),
            made.setting(1, 3, made.SOUND_1, 1),
            made.sound_head_1(),
            made.sound_format_1(1, 2, 16, limits=(8000, 48000)),
            made.iso_endpoint(1, 98),
        )
    )


def only(blob: bytes) -> InterfaceFormats:
    (found,) = parse_formats(blob)
    return found


def test_a_sound_card_reads_as_the_kernels_sound_driver_reads_it() -> None:
    """/proc/asound/card0/stream0 of Linux 6.1 for the same bytes: interface 1, altset 1, S16_LE, 2 channels, 48000."""
    found = only(EMULATED_SOUND_CARD)
    assert (found.configuration, found.interface, found.alternate) == (1, 1, 1)
    assert found.audio == (AudioFormat(channels=2, bytes_per_sample=2, bits=16, sample_rates=(48000,)),)
    assert found.complete
    assert not found.problems


def test_listed_rates_and_ranges_read_as_the_kernels_sound_driver_reads_them() -> None:
    """stream0 of Linux 6.1 for a virtual device with these three settings (measured): S16_LE, 2 channels, 44100, 48000;
    S24_3LE, 2 channels, 48000; S16_LE, 1 channel, 8000 - 48000 (continuous)."""
    found = parse_formats(sound_device())
    assert [(f.interface, f.alternate) for f in found] == [(1, 1), (1, 2), (1, 3)]
    assert [f.audio for f in found] == [
        (AudioFormat(channels=2, bytes_per_sample=2, bits=16, sample_rates=(44100, 48000)),),
        (AudioFormat(channels=2, bytes_per_sample=3, bits=24, sample_rates=(48000,)),),
        (AudioFormat(channels=1, bytes_per_sample=2, bits=16, sample_range=(8000, 48000)),),
    ]


def test_audio_2_tells_channels_and_bits_and_leaves_the_rate_unknown() -> None:
    """Layouts: Linux 6.1 include/linux/usb/audio-v2.h (confirmed)."""
    found = only(
        made.blob(
            made.configuration(
                made.setting(1, 1, made.SOUND_2, 1),
                made.sound_head_2(8),
                made.sound_format_2(4, 24),
                made.iso_endpoint(1, 800),
            )
        )
    )
    assert found.audio == (AudioFormat(channels=8, bytes_per_sample=4, bits=24),)
    assert found.complete


def test_audio_3_is_unknown_and_says_so() -> None:
    found = only(made.blob(made.configuration(made.setting(1, 1, made.SOUND_3, 1), made.piece(0x24, 1, bytes(20)))))
    assert not found.audio
    assert not found.complete
    assert "version 3.0" in found.problems[0]


def test_a_compressed_sound_format_is_not_taken_for_samples() -> None:
    type_ii = made.piece(0x24, 0x02, 0x02, made.word(384, 2), made.word(1152, 2), 1, made.word(48000, 3))
    found = only(made.blob(made.configuration(made.setting(1, 1, made.SOUND_1, 1), made.sound_head_1(), type_ii)))
    assert not found.audio
    assert not found.complete


def test_midi_and_control_interfaces_describe_no_formats() -> None:
    midi = made.configuration(made.setting(1, 0, (1, 3, 0), 2), made.piece(0x24, 0x02, 1, 1, 0, 0))
    control = made.configuration(made.setting(0, 0, (14, 1, 0)), made.piece(0x24, 0x04, bytes(24)))
    assert parse_formats(made.blob(midi, control)) == ()


def test_pictures_read_as_the_kernels_camera_driver_reads_them() -> None:
    """VIDIOC_ENUM_* of Linux 6.1 for a virtual device with these formats (measured): YUYV 640x480 at 30 and 15,
    1280x720 at 10 pictures a second; MJPG 1920x1080 from 1/30 to 1/5 s; H264 1920x1080 at 60 and 30, 640x360 from 1/60
    to 1/15 s."""
    frames = b"".join(
        (
            made.raw_format(2),
            made.frame(5, (640, 480), (333333, 666666), (73728000, 147456000), 614400),
            made.frame(5, (1280, 720), (1000000,), (147456000, 147456000), 1843200),
            made.mjpeg_format(1),
            made.frame(7, (1920, 1080), (), (1000000, 400000000), 4147200, limits=(333333, 2000000, 333333)),
            made.frame_based_format(2),
            made.frame(0x11, (1920, 1080), (166666, 333333), (1000000, 40000000)),
            made.frame(0x11, (640, 360), (), (500000, 9000000), limits=(166666, 666664, 166666)),
        )
    )
    found = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), made.picture_head(frames, 3), frames)))
    assert found.complete
    assert not found.problems
    assert [(v.encoding, v.width, v.height, v.frame_intervals_us, v.frame_interval_range_us) for v in found.video] == [
        ("uncompressed", 640, 480, (33333.3, 66666.6), None),
        ("uncompressed", 1280, 720, (100000.0,), None),
        ("mjpeg", 1920, 1080, (), (33333.3, 200000.0)),
        ("frame_based", 1920, 1080, (16666.6, 33333.3), None),
        ("frame_based", 640, 360, (), (16666.6, 66666.4)),
    ]
    assert [v.max_bit_rate for v in found.video] == [147456000, 147456000, 400000000, 40000000, 9000000]
    assert [v.max_frame_bytes for v in found.video] == [614400, 1843200, 4147200, None, None]
    assert [v.bits_per_pixel for v in found.video] == [16, 16, None, 16, 16]


def test_a_real_camera_agrees_with_its_own_arithmetic() -> None:
    """A recorded laptop camera: its declared sizes and rates must follow from what we read as size, depth and interval
    (the device maker's arithmetic, not ours). It declares room for 544 lines, a multiple of 16, for its 540."""
    with tarfile.open(RECORDINGS / "machine-a.sysfs.tgz") as tar:
        blobs = [
            member.read()
            for info in tar
            if info.name.endswith("1-1.6/descriptors") and (member := tar.extractfile(info)) is not None
        ]
    found = only(blobs[0])
    assert (found.configuration, found.interface, found.alternate) == (1, 1, 0)
    assert found.complete
    assert [v.encoding for v in found.video] == ["uncompressed"] * 8 + ["mjpeg"] * 8
    for video in found.video[:8]:
        assert video.width is not None
        assert video.height is not None
        lines = 544 if video.height == 540 else video.height
        assert video.bits_per_pixel is not None
        assert video.max_frame_bytes == video.width * lines * video.bits_per_pixel // 8
    for video in found.video:
        assert video.max_frame_bytes is not None
        assert video.max_bit_rate is not None
        per_second = round(1e6 / min(video.frame_intervals_us))
        assert video.max_bit_rate == video.max_frame_bytes * 8 * per_second


def test_formats_without_sizes_and_formats_not_decoded_are_told_apart() -> None:
    parts = (
        made.piece(0x24, 0x12, 1, made.H264, made.word(188)),
        made.piece(0x24, 0x0A, 2, 0, 188, 188),
        made.piece(0x24, 0x13, 3, bytes(48)),
    )
    found = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), *parts)))
    assert [v.encoding for v in found.video] == ["stream_based", "mpeg2_ts"]
    assert not found.complete
    assert any("H.264" in problem for problem in found.problems)


def test_each_configuration_has_its_own_formats() -> None:
    first = made.configuration(made.setting(1, 1, made.SOUND_1), made.sound_format_1(2, 2, 16, (48000,)), value=1)
    second = made.configuration(made.setting(1, 1, made.SOUND_1), made.sound_format_1(1, 2, 16, (16000,)), value=7)
    found = parse_formats(made.blob(first, second))
    assert [(f.configuration, f.audio[0].channels) for f in found] == [(1, 2), (7, 1)]


def test_of_a_setting_described_twice_the_first_counts() -> None:
    twice = [
        part
        for channels in (2, 6)
        for part in (made.setting(1, 1, made.SOUND_1), made.sound_format_1(channels, 2, 16, (48000,)))
    ]
    assert only(made.blob(made.configuration(*twice))).audio[0].channels == 2


@pytest.mark.parametrize(
    ("part", "kept"),
    [
        (made.sound_format_1(0, 2, 16, (48000,)), 0),
        (made.sound_format_1(2, 0, 16, (48000,)), 0),
        (made.sound_format_1(2, 2, 16, (48000,))[:7].replace(b"\x0b", b"\x07", 1), 0),
        (made.sound_format_1(2, 2, 16, limits=(48000, 8000)), 1),
        (made.piece(0x24, 0x02, 0x01, 2, 2, 16, 3, made.word(48000, 3)), 1),
    ],
    ids=["no channels", "no bytes", "cut short", "range upside down", "rates missing"],
)
def test_a_sound_format_that_contradicts_itself_is_told(part: bytes, kept: int) -> None:
    found = only(made.blob(made.configuration(made.setting(1, 1, made.SOUND_1), part)))
    assert len(found.audio) == kept
    assert not found.complete
    assert found.problems


@pytest.mark.parametrize(
    "parts",
    [
        (made.frame(5, (640, 480), (333333,)),),
        (made.raw_format(1), made.frame(7, (640, 480), (333333,))),
        (made.raw_format(2), made.frame(5, (640, 480), (333333,))),
        (made.raw_format(1), made.frame(5, (640, 480), (), limits=(666666, 333333, 1))),
        (made.raw_format(1), made.frame(5, (640, 480), (1, 2))[:-4].replace(b"\x22", b"\x1e", 1)),
        (made.piece(0x24, 0x04, 1, 1),),
    ],
    ids=["no format", "other format's", "one missing", "range upside down", "intervals missing", "format cut short"],
)
def test_pictures_that_contradict_themselves_are_told(parts: tuple[bytes, ...]) -> None:
    found = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), *parts)))
    assert not found.complete
    assert found.problems


def test_nothings_in_a_list_are_skipped_and_told_but_lose_nothing() -> None:
    sound = only(
        made.blob(made.configuration(made.setting(1, 1, made.SOUND_1), made.sound_format_1(2, 2, 16, (0, 48000))))
    )
    assert sound.audio[0].sample_rates == (48000,)
    assert sound.complete
    assert sound.problems
    parts = made.raw_format(1) + made.frame(5, (640, 480), (0, 333333))
    pictures = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), parts)))
    assert pictures.video[0].frame_intervals_us == (33333.3,)
    assert pictures.complete
    assert pictures.problems


def test_more_bits_than_a_sample_has_room_for_are_told() -> None:
    found = only(
        made.blob(made.configuration(made.setting(1, 1, made.SOUND_1), made.sound_format_1(2, 2, 17, (48000,))))
    )
    assert found.audio[0].bits == 17
    assert found.complete
    assert "17 bits" in found.problems[0]


def test_bytes_cut_off_in_the_middle_are_not_taken_for_all_there_is() -> None:
    whole = sound_device()
    cut = parse_formats(whole[: whole.index(made.sound_format_1(2, 3, 24, (48000,)))])
    assert [f.complete for f in cut] == [True, False]
    assert "cut off" in cut[-1].problems[-1]


def test_a_broken_configuration_does_not_hide_the_next_one() -> None:
    broken = made.configuration(made.setting(1, 1, made.SOUND_1), b"\x00\x24\x02\x01")
    sound = made.configuration(made.setting(1, 1, made.SOUND_1), made.sound_format_1(2, 2, 16, (48000,)), value=2)
    found = parse_formats(made.blob(broken, sound))
    assert [(f.configuration, f.complete) for f in found] == [(1, False), (2, True)]


def test_a_device_that_floods_is_cut_and_told() -> None:
    many_settings = [
        part
        for number, alternate in itertools.product(range(2), range(MOST_SETTINGS))
        for part in (made.setting(number, alternate, made.SOUND_1), made.sound_format_1(2, 2, 16, (48000,)))
    ]
    found = parse_formats(made.blob(made.configuration(*many_settings)))
    assert len(found) == MOST_SETTINGS
    assert not found[-1].complete
    assert "left out" in found[-1].problems[-1]

    frames = made.raw_format(255) + made.frame(5, (640, 480), (333333,)) * (MOST_FORMATS + 1)
    flooded = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), frames)))
    assert len(flooded.video) == MOST_FORMATS
    assert not flooded.complete
    assert "left out" in flooded.problems[0]


def test_a_second_of_many_problems_is_enough() -> None:
    """One faulty frame a thousand times over is one sentence, not a thousand."""
    frames = made.frame(5, (640, 480), (333333,)) * 1000
    assert len(only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), frames))).problems) == 1


FAMILIES = (made.SOUND_1, made.SOUND_2, made.SOUND_3, made.PICTURES)
DESCRIPTORS = st.builds(made.piece, st.sampled_from([0x24, 0x24, 0x24, 4, 5, 2]), st.binary(max_size=60))
HOSTILE = st.one_of(
    st.binary(max_size=400),
    st.builds(
        lambda family, parts, tail: made.device_head() + made.setting(1, 0, family) + b"".join(parts) + tail,
        st.sampled_from(FAMILIES),
        st.lists(DESCRIPTORS, max_size=20),
        st.binary(max_size=5),
    ),
)


@given(HOSTILE)
def test_any_bytes_are_read_without_fault_and_survive_as_a_document(blob: bytes) -> None:
    found = parse_formats(blob)
    keys = [(f.configuration, f.interface, f.alternate) for f in found]
    assert len(set(keys)) == len(keys)
    for formats in found:
        assert formats.audio or formats.video or formats.problems
        assert formats.complete or formats.problems
        assert len(formats.audio) + len(formats.video) <= len(blob) // 4
        assert InterfaceFormats.model_validate_json(formats.model_dump_json()) == formats


@given(st.binary(max_size=300), st.integers(0, 1100))
def test_a_real_looking_device_cut_anywhere_and_continued_with_anything(junk: bytes, at: int) -> None:
    whole = sound_device() * 3
    assert len(parse_formats(whole[:at] + junk)) <= MOST_SETTINGS


RATES = st.lists(st.integers(1, 0xFFFFFF), min_size=1, max_size=80)
SOUNDS = st.tuples(st.integers(1, 255), st.integers(1, 8), st.integers(0, 8))


@given(
    SOUNDS, st.one_of(RATES, st.tuples(st.integers(1, 0xFFFFFF), st.integers(1, 0xFFFFFF)).map(sorted)), st.booleans()
)
def test_a_well_formed_sound_format_comes_back_as_it_was_written(
    sound: tuple[int, int, int], rates: list[int], ranged: bool
) -> None:
    channels, size, bits = sound
    limits = (min(rates), max(rates)) if ranged else None
    part = made.sound_format_1(channels, size, bits, rates, limits)
    found = only(made.blob(made.configuration(made.setting(3, 2, made.SOUND_1), made.sound_head_1(), part)))
    assert found == InterfaceFormats(
        configuration=1,
        interface=3,
        alternate=2,
        audio=(
            AudioFormat(
                channels=channels,
                bytes_per_sample=size,
                bits=bits,
                sample_rates=() if ranged else tuple(rates),
                sample_range=limits,
            ),
        ),
    )


@given(
    st.sampled_from([(5, made.raw_format), (7, made.mjpeg_format), (0x11, made.frame_based_format)]),
    st.tuples(st.integers(1, 0xFFFF), st.integers(1, 0xFFFF)),
    st.lists(st.integers(1, 0xFFFFFFFF), min_size=1, max_size=57),
    st.tuples(st.integers(1, 0xFFFFFFFF), st.integers(1, 0xFFFFFFFF)),
    st.integers(1, 0xFFFFFFFF),
    st.booleans(),
)
def test_a_well_formed_picture_comes_back_as_it_was_written(kind, size, intervals, rates, buffer, ranged) -> None:  # type: ignore[no-untyped-def]  # seven drawn values
    subtype, head = kind
    limits = (min(intervals), max(intervals), 1) if ranged else None
    parts = head(1), made.frame(subtype, size, intervals, rates, buffer, limits)
    (video,) = only(made.blob(made.configuration(made.setting(1, 0, made.PICTURES), *parts))).video
    assert video.default_interval_us == (limits or intervals)[0] / 10
    assert (video.width, video.height) == size
    assert (video.min_bit_rate, video.max_bit_rate) == rates
    assert video.max_frame_bytes == (None if subtype == 0x11 else buffer)
    assert [round(us * 10) for us in video.frame_intervals_us] == ([] if ranged else intervals)
    told = video.frame_interval_range_us
    assert told is None or [round(us * 10) for us in told] == [min(intervals), max(intervals)]
    assert (told is not None) == ranged
