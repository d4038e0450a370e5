"""Bus time against the standard's formula, published values and a kernel's measured accounting."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.bus_time import BusSpeed, booked_us, service_ns, transaction_ns
from wizard.bus.model import Endpoint

REFERENCE = Path(__file__).parent.parent / "reference"


def formula_ns(speed: str, is_in: bool, isochronous: bool, payload: int) -> Fraction:
    """USB 2.0 §5.11.3 as printed, with the delays this project names (1000 ns, high speed 5 ns, 333 ns)."""
    bits = (Fraction("3.167") + Fraction(7, 6) * 8 * payload) // 1
    if speed == "low":
        fixed, per_bit = (64060, Fraction("676.67")) if is_in else (64107, Fraction("667.00"))
        return fixed + 2 * 333 + per_bit * bits + 1000
    if speed == "full":
        fixed = (7268 if is_in else 6265) if isochronous else 9107
        return fixed + Fraction("83.54") * bits + 1000
    overhead = 38 if isochronous else 55
    return overhead * 8 * Fraction("2.083") + Fraction("2.083") * bits + 5


@pytest.mark.parametrize(("speed", "largest"), [("low", 8), ("full", 1023), ("high", 1024)])
@pytest.mark.parametrize("is_in", [True, False])
@pytest.mark.parametrize("iso", [True, False])
def test_stays_within_a_thousandth_of_the_formula(speed: BusSpeed, largest: int, is_in: bool, iso: bool) -> None:
    for size in range(largest + 1):
        expected = formula_ns(speed, is_in, iso and speed != "low", size)
        assert abs(transaction_ns(speed, is_in, iso and speed != "low", size) - expected) <= expected / 1000, size


@given(st.sampled_from(["low", "full", "high"]), st.booleans(), st.booleans(), st.integers(0, 3000))
def test_more_bytes_never_take_less_time(speed: BusSpeed, is_in: bool, iso: bool, size: int) -> None:
    shorter = transaction_ns(speed, is_in, iso, size)
    assert transaction_ns(speed, is_in, iso, size + 1) >= shorter


def test_every_single_endpoint_measurement_of_a_real_kernel() -> None:
    """68 endpoints, one at a time, on a UHCI bus of Linux 6.1: the busiest frame the driver booked."""
    with (REFERENCE / "table-uhci.tsv").open() as file:
        rows = [r for r in csv.DictReader(file, delimiter="\t") if not r["error"]]
    assert len(rows) == 67
    speeds = {"1.5": "low", "12": "full"}
    for r in rows:
        endpoint = Endpoint(
            address=0x81 if r["dir"] == "in" else 0x01,
            type="isochronous" if r["type"].startswith("iso") else "interrupt",
            max_packet=int(r["bytes"]),
            transactions=int(r["per"]),
        )
        assert booked_us("uhci", speeds[r["speed"]], endpoint) == int(r["max_us"]), r


def test_a_high_bandwidth_endpoint_pays_for_each_packet() -> None:
    one = Endpoint(address=0x81, type="isochronous", max_packet=1024)
    three = Endpoint(address=0x81, type="isochronous", max_packet=1024, transactions=3)
    assert service_ns("high", three) == 3 * service_ns("high", one)


def test_ehci_books_the_packets_of_a_microframe_as_one_long_one() -> None:
    """3 × 1024 bytes: 60,651 ns by the kernel's arithmetic (row bt-lx-hs-in-non-3072), booked as 61 us."""
    endpoint = Endpoint(address=0x81, type="interrupt", max_packet=1024, transactions=3)
    assert booked_us("ehci", "high", endpoint) == 61


def test_a_negative_payload_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        transaction_ns("full", True, False, -1)
