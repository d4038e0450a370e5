"""What finds no place in the microframes of a translator although the mean would fit, and what is then told."""

from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.pipeline import BUDGET_BYTES, EHCI_US, Work, budgeted, by_ehci
from wizard.bus.model import ControllerKind, Device, Hub, System

WORKS = st.lists(st.tuples(st.integers(1, 400), st.booleans()), max_size=30).map(
    lambda rows: [Work(f"1-{i}", size, size, stream) for i, (size, stream) in enumerate(rows)]
)


def translator(
    *below: Device, kind: ControllerKind = "xhci", think_ns: int | None = 666, os: str | None = None
) -> Entry:
    above = hub("1-1", ports=7).model_copy(update={"hub": Hub(ports=7, translator="single", think_ns=think_ns)})
    seen = snapshot(controller(kind=kind), root(), above, *below, system=System(os=os))
    return next(e for e in build_ledger(seen) if (e.budget, e.where) == ("periodic_time", "1-1/tt"))


@given(WORKS)
def test_what_is_placed_fits_the_bytes_of_a_frame(works: list[Work]) -> None:
    placed = budgeted(works)
    inside = [w for w, at in zip(works, placed.begins, strict=True) if at is not None]
    assert sum(w.bytes_ for w in inside) <= sum(BUDGET_BYTES)
    assert len(inside) + len(placed.refused) == len(works)


@given(WORKS)
def test_what_is_refused_would_overdraw_the_frame(works: list[Work]) -> None:
    """So few pieces never meet the limit of 16 starts in every microframe: only bytes can be short."""
    placed = budgeted(works)
    if placed.refused:
        assert sum(w.bytes_ for w in works) > sum(BUDGET_BYTES)


@given(WORKS)
def test_ehci_never_places_more_than_it_fills(works: list[Work]) -> None:
    placed = by_ehci(works)
    assert sum(w.us for w, at in zip(works, placed.begins, strict=True) if at is not None) <= sum(EHCI_US)


def test_four_long_streams_that_fit_780_us_together_are_three_on_ehci() -> None:
    """Each of 190 us fills one microframe and must find it empty; three take six microframes (tt_available)."""
    works = [Work(f"1-{i}", 250, 190, isochronous=True) for i in range(4)]
    assert sum(w.us for w in works) <= sum(EHCI_US)
    assert by_ehci(works).begins == (0, 2, 4, None)
    assert budgeted(works).refused == ()


def test_a_refused_stream_is_named_with_the_reason_and_the_state_stays_the_standards() -> None:
    """4 × 235 bytes are 4 × 194 us of bus time: 775 of 900 us."""
    streams = [device(f"1-1.{i}", "full", 100, iso(235)) for i in range(1, 5)]
    found = translator(*streams, kind="ehci", os="linux")
    assert found.state == "tight"
    assert found.finding is not None
    assert found.finding.startswith("The sum fits, and yet 1-1.4 finds no place beside the others: Linux's EHCI driver")
    assert translator(*streams, kind="xhci").finding is None
    assert translator(*streams, kind="ehci", os="windows").finding is None


def test_one_stream_that_linux_refuses_on_an_idle_translator() -> None:
    """Row tt-usecs-iso1023: 807 us fit 900 and not the 780 of Linux's EHCI driver."""
    found = translator(device("1-1.1", "full", 100, iso(1023)), kind="ehci")
    assert found.finding is not None
    assert "1-1.1 finds no place" in found.finding


def test_a_think_time_that_can_not_be_read_is_told_with_both_ends_and_is_a_finding_only_where_it_decides() -> None:
    """14 pieces of 64 bytes take 842 us; each needs 0.67 to 2.66 us more, and one piece more decides."""
    few = [device(f"1-1.{i}", "full", 100, *(interrupt(64, 1000, 0x81 + n) for n in range(2))) for i in range(1, 8)]
    found = translator(*few, think_ns=None)
    assert found.note is not None
    assert found.finding is None
    used = found.used or 0
    assert f"with it {used + 14 * 0.666:g} to {used + 14 * 2.664:g} us" in found.note
    more = translator(*few, device("1-1.1.1", "full", 10, interrupt(20, 1000)), think_ns=None)
    assert more.used is not None
    assert more.used <= 900 < more.used + 15 * 2.664
    assert more.finding is not None
    assert "hangs on the think time" in more.finding
    assert translator(*few, think_ns=666).note is None
