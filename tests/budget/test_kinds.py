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
