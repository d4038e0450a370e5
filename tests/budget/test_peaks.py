"""Start-up peaks: typical, beside what is used, and a finding only where a feed bears the one and not the other."""

from builders import controller, device, hub, root, snapshot

from wizard.budget.entry import Entry
from wizard.budget.kinds import load_kinds
from wizard.budget.ledger import build_ledger
from wizard.budget.peaks import DISK_PEAK_MA, DISK_PEAK_SUPER_MA
from wizard.budget.setup import Setup
from wizard.budget.what_if import Bench, Move
from wizard.bus.model import Device, Interface, Socket, Speed
from wizard.store import resources

KINDS = {k.id: k for k in load_kinds(resources.kind_tables())}


def storage(where: str, ma: int, speed: Speed = "high", self_powered: bool = False) -> Device:
    drive = Interface.model_validate({"number": 0, "class": 8})
    return device(where, speed, ma, interfaces=(drive,), configuration=1, self_powered=self_powered)


def entries(*parts: Device | Socket, setup: Setup | None = None) -> dict[tuple[str, str], Entry]:
    found = build_ledger(snapshot(controller(), root(), root(2, "super"), *parts), setup)
    return {(e.budget, e.where): e for e in found}


def test_the_peaks_of_drives_are_those_of_the_typical_disks() -> None:
    assert (KINDS["disk_usb2"].peak_ma, KINDS["disk"].peak_ma) == (DISK_PEAK_MA.value, DISK_PEAK_SUPER_MA.value)
    assert all("typical, from memory" in limit.source for limit in (DISK_PEAK_MA, DISK_PEAK_SUPER_MA))


def test_a_disk_shows_its_peak_beside_what_it_declares_and_stays_in_its_state() -> None:
    found = entries(storage("1-1", 500))[("port_current", "1-1")]
    assert (found.used, found.peak, found.state) == (500, 1000, "tight")
    assert found.note is not None
    assert "about 1000 mA" in found.note
    assert "(typical)" in found.note


def test_a_memory_stick_and_a_drive_with_a_supply_have_no_peak() -> None:
    for one in (storage("1-1", 200), storage("1-1", 500, self_powered=True)):
        assert entries(one)[("port_current", "1-1")].peak is None


def test_two_disks_on_a_hub_that_bears_them_at_work_but_not_at_the_start() -> None:
    """2 × 500 = 1000 of 1500 mA at work, 2 × 1000 = 2000 as they start (typical, from memory)."""
    found = entries(hub("1-1"), storage("1-1.1", 500), storage("1-1.2", 500), setup=Setup(supplies_ma={"1-1": 1500}))[
        ("hub_supply", "1-1")
    ]
    assert (found.used, found.peak, found.state) == (1000, 2000, "room")
    assert found.finding is not None
    assert "about 2000 mA here (typical), more than the 1500 mA there are" in found.finding


def test_a_group_of_sockets_has_the_finding_too() -> None:
    sockets = [Socket(id=f"1-{i}", hub="usb1", group="rear") for i in (1, 2)]
    told = Setup(group_ma={"rear": 1200}, peak_ma={"1-2": 900})
    found = entries(*sockets, storage("1-1", 500), device("1-2", "high", 300), setup=told)[("group_current", "rear")]
    assert (found.used, found.peak) == (800, 1900)
    assert found.finding is not None


def test_a_peak_that_was_told_beats_the_typical_one() -> None:
    found = entries(storage("1-1", 500), setup=Setup(peak_ma={"1-1": 700}))[("port_current", "1-1")]
    assert found.peak == 700


def test_a_described_motor_device_brings_the_peak_of_its_kind() -> None:
    faders = KINDS["fader_bank"].as_device("1-1", "Faders").model_copy(update={"parent": "usb1"})
    assert entries(faders)[("port_current", "1-1")].peak == KINDS["fader_bank"].peak_ma


def test_one_supply_feeds_both_halves_of_a_usb_3_hub() -> None:
    """3 drives of 896 on the fast half and 500 on the slow one: 3188 mA, more than 3000; told for one half only."""
    sockets = [Socket(id="1-1", hub="usb1", peer="2-1"), Socket(id="2-1", hub="usb2", peer="1-1")]
    drives = [device(f"2-1.{i}", "super", 896) for i in (1, 2, 3)]
    found = entries(
        *sockets, hub("1-1"), hub("2-1", "super"), *drives, device("1-1.4", "high", 500),
        setup=Setup(supplies_ma={"2-1": 3000}),
    )  # fmt: skip
    for half in ("1-1", "2-1"):
        supply = found[("hub_supply", half)]
        assert (supply.used, supply.limit, supply.state) == (3188, 3000, "over")


def test_a_moved_disk_takes_what_was_told_of_it_along() -> None:
    ports = [Socket(id=f"1-{i}", hub="usb1") for i in (1, 2)]
    seen = snapshot(controller(), root(), storage("1-1", 500), *ports)
    after = Bench.of(seen, Setup(peak_ma={"1-1": 700}, need_mb_s={"1-1": 20})).tried(Move("1-1", "1-2"))
    assert (after.setup.peak_ma, after.setup.need_mb_s) == ({"1-2": 700}, {"1-2": 20})
