"""The planner's options in words: cautions first, the order, what the system forgets, what to ask for in a shop."""

from builders import controller, device, hub, iso, root, snapshot

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Hub, Snapshot, Socket
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.options import arrange
from wizard.plan.steps import Plan
from wizard.report.arrange_part import options_section
from wizard.report.blocks import Material
from wizard.report.html import render_html
from wizard.report.text import render_text
from wizard.store import resources

TEXTS = Texts("en", resources.texts("en"))


def desk(ports: int, name: str = "Recorder") -> Snapshot:
    strip = (hub("1-1"), *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)))
    sockets = [Socket(id=f"1-{i}", hub="usb1", place="rear") for i in range(1, ports + 1)]
    streams = [device(f"1-1.{i}", "full", 100, iso(1023), name=name) for i in (1, 2)]
    third = [device("1-2", "full", 100, iso(1023), name=name)] if ports == 2 else []
    return snapshot(controller(), root(ports=ports), *sockets, *strip, *streams, *third)


def said(seen: Snapshot) -> str:
    result = arrange(seen, Setup(), Clock(lambda: 60.0))
    plan = Plan(options=result.options, clash=result.clash, unlisted=result.unlisted)
    section = options_section(plan, Look(snapshot=seen, ledger=build_ledger(seen, Setup())), TEXTS)
    assert section is not None
    return " ".join(render_text(Material("Report", "", (section,))).split())


def test_cautions_come_before_the_first_move() -> None:
    text = said(desk(3))
    assert text.index("Save your work") < text.index("eject it in the system") < text.index("1. Recorder")


def test_a_move_names_both_sockets_and_what_the_system_may_forget() -> None:
    text = said(desk(3))
    assert "to socket 1-2 of the PC, rear" in text
    assert text.index("as a new device on the other socket") < text.index("to socket 1-2 of the PC")


def test_what_to_buy_is_a_specification_and_what_clashes_is_said() -> None:
    text = said(desk(2))
    assert "A USB 2 hub with a supply of its own" in text
    assert "a translator of its own for each socket" in text
    assert "Without buying anything, no arrangement holds all of these together" in text


def test_a_hostile_name_stays_plain_text() -> None:
    seen = desk(3, name="<b>Recorder</b>")
    result = arrange(seen, Setup(), Clock(lambda: 60.0))
    section = options_section(Plan(options=result.options), Look(snapshot=seen), TEXTS)
    assert section is not None
    assert "<b>Recorder" not in render_html(Material("Report", "", (section,)))


def test_nothing_found_says_nothing() -> None:
    assert options_section(Plan(), Look(), TEXTS) is None


def test_where_the_free_sockets_are_not_known_that_is_said_and_a_free_try_comes_before_a_purchase() -> None:
    bare = root().model_copy(update={"hub": Hub(translator="none")})
    streams = [device(f"1-1.{i}", "full", 100, iso(1023), name=f"Recorder {i}") for i in (1, 2)]
    text = said(snapshot(controller(), bare, hub("1-1", ports=None), *streams))
    assert "Which sockets are free is not known in this look" in text
    assert text.index("plug Recorder 2 (1-1.2) straight into it") < text.index("With something small to buy")
    assert text.index("Save your work") < text.index("If one at the computer is free")
    for claim in ("no arrangement holds", "ruled out", "Free sockets"):
        assert claim not in text


def test_the_tightest_budget_afterwards_is_called_by_what_is_there_then() -> None:
    """A stream of 1023 bytes takes 806 of 900 us of a translator (row bt-lx-fs-in-iso-1023): tight, and it is told."""
    bus = desk(3)
    drive = device("1-1.2", "full", 500, iso(1023), name="Hungry recorder")
    text = said(bus.model_copy(update={"devices": tuple(drive if d.id == drive.id else d for d in bus.devices)}))
    line = text[text.index("The tightest budget afterwards") :]
    assert "(empty)" not in line
    assert "Hungry recorder): 500 mA of 500 mA (tight: nothing is left)" in line
