"""What streams need and take: by arithmetic written out here, by the ledger, and by a real camera's endpoints."""

import json
import tarfile
from pathlib import Path

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.streams import (
    StreamUse,
    audio_bytes_per_second,
    expected_mb_s,
    stream_uses,
    video_bytes_per_second,
)
from wizard.bus.class_formats import parse_formats
from wizard.bus.descriptors import parse_descriptors
from wizard.bus.formats import AudioFormat, InterfaceFormats, VideoFormat
from wizard.bus.model import Alternate, Device, Endpoint, Interface, Snapshot
from wizard.bus.tree import BusTree

RECORDINGS = Path(__file__).parent.parent / "reference" / "recordings"

STEREO_24 = AudioFormat(channels=2, bytes_per_sample=3, bits=24, sample_rates=(48000,))
STEREO_16 = AudioFormat(channels=2, bytes_per_sample=2, bits=16, sample_rates=(44100, 48000, 96000))
RAW_VGA = VideoFormat(
    encoding="uncompressed", width=640, height=480, bits_per_pixel=16, frame_intervals_us=(33333.3,), max_frame_bytes=1
)
MJPEG = VideoFormat(
    encoding="mjpeg",
    width=1280,
    height=720,
    frame_intervals_us=(33333.3, 66666.6),
    max_bit_rate=80_000_000,
    max_frame_bytes=400_000,
)


def sound(audio: AudioFormat, alternate: int = 1, interface: int = 0, **more: bool) -> InterfaceFormats:
    return InterfaceFormats(configuration=1, interface=interface, alternate=alternate, audio=(audio,), **more)


def pictures(*video: VideoFormat, **more: bool) -> InterfaceFormats:
    return InterfaceFormats(configuration=1, interface=0, alternate=0, video=video, **more)


def streaming(*settings: tuple[Endpoint, ...], active: int = 1, number: int = 0) -> Interface:
    """An interface whose setting 0 carries nothing and whose settings 1, 2, … have these endpoints."""
    alternates = tuple(Alternate(number=n, endpoints=e) for n, e in enumerate(((), *settings)))
    return Interface(number=number, active_alternate=active, alternates=alternates)


def one_device(identifier: str, speed: str, *interfaces: Interface) -> Device:
    return device(identifier, speed, 100, interfaces=interfaces, configuration=1)  # type: ignore[arg-type]  # a plain word in tests


def use_of(look: Snapshot, identifier: str, *formats: InterfaceFormats) -> StreamUse:
    tree = BusTree(look)
    (use,) = stream_uses(tree, tree.devices[identifier], formats)
    return use


def entry(look: Snapshot, budget: str, where: str) -> Entry:
    (found,) = [e for e in build_ledger(look) if (e.budget, e.where) == (budget, where)]
    return found


def test_stereo_48_khz_24_bit_takes_26_percent_of_what_a_translator_may_reserve() -> None:
    """USB 2.0 §5.11.3, out: 6265 + 83.54 × floor(3.167 + 7/6 × 8 × 294) + 1000 ns = 236.75 us, of 900 us a frame. The
    figure is within a thousandth of the formula as printed, as all bus times are."""
    card = one_device("1-1.1", "full", streaming((iso(294, address=0x01),)))
    look = snapshot(controller(), root(), hub("1-1"), card)
    use = use_of(look, "1-1.1", sound(STEREO_24))
    assert (use.channels, use.bits, use.sample_rate) == (2, 24, 48000)
    assert use.mb_s == 2 * 3 * 48000 / 1e6
    assert use.where == "1-1/tt"
    assert (use.limit, use.unit) == (900.0, "us/frame")
    assert use.used == pytest.approx((6265 + 83.54 * 2747 + 1000) / 1000, rel=1e-3)
    assert use.share == pytest.approx(0.263, abs=5e-4)
    assert not use.towards_host


@pytest.mark.parametrize(
    ("identifier", "speed", "parts", "where"),
    [
        ("1-1.1", "full", (hub("1-1"),), "1-1/tt"),
        ("1-1.1", "full", (hub("1-1", translator="multi"),), "1-1/tt1"),
        ("1-2", "full", (), "usb1/tt2"),
        ("1-2", "high", (), "usb1"),
    ],
    ids=["translator", "own translator", "root port of an xHCI", "high speed"],
)
def test_the_share_is_the_one_in_the_ledger(identifier: str, speed: str, parts: tuple[Device, ...], where: str) -> None:
    card = one_device(identifier, speed, streaming((iso(294), iso(4, address=0x02))))
    look = snapshot(controller(), root(), *parts, card)
    use = use_of(look, identifier, sound(STEREO_24))
    line = entry(look, "periodic_time_active", where)
    assert use.where == where
    assert use.endpoint == 0x82
    assert (use.limit, use.unit) == (line.limit, line.unit)
    (part,) = [p for p in line.parts if p.endpoint == 0x82]
    assert use.used == part.used


def test_the_share_of_a_full_speed_bus_and_of_a_translator_that_tells_its_think_time() -> None:
    old = snapshot(
        controller(kind="uhci"), root(speed="full"), one_device("1-1", "full", streaming((iso(294, address=1),)))
    )
    use = use_of(old, "1-1", sound(STEREO_24))
    assert (use.where, use.limit) == ("usb1", 900.0)
    thinking = hub("1-1").model_copy(update={"hub": hub("1-1").hub.model_copy(update={"think_ns": 2666})})  # type: ignore[union-attr]  # hub() always makes one
    card = one_device("1-1.1", "full", streaming((iso(294, address=1),)))
    slow = use_of(snapshot(controller(), root(), thinking, card), "1-1.1", sound(STEREO_24))
    assert slow.used is not None
    assert use.used is not None
    assert slow.used - use.used == pytest.approx(2.666)


def test_the_share_of_a_superspeed_link_is_the_one_in_the_ledger() -> None:
    """3 × 1024 bytes every 125 us: 24.576 MB/s, of 5 Gbit/s less line coding and packet overhead."""
    camera = one_device("2-1", "super", streaming((iso(1024, 125, burst=3),)))
    look = snapshot(controller(), root(2, "super"), camera)
    use = use_of(look, "2-1", pictures(RAW_VGA))
    assert (use.where, use.used, use.unit) == ("2-1", 24.576, "MB/s")
    assert use.limit == entry(look, "link_rate", "2-1").limit
    assert use.share is not None
    assert 0.05 < use.share < 0.06


def test_a_way_to_the_host_that_is_not_known_has_no_share() -> None:
    lost = one_device("1-9.1", "full", streaming((iso(294),)))
    use = use_of(snapshot(controller(), root(), lost), "1-9.1", sound(STEREO_24))
    assert (use.where, use.used, use.limit, use.share) == (None, None, None, None)
    assert use.sample_rate == 48000


@pytest.mark.parametrize(
    ("packet", "fitting", "rate", "most"),
    [
        # 44.1 kHz brings 44 or 45 samples of 4 bytes a frame, 48 kHz 48, 96 kHz 96: arithmetic
        (180, (44100,), 44100, 0.1764),
        (192, (44100, 48000), None, 0.192),
        (388, (44100, 48000, 96000), None, 0.384),
    ],
)
def test_the_rate_is_told_only_if_the_packet_leaves_one(
    packet: int, fitting: tuple[int, ...], rate: int | None, most: float
) -> None:
    card = one_device("1-1", "full", streaming((iso(packet),)))
    use = use_of(snapshot(controller(), root(), card), "1-1", sound(STEREO_16))
    assert use.sample_rates == fitting
    assert use.sample_rate == rate
    assert use.mb_s == (None if rate is None else most)
    assert use.most_mb_s == pytest.approx(most)


def test_a_packet_too_small_for_any_rate_leaves_the_rate_unknown() -> None:
    card = one_device("1-1", "full", streaming((iso(100),)))
    use = use_of(snapshot(controller(), root(), card), "1-1", sound(STEREO_16))
    assert (use.sample_rate, use.sample_rates, use.mb_s, use.most_mb_s) == (None, (), None, 0.1)


def test_a_range_of_rates_and_rates_kept_out_of_the_descriptors_are_bracketed_by_the_packet() -> None:
    """100 bytes every 125 us hold 12 samples of 2 × 4 bytes: at most 96 kHz."""
    free = AudioFormat(channels=2, bytes_per_sample=4, bits=32)
    ranged = free.model_copy(update={"sample_range": (8000, 192_000)})
    card = one_device("1-1", "high", streaming((iso(100, 125),)))
    look = snapshot(controller(), root(), card)
    assert use_of(look, "1-1", sound(free)).sample_range == (0, 96000)
    use = use_of(look, "1-1", sound(ranged))
    assert use.sample_range == (8000, 96000)
    assert (use.sample_rate, use.mb_s) == (None, None)
    assert use.most_mb_s == pytest.approx(2 * 4 * 96000 / 1e6)
    fixed = ranged.model_copy(update={"sample_range": (48000, 48000)})
    assert use_of(look, "1-1", sound(fixed)).sample_rate == 48000


def test_an_idle_sound_interface_carries_nothing_and_may_be_asked_for_its_greatest_setting() -> None:
    card = one_device("1-1", "full", streaming((iso(192),), (iso(582),), active=0))
    formats = (sound(STEREO_24, 1), sound(STEREO_24.model_copy(update={"sample_rates": (96000,)}), 2))
    tree = BusTree(snapshot(controller(), root(), card))
    assert stream_uses(tree, card, formats) == ()
    assert expected_mb_s(card, formats, "current") == 0.0
    (greatest,) = stream_uses(tree, card, formats, "greatest")
    assert (greatest.alternate, greatest.sample_rate) == (2, 96000)
    assert expected_mb_s(card, formats) == pytest.approx(0.576)


def test_both_directions_add_up_and_either_can_be_asked_for() -> None:
    card = one_device(
        "1-1",
        "full",
        streaming((iso(294, address=0x01),)),
        streaming((iso(294),), number=1, active=1),
        streaming(number=2),
    )
    formats = (sound(STEREO_24), sound(STEREO_24.model_copy(update={"channels": 1}), interface=1))
    assert expected_mb_s(card, formats) == pytest.approx(0.288 + 0.144)
    assert expected_mb_s(card, formats, towards_host=True) == pytest.approx(0.144)
    assert expected_mb_s(card, formats, towards_host=False) == pytest.approx(0.288)
    assert expected_mb_s(card, formats, "current") == pytest.approx(0.432)


def test_without_formats_nothing_is_expected() -> None:
    card = one_device("1-1", "full", streaming((iso(294),)))
    assert expected_mb_s(card, ()) is None
    other = InterfaceFormats(configuration=2, interface=0, alternate=1, audio=(STEREO_24,))
    assert expected_mb_s(card, (other,)) is None
    assert stream_uses(BusTree(snapshot(controller(), root(), card)), card, (other,)) == ()


def test_where_the_configuration_is_not_told_the_only_one_with_formats_counts() -> None:
    card = one_device("1-1", "full", streaming((iso(294),))).model_copy(update={"configuration": None})
    other = InterfaceFormats(configuration=2, interface=0, alternate=1, audio=(STEREO_16,))
    assert expected_mb_s(card, (sound(STEREO_24),)) == pytest.approx(0.288)
    assert expected_mb_s(card, (sound(STEREO_24), other)) is None


def test_formats_not_all_read_give_only_the_ceiling_of_the_endpoint() -> None:
    card = one_device("1-1", "full", streaming((iso(294),)))
    half = sound(STEREO_24, complete=False)
    use = use_of(snapshot(controller(), root(), card), "1-1", half)
    assert (use.mb_s, use.most_mb_s) == (None, pytest.approx(0.294))
    camera = one_device("1-1", "high", streaming((iso(1024, 125, transactions=3),)))
    seen = use_of(snapshot(controller(), root(), camera), "1-1", pictures(RAW_VGA, complete=False))
    assert (seen.mb_s, seen.width, seen.most_mb_s) == (None, None, 24.576)


def test_bytes_of_sound_and_of_pictures_by_arithmetic() -> None:
    assert audio_bytes_per_second(STEREO_24, 48000) == 288_000
    assert video_bytes_per_second(RAW_VGA, 100_000) == 640 * 480 * 2 * 10
    # 80 Mbit/s is declared for 30 pictures a second; 400,000 bytes a picture are 12 MB/s then, 6 MB/s for 15
    assert video_bytes_per_second(MJPEG, 33333.3) == pytest.approx(10e6)
    assert video_bytes_per_second(MJPEG, 66666.6) == pytest.approx(5e6)
    assert video_bytes_per_second(VideoFormat(encoding="mjpeg", max_frame_bytes=1000), 50_000) == 20_000
    assert video_bytes_per_second(VideoFormat(encoding="stream_based"), 50_000) is None
    with pytest.raises(ValueError, match="more than 0"):
        video_bytes_per_second(RAW_VGA, 0)


def test_a_camera_with_one_raw_format_that_fits_is_known_to_send_it() -> None:
    """3 × 1024 bytes every 125 us are 24.576 MB/s: room for 640 × 480 at 30, not for 1280 × 720 at 30 (55.3 MB/s)."""
    hd = RAW_VGA.model_copy(update={"width": 1280, "height": 720})
    camera = one_device("1-1", "high", streaming((iso(1024, 125, transactions=3),)))
    look = snapshot(controller(), root(), camera)
    use = use_of(look, "1-1", pictures(RAW_VGA, hd))
    assert (use.width, use.height, use.frame_interval_us) == (640, 480, 33333.3)
    assert use.mb_s == pytest.approx(18.432, rel=1e-5)
    several = use_of(look, "1-1", pictures(RAW_VGA, hd, MJPEG))
    assert (several.width, several.mb_s) == (None, None)
    assert several.most_mb_s == pytest.approx(18.432, rel=1e-5)
    assert expected_mb_s(camera, (pictures(RAW_VGA, hd, MJPEG),), "current") is None


def test_a_range_of_intervals_is_never_taken_for_one() -> None:
    """From 30 to 5 pictures a second; the endpoint has room for 3.072 MB/s, 5 pictures a second."""
    ranged = RAW_VGA.model_copy(update={"frame_intervals_us": (), "frame_interval_range_us": (33333.3, 200_000.0)})
    camera = one_device("1-1", "high", streaming((iso(400, 125),)))
    use = use_of(snapshot(controller(), root(), camera), "1-1", pictures(ranged))
    assert (use.frame_interval_us, use.mb_s, use.most_mb_s) == (None, None, 3.2)
    small = RAW_VGA.model_copy(update={"width": 160, "height": 120})
    beside = use_of(snapshot(controller(), root(), camera), "1-1", pictures(ranged, small))
    assert (beside.width, beside.mb_s, beside.most_mb_s) == (None, None, 3.2)


def test_a_bulk_camera_reserves_nothing_and_its_formats_say_what_it_may_need() -> None:
    pipe = Endpoint(address=0x81, type="bulk", max_packet=1024, burst=16)
    setting = Interface(number=0, active_alternate=0, alternates=(Alternate(number=0, endpoints=(pipe, interrupt())),))
    camera = one_device("2-1", "super", setting)
    look = snapshot(controller(), root(2, "super"), camera)
    use = use_of(look, "2-1", pictures(RAW_VGA, MJPEG))
    assert (use.share, use.mb_s) == (None, None)
    assert use.most_mb_s == pytest.approx(18.432, rel=1e-5)
    assert expected_mb_s(camera, (pictures(RAW_VGA, MJPEG),)) == pytest.approx(18.432, rel=1e-5)
    assert expected_mb_s(camera, (pictures(RAW_VGA),), "current") is None
    unbounded = VideoFormat(encoding="stream_based")
    assert expected_mb_s(camera, (pictures(RAW_VGA, unbounded),)) is None


def test_a_real_camera_needs_no_more_than_its_widest_setting_reserves() -> None:
    """A recorded laptop camera. Its widest setting carries 3 × 1020 bytes every 125 us, 24.48 MB/s; its raw formats fit
    (640 × 480 at 30 and 1280 × 720 at 10 need 18.43 MB/s), its compressed ones are declared up to 55 MB/s."""
    with tarfile.open(RECORDINGS / "machine-a.sysfs.tgz") as tar:
        (blob,) = [
            member.read()
            for info in tar
            if info.name.endswith("1-1.6/descriptors") and (member := tar.extractfile(info)) is not None
        ]
    (configuration,) = parse_descriptors(blob, "high").configurations
    interfaces = tuple(
        i.model_copy(update={"active_alternate": 11 if i.number == 1 else 0}) for i in configuration.interfaces
    )
    camera = one_device("1-1", "high", *interfaces)
    formats = parse_formats(blob)
    assert expected_mb_s(camera, formats) == pytest.approx(24.48)
    raw = tuple(f.model_copy(update={"video": f.video[:8]}) for f in formats)
    assert expected_mb_s(camera, raw) == pytest.approx(18.432, rel=1e-4)
    (use,) = stream_uses(BusTree(snapshot(controller(), root(), camera)), camera, formats)
    assert (use.interface, use.alternate, use.endpoint, use.mb_s) == (1, 11, 0x81, None)
    assert use.share is not None
    assert 0.4 < use.share < 0.7


def test_a_use_reads_back_from_its_document() -> None:
    card = one_device("1-1", "full", streaming((iso(294),)))
    use = use_of(snapshot(controller(), root(), card), "1-1", sound(STEREO_24))
    assert StreamUse.model_validate(json.loads(use.model_dump_json())) == use


RATES = st.lists(st.integers(1, 384_000), min_size=1, max_size=8).map(tuple)


@given(st.integers(1, 32), st.integers(1, 4), RATES, st.integers(1, 1023))
def test_a_wider_packet_never_leaves_fewer_rates(channels: int, size: int, rates: tuple[int, ...], packet: int) -> None:
    heard = sound(AudioFormat(channels=channels, bytes_per_sample=size, bits=8 * size, sample_rates=rates))
    narrow, wide = (one_device("1-1", "full", streaming((iso(p),))) for p in (packet, packet + 1))
    uses = [use_of(snapshot(controller(), root(), d), "1-1", heard) for d in (narrow, wide)]
    assert set(uses[0].sample_rates) <= set(uses[1].sample_rates)
    for use in uses:
        assert use.most_mb_s is not None
        assert use.most_mb_s <= (packet + 1) / 1000
        assert use.mb_s is None or use.mb_s == use.most_mb_s


VIDEOS = st.builds(
    VideoFormat,
    encoding=st.sampled_from(["uncompressed", "mjpeg", "frame_based", "stream_based"]),
    width=st.none() | st.integers(1, 8000),
    height=st.none() | st.integers(1, 8000),
    bits_per_pixel=st.none() | st.integers(1, 255),
    frame_intervals_us=st.lists(st.floats(0.1, 4e8), max_size=4).map(tuple),
    frame_interval_range_us=st.none()
    | st.tuples(st.floats(0.1, 4e8), st.floats(0.1, 4e8)).map(lambda t: tuple(sorted(t))),
    max_bit_rate=st.none() | st.integers(1, 2**32 - 1),
    max_frame_bytes=st.none() | st.integers(1, 2**32 - 1),
)


@given(st.lists(VIDEOS, min_size=1, max_size=5), st.booleans(), st.integers(1, 1024), st.integers(1, 3))
def test_no_picture_stream_is_said_to_need_more_than_its_endpoint_carries(
    videos: list[VideoFormat], complete: bool, packet: int, transactions: int
) -> None:
    camera = one_device("1-1", "high", streaming((iso(packet, 125, transactions=transactions),)))
    formats = pictures(*videos, complete=complete)
    use = use_of(snapshot(controller(), root(), camera), "1-1", formats)
    room = packet * transactions / 125
    assert use.most_mb_s is not None
    assert use.most_mb_s <= room
    assert use.mb_s is None or use.mb_s <= room
    assert expected_mb_s(camera, (formats,)) == use.most_mb_s
    if not complete:
        assert use.mb_s is None
