"""Conditions over a case: true, false, or not known; and what concerns the subject."""

import math

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.bus.sign import Sign
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.rulebook import Condition


def facts(**observations: object) -> Facts:
    return gather_facts(("lag",), observations)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("cures", True),
        ("same", False),
        ("unknown", None),
        (None, None),
        (["same", "cures"], True),
        (["unknown"], None),
        (3, None),
        ({"odd": 1}, None),
        ("never heard of", False),
    ],
)
def test_words_are_matched_and_unknown_stays_unknown(value: object, expected: bool | None) -> None:
    condition = Condition(observation="other_cable", any_of=("cures",))
    assert facts(other_cable=value).holds(condition) is expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(500, True), (500.5, False), ("500", None), (-1, None), (True, None), (math.nan, None), (None, None)],
)
def test_numbers_are_compared_and_anything_else_is_not_known(value: object, expected: bool | None) -> None:
    condition = Condition(observation="hub_supply_ma", at_most=500)
    assert facts(hub_supply_ma=value).holds(condition) is expected


def test_an_observation_that_was_never_made_is_not_known() -> None:
    assert facts().holds(Condition(observation="other_cable", any_of=("cures",))) is None


def test_no_log_is_not_the_same_as_a_quiet_log() -> None:
    condition = Condition(sign=("reset",))
    assert gather_facts(("lag",), {}).holds(condition) is None
    assert gather_facts(("lag",), {}, signs_known=True).holds(condition) is False
    assert gather_facts(("lag",), {}, signs=(Sign(kind="reset"),)).holds(condition) is True


def test_the_system_of_the_pc_is_known_or_not() -> None:
    condition = Condition(platform=("windows",))
    assert gather_facts(("lag",), {}, platform="windows").holds(condition) is True
    assert gather_facts(("lag",), {}, platform="linux").holds(condition) is False
    assert gather_facts(("lag",), {}).holds(condition) is None


def test_signs_are_counted_with_their_repeats() -> None:
    told = gather_facts(("lag",), {}, signs=(Sign(kind="reset", where="1-1", count=3),))
    assert told.holds(Condition(sign=("reset",), at_least=3)) is True
    assert told.holds(Condition(sign=("reset",), at_least=4)) is False


def test_only_entries_on_the_way_to_the_subject_count() -> None:
    busy = (hub("1-1"), device("1-1.1", "full", 100, iso(1023)), device("1-1.2", "full", 100, iso(1023)))
    seen = snapshot(controller(), root(), *busy, device("1-2", "full", 100, interrupt()))
    over = Condition(ledger="periodic_time", place="translator", state=("over",))
    ledger = build_ledger(seen)
    assert gather_facts(("lag",), {}, ("1-1.1",), seen, ledger).holds(over) is True
    assert gather_facts(("lag",), {}, ("1-2",), seen, ledger).holds(over) is False
    assert gather_facts(("lag",), {}, (), seen, ledger).holds(over) is True


def test_a_sign_at_another_known_device_is_left_out() -> None:
    seen = snapshot(controller(), root(), device("1-1"), device("1-2"))
    signs = (Sign(kind="reset", where="1-2"), Sign(kind="over_current", where="usb1"), Sign(kind="reset", where="?-3"))
    told = gather_facts(("dropout",), {}, ("1-1",), seen, signs=signs)
    assert [s.where for s in told.signs] == ["usb1", "?-3"]


@pytest.mark.parametrize(
    ("where", "counts"), [("sda", True), ("host4", True), ("4:0:0:0", True), ("sdb", False), ("5:0:0:1", False)]
)
def test_a_sign_at_a_drive_counts_for_the_device_that_holds_it(where: str, counts: bool) -> None:
    drives = {"1-1": ("host4", "sda"), "1-2": ("host5", "sdb")}
    devices = [device(i).model_copy(update={"scsi_hosts": (h,), "disks": (d,)}) for i, (h, d) in drives.items()]
    signs = (Sign(kind="storage_io_error", where=where),)
    told = gather_facts(("dropout",), {}, ("1-1",), snapshot(controller(), root(), *devices), signs=signs)
    assert bool(told.signs) is counts


def test_a_sign_at_a_drive_of_unknown_place_counts() -> None:
    signs = (Sign(kind="storage_io_error", where="sdz"),)
    told = gather_facts(("dropout",), {}, ("1-1",), snapshot(controller(), root(), device("1-1")), signs=signs)
    assert told.signs == signs


def test_an_unknown_entry_is_neither_room_nor_over() -> None:
    seen = snapshot(controller(), root(), hub("1-1"), device("1-1.1", "high", 500))
    told = gather_facts(("dropout",), {}, ("1-1.1",), seen, build_ledger(seen))
    assert told.holds(Condition(ledger="hub_supply", state=("room",))) is None


@pytest.mark.parametrize(
    ("limit", "peak", "beyond"), [(1000, 1800, True), (2000, 1800, False), (None, 1800, None), (1000, None, None)]
)
def test_a_peak_beyond_the_limit_is_told_from_one_within_and_from_one_unknown(
    limit: float | None, peak: float | None, beyond: bool | None
) -> None:
    feed = Entry(
        budget="hub_supply", where="1-1", used=900, limit=limit, unit="mA", state="room", basis="declared",
        limit_basis="declared", source="as told", peak=peak,
    )  # fmt: skip
    told = Facts(symptoms=("dropout",), observations={}, ledger=(feed,))
    assert told.holds(Condition(ledger="hub_supply", beyond="peak")) is beyond
    assert told.holds(Condition(ledger="hub_supply", beyond="if_full")) is None


def test_what_the_user_says_stands_before_what_was_measured() -> None:
    seen = snapshot(controller(), root(), hub("1-1"), device("1-1.1"))
    told = gather_facts(("lag",), {"hub_between": "chain"}, ("1-1.1",), seen)
    assert told.observations["hub_between"] == "chain"
    assert "hub_between" not in told.measured
    assert "hub_translator" in told.measured


def test_a_subject_that_is_not_in_the_snapshot_is_left_out() -> None:
    assert gather_facts(("lag",), {}, ("9-9",), snapshot(controller(), root())).subject == ()


def test_a_tight_entry_somewhere_is_no_evidence_without_a_subject() -> None:
    seen = snapshot(controller(), root(), device("1-1", "high", 450))
    tight = Condition(ledger="port_current", state=("tight",))
    ledger = build_ledger(seen)
    assert gather_facts(("dropout",), {}, (), seen, ledger).holds(tight) is None
    assert gather_facts(("dropout",), {}, ("1-1",), seen, ledger).holds(tight) is True
