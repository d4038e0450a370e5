"""Before and after in words: what got short or got relieved first, the rest counted."""

from builders import controller, device, root, snapshot

from wizard.bus.model import Socket
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison
from wizard.report.case_part import comparison_items
from wizard.store import resources

TEXTS = Texts("en", resources.texts("en"))
SOCKETS = tuple(Socket(id=f"1-{i}", hub="usb1") for i in (1, 2))
BEFORE = Look(snapshot=snapshot(controller(), root(), *SOCKETS, device("1-1", "high", 500, name="Camera")))
AFTER = Look(snapshot=snapshot(controller(), root(), *SOCKETS))


def change(where: str, was: str | None, now: str | None, used: float = 100) -> BudgetChange:
    return BudgetChange.model_validate(
        {"budget": "port_current", "where": where, "unit": "mA", "used_was": used if was else None, "limit_was": 500,
         "used_now": used + 1 if now else None, "limit_now": 500, "state_was": was, "state_now": now}
    )  # fmt: skip


def lines(*changes: BudgetChange, everything: bool = False) -> list[str]:
    return [i.text for i in comparison_items(Comparison(budgets=changes), BEFORE, AFTER, TEXTS, everything)]


def test_what_only_has_room_is_counted_and_named_on_request() -> None:
    many = [change(f"1-{i}", "room", "room") for i in range(3, 8)]
    told = lines(*many, change("1-2", "room", "tight"))
    assert len(told) == 2
    assert "tight" in told[0]
    assert told[1] == "other budgets changed: 5 with room"
    assert len(lines(*many, everything=True)) == 5


def test_a_budget_without_a_known_limit_is_never_counted_among_those_with_room() -> None:
    told = lines(change("1-3", "room", "room"), change("1-4", "unknown", "unknown"), change("1-5", None, "unknown"))
    assert told == ["other budgets changed: 1 with room and 2 without a known limit"]


def test_a_socket_that_was_left_is_empty_now() -> None:
    assert lines(change("1-1", "tight", None)) == [
        "Current of a socket, socket 1-1 (Camera): was 100 of 500 mA (tight), empty now"
    ]
