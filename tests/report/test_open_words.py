"""What stands beside a ledger entry, and in `look` and the report: findings, brackets with both verdicts, peaks."""

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard import wiring
from wizard.budget.entry import Entry, State
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.report.ledger_part import ledger_section
from wizard.report.open_words import beside_words, bracket_words
from wizard.report.text import render_section


@pytest.fixture(scope="module")
def texts() -> Texts:
    return wiring.load_services().texts


def crowd(number: int) -> Snapshot:
    """So many devices of 16 endpoints each on one controller of unknown limit."""
    many = tuple(interrupt(8, 8000, 0x81 + i) for i in range(15))
    return snapshot(controller(), root(ports=15), *(device(f"1-{i}", "full", 10, *many) for i in range(1, number + 1)))


def found(seen: Snapshot, budget: str, setup: Setup | None = None) -> Entry:
    return next(e for e in build_ledger(seen, setup) if e.budget == budget)


def shown(seen: Snapshot, texts: Texts, setup: Setup | None = None) -> str:
    section = ledger_section(Look(snapshot=seen, ledger=build_ledger(seen, setup)), texts)
    return " ".join(render_section(section, 400).split())


def test_a_verdict_that_hangs_on_the_controller_says_both_and_what_settles_it(texts: Texts) -> None:
    """96 endpoints: over 64 (row older-ppt-64), all of 96 (row older-96), room under 254 (row v254)."""
    words = bracket_words(found(crowd(6), "endpoints"), texts)
    assert words == (
        "Overdrawn if this is an older controller (64 endpoints), tight if it is one of the many in between "
        "(96 endpoints), room if it is a later one (254 endpoints). "
        "What would settle it: USB controller"
    )
    assert words in shown(crowd(6), texts)


@pytest.mark.parametrize("number", [1, 16])
def test_a_verdict_both_ends_agree_on_hangs_on_nothing(texts: Texts, number: int) -> None:
    """17 devices would be 272 endpoints, over either; 16 of them and one more endpoint each are over, too."""
    one = found(crowd(min(number, 15)), "endpoints")
    assert (bracket_words(one, texts) is None) == (one.state != "unknown")


@pytest.mark.parametrize(("used", "state"), [(50.0, "room"), (300.0, "over")])
def test_the_state_is_told_without_a_condition_where_it_has_none(texts: Texts, used: float, state: State) -> None:
    entry = Entry(
        budget="endpoints", where="c", used=used, limit=None, bracket=(64.0, 254.0), unit="endpoints", state=state,
        basis="declared", limit_basis="unknown", source="s", settles="controller_kind",
    )  # fmt: skip
    assert bracket_words(entry, texts) is None


def test_a_device_behind_a_hub_of_unknown_feed_hangs_on_the_hubs_supply(texts: Texts) -> None:
    seen = snapshot(controller(), root(), hub("1-1", self_powered=None), device("1-1.1", "high", 300))
    entry = next(e for e in build_ledger(seen) if (e.budget, e.where) == ("port_current", "1-1.1"))
    assert bracket_words(entry, texts) == (
        "Overdrawn if the hub above lives from the PC (100 mA), room if it has a supply of its own (500 mA). "
        "What would settle it: How the hub is fed"
    )


def test_a_hub_with_more_sockets_than_its_supply_can_feed_is_told_while_it_is_empty(texts: Texts) -> None:
    """Seven sockets on 2 A: 4 at 500 mA, or 285 mA each (arithmetic)."""
    seen, told = snapshot(controller(), root(), hub("1-1", ports=7)), Setup(supplies_ma={"1-1": 2000})
    words = shown(seen, texts, told)
    assert "enough for 4 of them at 500 mA, or 285 mA each." in words
    assert "room, see below" in words


def test_a_peak_is_told_as_typical(texts: Texts) -> None:
    seen = snapshot(controller(), root(), hub("1-1"), device("1-1.1", "high", 300))
    told = Setup(supplies_ma={"1-1": 3000}, peak_ma={"1-1.1": 900})
    assert "For a moment at start-up it may be about 900 mA (typical)." in beside_words(
        found(seen, "hub_supply", told), texts
    )


def test_what_is_reserved_of_a_fast_link_is_told_with_the_share_that_sources_disagree_on(texts: Texts) -> None:
    """Bursts of 4 packets of 1024 bytes every 125 us are 32.8 MB/s; 80 or 90 % of 484.8 may be reserved."""
    camera = device("2-1", "super", 500, iso(1024, 125, burst=4))
    entry = found(snapshot(controller(), root(2, "super"), camera), "link_rate")
    assert (
        "Reserved of it for sound, picture and input: 32.8 of 387.9 to 436.4 MB/s (sources disagree)."
        in beside_words(entry, texts)
    )
