"""Section 2 of the published values: translators, splits, and what other systems keep free or charge."""

from math import ceil

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot
from published import ROWS, Row, numbers, per_bit_ns, published

from wizard.budget.bus_time import HUB_LS_SETUP_NS, BusSpeed, transaction_ns
from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US
from wizard.budget.link_capacity import CODING
from wizard.budget.pipeline import (
    BUDGET_BYTES,
    COMPLETES_AFTER_START,
    EHCI_US,
    NO_START_IN,
    START_BEFORE,
    Work,
    budgeted,
)
from wizard.budget.places import EHCI_CAP
from wizard.budget.splits import BYTES_PER_MICROFRAME, split_pieces
from wizard.budget.superspeed import PERIODIC_SHARE
from wizard.budget.time_notes import THINK_TIME_UNREAD
from wizard.bus.model import MBPS, ControllerKind, Device, Endpoint, Hub, Speed

MANY = 6000
FRAME_BYTES = MBPS["full"] * 1000 / 8
MICROFRAME_BYTES = MBPS["high"] * 125 / 8
BYTE_US = 8 / MBPS["full"]


def stuffing() -> float:
    """How much longer the engine makes a payload for the worst case of bit stuffing."""
    slope = transaction_ns("full", True, False, MANY) - transaction_ns("full", True, False, 0)
    return slope / MANY / 8 / per_bit_ns("bt-fs-nonisoc-const")


def translator(*below: Device, think_ns: int | None = None, kind: ControllerKind = "xhci") -> Entry:
    """The translator of a hub at socket 1, with these devices below it."""
    above = hub("1-1").model_copy(update={"hub": Hub(ports=4, translator="single", think_ns=think_ns)})
    found = build_ledger(snapshot(controller(kind=kind), root(), above, *below))
    return next(e for e in found if (e.budget, e.where) == ("periodic_time", "1-1/tt"))


def fixed_ns(speed: BusSpeed, is_in: bool, isochronous: bool) -> float:
    """The constant of the formula as the engine has it: without delays and the rounding term (3.1 bits)."""
    constant = "bt-ls-in-const" if speed == "low" else "bt-fs-nonisoc-const"
    hub_setup = 2 * HUB_LS_SETUP_NS if speed == "low" else 0
    return transaction_ns(speed, is_in, isochronous, 0) - 1000 - hub_setup - 3.1 * per_bit_ns(constant)


# --- what a translator's bus carries -----------------------------------------------------------------------------


@published("tt-188")
def test_bytes_a_translator_moves_in_a_microframe(row: Row) -> None:
    assert row.value == BYTES_PER_MICROFRAME


@published("tt-1157")
def test_unstuffed_bytes_in_what_may_be_reserved_of_a_frame(row: Row) -> None:
    assert int(TRANSLATOR_US.value / BYTE_US / stuffing()) == row.value


@published("tt-budget", "tt-wire")
def test_what_may_be_reserved_of_a_frame_fills_its_microframes(row: Row) -> None:
    """Filled from the first on; in whole bytes for what is budgeted, exactly for what is on the wires."""
    left: float = int(TRANSLATOR_US.value / BYTE_US / stuffing())
    each = BYTES_PER_MICROFRAME if row.id == "tt-budget" else 125 / BYTE_US
    filled: list[float] = []
    for _ in row.value:
        filled.append(min(each, left))
        left -= filled[-1]
    assert (filled, left) == (row.value, 0)


@published("tt-lx-900")
def test_what_linux_lets_a_translator_reserve(row: Row) -> None:
    assert row.value == TRANSLATOR_US.value


@published("tt-lx-max")
def test_what_linux_fills_on_ehci_is_told_there(row: Row) -> None:
    assert f"up to {sum(row.value)} us of a frame" in EHCI_CAP
    note = translator(kind="ehci").note
    assert note is not None
    assert EHCI_CAP in note


@published("tt-iso-max-lx")
def test_the_longest_stream_linux_takes_on_ehci(row: Row) -> None:
    cap = sum(ROWS["tt-lx-max"].value)

    def load(size: int) -> int:
        return ceil(translator(device("1-1.1", "full", 100, iso(size)), think_ns=666).used or 0)

    assert load(row.value) <= cap < load(row.value + 1)
    assert f"more than {row.value} bytes" in EHCI_CAP


@published("tt-think")
def test_think_times_between_two_transactions(row: Row) -> None:
    shortest, longest = min(row.value) / MBPS["full"], max(row.value) / MBPS["full"]
    assert f"{shortest:.2f} to {longest:.1f} us" in THINK_TIME_UNREAD


@published("tt-multi")
def test_a_hub_has_one_budget_or_one_for_each_socket(row: Row) -> None:
    """The rule stands in the name of the row."""
    below = [device(f"1-1.{i}", "full", 100, iso(192)) for i in (1, 2)]
    for mode, expected in (("single", ["1-1/tt"]), ("multi", ["1-1/tt1", "1-1/tt2"])):
        found = build_ledger(snapshot(controller(), root(), hub("1-1", translator=mode), *below))
        assert [e.where for e in found if e.budget == "periodic_time" and "/" in e.where] == expected


@published("tt-usecs")
def test_a_translated_transaction_takes_its_bus_time_and_the_think_time(row: Row) -> None:
    (per_us,) = numbers(row.value)
    for think in (666, 2664):
        for endpoint in (interrupt(64, 1000), iso(1023)):
            time = transaction_ns("full", True, endpoint.type == "isochronous", endpoint.max_packet)
            used = translator(device("1-1.1", "full", 100, endpoint), think_ns=think).used
            assert used is not None
            assert ceil(used) == ceil((think + time) / per_us)


@published("tt-usecs-*")
def test_load_of_one_endpoint_at_a_think_time_of_666_ns(row: Row) -> None:
    endpoints: dict[str, tuple[Speed, Endpoint]] = {
        "ls-8": ("low", interrupt(8, 8000)),
        "fs-8": ("full", interrupt(8, 8000)),
        "fs-64": ("full", interrupt(64, 8000)),
        "iso1023": ("full", iso(1023)),
    }
    speed, endpoint = endpoints[row.id.removeprefix("tt-usecs-")]
    used = translator(device("1-1.1", speed, 100, endpoint), think_ns=666).used
    assert used is not None
    assert ceil(used) == row.value


# --- splits ------------------------------------------------------------------------------------------------------


@published("tt-iso-splits")
def test_pieces_of_a_full_speed_stream(row: Row) -> None:
    piece, least = numbers(row.value)
    for size in (0, 1, 187, 188, 189, 1023):
        pieces = split_pieces(Endpoint(address=0x01, type="isochronous", max_packet=size))
        assert len(pieces) == max(ceil(size / piece), least)


@published("tt-iso-[0-9]*")
def test_pieces_of_one_packet(row: Row) -> None:
    size = int(row.id.removeprefix("tt-iso-"))
    out = Endpoint(address=0x01, type="isochronous", max_packet=size)
    assert len(split_pieces(out)) == row.value


@published("tt-cs")
def test_complete_splits_of_an_interrupt_endpoint(row: Row) -> None:
    """Counted from the start-split, which stands one microframe before its work is budgeted."""
    assert [*COMPLETES_AFTER_START, START_BEFORE] == numbers(row.value)
    for address in (0x81, 0x01):
        slow = interrupt(8, 8000, address)
        assert len(split_pieces(slow)) == 1 + len(COMPLETES_AFTER_START)
        assert len(split_pieces(slow, "ehci")) == 3  # one and two, as the kernel's books have it (bw-ehci captures)


@published("tt-y6")
def test_nothing_starts_in_the_last_but_one_microframe(row: Row) -> None:
    """Six microframes and 28 of 29 bytes are full: what comes then would have to start in that one."""
    last = int(row.value.removeprefix("Y"))
    works = [Work(f"1-{i}", 188, 126) for i in range(6)] + [Work("1-7", 28, 20), Work("late", 14, 18)]
    placed = budgeted(works)
    assert placed.begins[:7] == (0, 1, 2, 3, 4, 5, 6)
    assert [b - START_BEFORE for b in placed.begins if b is not None and b - START_BEFORE >= last] == []
    assert [w.who for w in placed.refused] == ["late"]
    assert last == NO_START_IN


@published("tt-16ss")
def test_starts_in_one_microframe(row: Row) -> None:
    """One-byte streams are 10 bytes each: 18 of them would fit the bytes of a microframe, and 16 may start in it."""
    placed = budgeted([Work(f"1-{i}", 10, 9, isochronous=True) for i in range(18)])
    assert placed.begins.count(0) == row.value
    assert placed.refused == ()


def test_the_budget_of_the_pipeline_is_that_of_the_standard_and_of_linux() -> None:
    assert list(BUDGET_BYTES) == ROWS["tt-budget"].value
    assert list(EHCI_US) == ROWS["tt-lx-max"].value


# --- what hosts keep free, by their own software -----------------------------------------------------------------


@published("xhci-bw-fs-limit")
def test_unstuffed_bytes_of_a_frame(row: Row) -> None:
    assert int(FRAME_BYTES / stuffing()) == row.value


@published("xhci-bw-hs-limit")
def test_unstuffed_blocks_of_four_bytes_of_a_microframe(row: Row) -> None:
    assert int(MICROFRAME_BYTES / stuffing() / 4) == row.value


@published("xhci-bw-ss-limit")
def test_blocks_of_sixteen_bytes_of_a_superspeed_microframe(row: Row) -> None:
    assert 5000 * CODING[5000.0] * 125 / 8 // 16 == row.value


@published("xhci-bw-fs-avail")
def test_blocks_of_a_frame_that_may_be_reserved(row: Row) -> None:
    assert int(ROWS["xhci-bw-fs-limit"].value * FRAME_US.value / 1000) == row.value


@published("xhci-bw-hs-avail")
def test_blocks_of_a_microframe_that_may_be_reserved(row: Row) -> None:
    assert int(ROWS["xhci-bw-hs-limit"].value * MICROFRAME_US.value / 125) == row.value


@published("xhci-bw-rsv")
def test_shares_kept_free(row: Row) -> None:
    may_be_reserved = (FRAME_US.value / 1000, MICROFRAME_US.value / 125, PERIODIC_SHARE[1])
    assert [100 - 100 * share for share in may_be_reserved] == pytest.approx(row.value)


# --- the same formula in other systems' sources ------------------------------------------------------------------


@published("ill-hs")
def test_high_speed_overhead_elsewhere(row: Row) -> None:
    bit = per_bit_ns("bt-hs-nonisoc-const")
    fixed = [transaction_ns("high", True, isochronous, 0) - 5 - 3 * bit for isochronous in (False, True)]
    assert [round(ns / 8 / bit) for ns in fixed] == row.value


@published("ill-fs")
def test_full_speed_overhead_elsewhere_rounded_up(row: Row) -> None:
    fixed = (fixed_ns("full", True, False), fixed_ns("full", True, True), fixed_ns("full", False, True))
    assert [ceil(ns / 1000 / BYTE_US) for ns in fixed] == row.value


@published("ill-ls")
def test_low_speed_overhead_elsewhere_in_full_speed_bytes(row: Row) -> None:
    overhead = ceil(fixed_ns("low", True, False) / 1000 / BYTE_US)
    hub_setup = ceil(2 * HUB_LS_SETUP_NS / 1000 / BYTE_US)
    assert [overhead, hub_setup, MBPS["full"] / MBPS["low"]] == row.value


@published("ill-nonper")
def test_bytes_of_a_microframe_kept_free_elsewhere(row: Row) -> None:
    assert MICROFRAME_BYTES * (1 - MICROFRAME_US.value / 125) == pytest.approx(row.value[1])


@published("hel-swap")
def test_the_high_speed_constants_are_not_swapped(row: Row) -> None:
    """A system that has them the wrong way round: its figures stand in the name of the row."""
    bit = per_bit_ns("bt-hs-nonisoc-const")
    interrupt_ns, iso_ns = (transaction_ns("high", True, isochronous, 0) for isochronous in (False, True))
    swapped = numbers(row.name)
    assert [round((ns - 5 - 3 * bit) / 8 / bit) for ns in (iso_ns, interrupt_ns)] == swapped[:2]
    assert stuffing() == pytest.approx(swapped[2] / 6, rel=1e-4)
