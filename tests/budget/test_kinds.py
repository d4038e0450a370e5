"""Typical devices: each has a name and a source, and says of itself what the standard allows its speed."""

import pytest

from wizard.budget.kinds import DeviceKind, load_kinds
from wizard.bus.errors import RulebookError
from wizard.store import resources

KINDS = load_kinds(resources.kind_tables())
TEXTS = resources.texts("en")

MOST_BYTES = {"low": {"interrupt": 8}, "full": {"interrupt": 64, "bulk": 64, "isochronous": 1023}}
"""Largest packets: rows ls-mps and fs-mps of the check values (confirmed); high speed and up: 1024."""


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.id)
def test_a_kind_has_a_name_and_a_source(kind: DeviceKind) -> None:
    assert TEXTS[f"kind.{kind.id}.title"]
    assert "from memory" in kind.source


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.id)
def test_a_kind_keeps_to_what_its_speed_allows(kind: DeviceKind) -> None:
    for endpoint in kind.endpoints:
        assert endpoint.max_packet <= MOST_BYTES.get(kind.speed, {}).get(endpoint.type, 1024)
    assert kind.ma <= (900 if kind.speed == "super" else 500)  # row p-full (confirmed)


def test_a_stereo_stream_of_24_bits_at_48_khz_fits_its_packets() -> None:
    """48 samples a frame and one to spare, 2 channels of 3 bytes: 294 bytes (derived)."""
    stereo = next(k for k in KINDS if k.id == "sound_stereo")
    assert [e.max_packet for e in stereo.endpoints] == [(48 + 1) * 2 * 3] * 2
    assert stereo.need_mb_s == pytest.approx(48_000 * 2 * 3 * 2 / 1e6)


def test_a_kind_becomes_a_device() -> None:
    hub = next(k for k in KINDS if k.id == "hub_4_multi").as_device("1-1", "A hub")
    assert hub.hub is not None
    assert (hub.id, hub.hub.translator, hub.self_powered) == ("1-1", "multi", True)


def test_every_problem_of_a_table_is_told() -> None:
    good = {"means": "hub", "speed": "high", "ma": 100, "class": 9, "ports": 4, "source": "made up for tests"}
    rows = [
        {**good, "id": "a"},
        {**good, "id": "a"},
        {**good, "id": "b", "ma": 5000},
        {**good, "id": "c", "ports": None},
    ]
    with pytest.raises(RulebookError) as caught:
        load_kinds({"x.toml": {"kind": rows}})
    assert [p.split(":")[0] for p in caught.value.problems] == [
        "x.toml, kind a",
        "x.toml, kind b, ma",
        "x.toml, kind c, ",
    ]


SOUNDS = {
    "microphone": (1, 48_000, 2),
    "sound_stereo": (4, 48_000, 3),
    "sound_stereo_cd": (4, 44_100, 2),
    "sound_out_96": (2, 96_000, 3),
    "sound_4_96": (8, 96_000, 3),
    "sound_8_48": (16, 48_000, 3),
    "sound_8_96": (16, 96_000, 3),
    "sound_18": (38, 48_000, 3),
    "sound_32_96": (64, 96_000, 3),
}
"""Channels in and out together, rate, bytes of a sample."""


@pytest.mark.parametrize("name", SOUNDS)
def test_a_sound_interface_needs_what_its_channels_and_rate_make(name: str) -> None:
    """Arithmetic; packets have room for one sample more than a service brings."""
    channels, rate, size = SOUNDS[name]
    kind = next(k for k in KINDS if k.id == name)
    assert kind.need_mb_s == pytest.approx(channels * rate * size / 1e6)
    room = sum(e.max_packet * e.transactions / e.interval_us for e in kind.endpoints)
    assert room >= kind.need_mb_s


def test_every_family_of_devices_has_a_kind_and_both_speeds_of_hubs() -> None:
    families = {
        "game_controller", "keyboard_mouse", "midi", "audio", "headset", "camera", "capture", "storage", "card_reader",
        "wireless_receiver", "radio_adapter", "serial_device", "machine_controller", "instrument", "lighting",
        "printer", "scanner", "phone", "network", "security_token", "display", "accelerator", "hub", "other",
    }  # fmt: skip
    assert {k.means for k in KINDS} == families
    assert {k.speed for k in KINDS if k.means == "hub"} == {"high", "super"}


def test_what_a_motor_takes_at_the_start_is_more_than_what_it_declares_and_said_to_be_typical() -> None:
    for kind in KINDS:
        if kind.peak_ma is not None:
            assert kind.peak_ma >= kind.ma
            assert "from memory" in kind.source
