"""One numbered list: the arrangement that costs nothing among the steps, what must be bought below all that is free."""

from builders import controller, device, hub, iso, root, snapshot

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Hub, Snapshot, Socket
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.options import arrange
from wizard.plan.steps import Caution, Plan, Step
from wizard.report.sequence import FREE, sequence
from wizard.store import resources

TEXTS = Texts("en", resources.texts("en"))


def step(name: str, spend: str = "none", cautions: tuple[str, ...] = (), why: str = "Because.") -> Step:
    return Step.model_validate(
        {"id": name, "do": f"Do {name}.", "why": why, "cures": ("hub_fault",), "effort_min": 2, "spend": spend,
         "opens_case": False, "touches": ("cable",), "risk": "low", "undo": "Undo.", "check": "Check.",
         "cautions": tuple(Caution(id=c, text=f"Warning {c}") for c in cautions)}
    )  # fmt: skip


def seen(ports: int | None, more: int = 0) -> Snapshot:
    """Two streams that overdraw the translator of a hub; `ports` None: the look lists only taken sockets."""
    top = root(ports=ports or 1)
    top = top if ports is not None else top.model_copy(update={"hub": Hub(translator="none")})
    streams = [device(f"1-1.{i}", "full", 100, iso(1023)) for i in (1, 2)]
    others = [device(f"1-{i + 2}", "full", 100, iso(1023)) for i in range(more)]
    sockets = [Socket(id=f"1-{i}", hub="usb1") for i in range(1, (ports or 0) + 1)]
    return snapshot(controller(), top, hub("1-1", ports=2 if ports else None), *sockets, *streams, *others)


def listed(bus: Snapshot, *steps: Step, marks: dict[str, str] | None = None) -> tuple[Step, ...]:
    found = arrange(bus, Setup(), Clock(lambda: 60.0))
    plan = Plan(steps=steps, options=found.options, clash=found.clash, unlisted=found.unlisted)
    return sequence(plan, plan, Look(snapshot=bus, ledger=build_ledger(bus, Setup())), TEXTS, marks or {})


def test_a_free_arrangement_is_one_step_and_what_it_contains_is_left_out() -> None:
    steps = listed(seen(3), step("straight_in", cautions=("copy_first",)), step("other_cable"))
    assert [s.id for s in steps] == [FREE, "other_cable"]


def test_it_carries_the_warnings_and_reasons_of_what_it_stands_for() -> None:
    first = listed(seen(3), step("straight_in", cautions=("copy_first",), why="Seen to help."))[0]
    assert "copy_first" in [c.id for c in first.cautions]
    assert {"save_work", "eject_drive", "motor_safe"} <= {c.id for c in first.cautions}
    assert "Seen to help." in first.why


def test_what_must_be_bought_stands_below_every_free_step() -> None:
    steps = listed(seen(2, more=1), step("other_cable"), step("reseat_plug"), step("buy_cable", spend="low"))
    ids = [s.id for s in steps]
    assert ids.index("reseat_plug") < ids.index("arrangement_purchase")


def test_where_free_sockets_are_not_known_a_free_try_comes_before_the_purchase() -> None:
    steps = listed(seen(None), step("straight_in"), step("other_cable"))
    ids = [s.id for s in steps]
    assert ids[0] == FREE
    assert "not known in this look" in steps[0].do
    assert all(ids.index(name) > ids.index("other_cable") for name in ids if name.startswith("arrangement_"))


def test_a_step_that_was_noted_stays_in_the_list() -> None:
    steps = listed(seen(3), step("straight_in"), marks={"straight_in": "did_not_help"})
    assert "straight_in" in [s.id for s in steps]
