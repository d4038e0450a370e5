"""Portmend against a real kernel and emulated controllers: the same devices, the same books, drives told apart,
bus time refused."""

from __future__ import annotations

import re
from typing import Any

import pytest
from lab import boots
from lab.conftest import Booted
from lab.listing import Listed, read_listing
from lab.machine import Results

from wizard import wiring
from wizard.budget.ledger import build_ledger
from wizard.case.documents import Look
from wizard.case.model import Case

pytestmark = [pytest.mark.lab, pytest.mark.slow]

SPEEDS = {"1.5": "low", "12": "full", "480": "high", "5000": "super"}


@pytest.fixture(scope="module")
def results(booted: Booted, tmp_path_factory: pytest.TempPathFactory) -> Results:
    return booted("desk", boots.desk(tmp_path_factory.mktemp("drives")))


@pytest.fixture(scope="module")
def kernel(results: Results) -> dict[str, Listed]:
    return read_listing(results.text("kernel.txt"))


@pytest.fixture(scope="module")
def look(results: Results) -> Look:
    return Look.model_validate(results.json("look.json"))


def test_look_sees_exactly_the_devices_the_kernel_lists(look: Look, kernel: dict[str, Listed]) -> None:
    assert len(kernel) > 15
    assert {d.id: (d.vid, d.pid, d.speed) for d in look.snapshot.devices} == {
        place: (one.vendor, one.product_number, SPEEDS[one.speed]) for place, one in kernel.items()
    }


def test_names_and_serial_numbers_are_the_kernels(look: Look, kernel: dict[str, Listed]) -> None:
    seen = {d.id: (d.manufacturer, d.product, d.serial) for d in look.snapshot.devices}
    assert seen == {place: (one.maker, one.product, one.serial) for place, one in kernel.items()}


def test_interfaces_in_use_have_the_kernels_driver_and_endpoints(look: Look, kernel: dict[str, Listed]) -> None:
    seen: dict[tuple[str, int], tuple[str | None, frozenset[tuple[int, int]]]] = {}
    for device in look.snapshot.devices:
        for interface in device.interfaces:
            current = interface.current()
            assert current is not None
            endpoints = frozenset((e.address, e.max_packet) for e in current.endpoints)
            seen[device.id, interface.number] = (interface.driver, endpoints)
    listed = {(place, n): used for place, one in kernel.items() for n, used in one.interfaces.items()}
    assert seen == listed


def test_what_is_plugged_where_follows_the_kernels_tree(look: Look, kernel: dict[str, Listed]) -> None:
    parents = {d.id: d.parent for d in look.snapshot.devices if not d.root}
    assert parents == {place: one.parent for place, one in kernel.items() if one.parent is not None}


def test_the_ledger_equals_the_kernels_books(look: Look, kernel: dict[str, Listed]) -> None:
    """`B: Alloc` is the mean of a frame, in whole microseconds, of what a driver uses; ours takes
    all that is set up."""
    used = tuple(d for d in look.snapshot.devices if all(i.driver for i in d.interfaces))
    ledger = build_ledger(look.snapshot.model_copy(update={"devices": used}))
    booked = {place: one.booked_us for place, one in kernel.items() if one.booked_us is not None}
    entries = {e.where: e for e in ledger if e.budget == "periodic_time_active"}
    kinds = {c.id: c.kind for c in look.snapshot.controllers}
    roots = [d.id for d in look.snapshot.devices if d.root and kinds.get(d.parent or "") in ("uhci", "ehci")]
    assert len(roots) == 3
    assert sum(booked[root] for root in roots) > 0
    for root in roots:
        mean = entries[root].mean_frame_us
        assert mean is not None
        assert int(mean) == booked[root]


def test_devices_and_endpoints_are_counted_as_they_are(look: Look, kernel: dict[str, Listed]) -> None:
    slots = {e.where: e for e in look.ledger if e.budget == "slots"}
    for controller in look.snapshot.controllers:
        below = [d for d in look.snapshot.devices if not d.root and _controller(look, d.id) == controller.id]
        if controller.kind == "xhci":
            assert slots[controller.id].used == len(below)
            assert slots[controller.id].limit == boots.SLOTS


def _controller(look: Look, device: str) -> str | None:
    root = f"usb{device.partition('-')[0]}"
    return next((d.parent for d in look.snapshot.devices if d.id == root), None)


def test_a_hub_too_deep_in_a_row_is_a_sign_an_entry_and_the_first_cause(results: Results, look: Look) -> None:
    """USB 2.0 §4.1.1 allows five; the kernel refuses to use the sixth."""
    deepest = max((e for e in look.ledger if e.budget == "hub_depth"), key=lambda e: e.used or 0)
    assert (deepest.used, deepest.limit, deepest.state) == (boots.HUBS_DEEP + 1, 5, "over")
    place = max((d.id for d in look.snapshot.devices), key=lambda name: name.count("."))
    case = Case(
        symptom="device_missing",
        subject=(place,),
        platform="linux",
        log=results.text("log.txt"),
        snapshot=look.snapshot,
    )
    assert any(s.kind == "hub_too_deep" and s.where == place for s in wiring.look_of(case).signs)
    assert wiring.advise(wiring.load_services(), case).causes[0].id == "hub_depth"


def drive(results: Results, name: str) -> dict[str, Any]:
    found: dict[str, Any] = results.json(f"drive-{name}.json")
    return found


def states(document: dict[str, Any]) -> dict[str, str]:
    return {link["link"]: link["state"] for link in document["links"]}


def test_a_drive_without_a_table_is_told_from_one_with_a_strange_file_system(results: Results) -> None:
    blank, strange = drive(results, "blank"), drive(results, "strange")
    assert states(blank)["partition_table"] == "fails"
    assert blank["observations"]["volume"] == "no_partition"
    assert states(strange)["partition_table"] == "ok"
    assert states(strange)["file_system"] == "fails"
    assert strange["observations"]["volume"] in ("foreign_filesystem", "raw_or_wrong_size")


def test_a_protected_drive_is_read_only_and_otherwise_well(results: Results) -> None:
    protected = drive(results, "protected")
    assert states(protected)["read_only"] == "fails"
    assert states(protected)["file_system"] == "ok"
    assert protected["observations"]["medium"] == ["read_only"]


def test_a_drive_pulled_out_while_it_is_read_is_gone_and_not_broken(results: Results) -> None:
    """The kernel reports failed reads then; they say nothing of the medium."""
    leaving = drive(results, "leaving")
    assert states(leaving)["enumerated"] == "fails"
    assert "medium" not in leaving["observations"]
    assert results.json("drive-leaving.how")["seconds"] < 5.0
    assert drive(results, "left")["links"] == []  # nothing is there to have a chain
    assert results.json("drive-left.how")["code"] == 3


def test_refused_bus_time_is_a_sign_an_entry_and_the_first_cause(results: Results) -> None:
    """Two streams of eight channels: the kernel lets one in, and the ledger says that both are too much."""
    played = dict(line.split(maxsplit=1) for line in results.text("played.txt").splitlines())
    (refused,) = [device for device, answer in played.items() if answer != "accepted"]
    log = results.text("log.txt")
    case = Case(symptom="resource_error", subject=(refused,), platform="linux", log=log, snapshot=_played(results))
    found = wiring.look_of(case)
    assert any(s.kind == "no_bandwidth" and s.where == refused for s in found.signs)
    over = [e for e in found.ledger if e.budget == "periodic_time" and e.state == "over"]
    assert [e.where for e in over] == [f"usb{refused.partition('-')[0]}/tt1"]
    first = wiring.advise(wiring.load_services(), case).causes[0]
    assert first.id in ("periodic_bandwidth", "translator_bandwidth")


def _played(results: Results) -> Any:
    return Look.model_validate(results.json("look-played.json")).snapshot


def test_nothing_is_written_to_a_drive(results: Results) -> None:
    """Read-only always: the kernel's own counters of each disk show no write."""
    written = [line.split() for line in results.text("diskstats.txt").splitlines()]
    counts = {words[2]: int(words[7]) for words in written if re.fullmatch(r"sd[a-z]", words[2])}
    assert len(counts) >= 3
    assert set(counts.values()) == {0}
