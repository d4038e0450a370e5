"""A report answers a support desk's first questions from what was really seen, told and done."""

from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Endpoint, Snapshot, Socket, System, Unreadable
from wizard.bus.sign import Sign
from wizard.bus.tree import BusTree
from wizard.case.documents import Advice, Look
from wizard.case.model import Case, Recheck
from wizard.diagnosis.advice import Evidence, Finding, Question
from wizard.diagnosis.texts import Texts
from wizard.plan.steps import Caution, Plan, Step
from wizard.report.advice_part import percent
from wizard.report.blocks import Listing, Material, Para, Part, Table
from wizard.report.ledger_part import ledger_section, ledger_summary, overdrawn_words
from wizard.report.material import material_of
from wizard.report.text import render_section, render_text

TEXTS = Texts(
    "en",
    {
        "symptom.lag.title": "Input is late",
        "cause.hub_supply.title": "The hub cannot feed it",
        "cause.cable_fault.title": "A bad cable",
        "budget.hub_supply.title": "Supply of a hub",
        "budget.port_current.title": "Current of a socket",
        "observation.onset.name": "When it began",
        "observation.onset.value.new_device": "A new device came",
        "observation.light.name": "Its light",
        "observation.hub_supply_ma.name": "Rating of the hub's supply",
        "sign.reset.words": "The device was reset",
    },
)

STEP = Step(
    id="unplug",
    do="Unplug the camera.",
    why="It draws most.",
    cures=("hub_supply",),
    effort_min=2,
    spend="none",
    opens_case=False,
    touches=("drive",),
    risk="data",
    cautions=(Caution(id="eject_drive", text="Eject drives first."),),
    undo="Plug it back.",
    check="The lag is gone.",
)

ADVICE = Advice(
    causes=(
        Finding(
            id="hub_supply",
            share=0.999,
            for_=(Evidence(on="hub_supply@1-3", weight=10, why="The hub is overdrawn.", source="USB 2.0 §7.2.1"),),
        ),
        Finding(
            id="cable_fault",
            share=0.001,
            against=(Evidence(on="other_cable", weight=5, why="Another cable: no change.", source="common practice"),),
        ),
    ),
    next_question=Question(
        id="ask_light", observation="light", text="Is the light on?", why="It tells of power.", kind="ask",
        values=("on", "off", "unknown"), effort_min=1,
    ),
    plan=Plan(steps=(STEP,)),
)  # fmt: skip


def bus(**more: Any) -> Snapshot:
    # 500 mA limit of a high-speed socket: USB 2.0 §7.2.1; the camera's 600 mA are invented to overdraw it.
    return snapshot(
        controller(driver="xhci_hcd"),
        root(),
        hub("1-3", self_powered=True, name="Desk hub"),
        device("1-3.1", "high", 600, iso(100, address=0x81), name="Camera"),
        device("1-3.2", "low", 90, interrupt(), name="Foot switch"),
        Socket(id="1-1", hub="usb1"),
        Socket(id="1-2", hub="usb1", usable=False),
        Socket(id="1-3", hub="usb1", place="rear"),
        system=System(os="linux", kernel="6.1.0"),
        **more,
    )


def report(case: Case, seen: Snapshot | None = None, advice: Advice = ADVICE, signs: tuple[Sign, ...] = ()) -> Material:
    seen = seen or case.snapshot or Snapshot()
    look = Look(snapshot=seen, ledger=build_ledger(seen, case.setup), signs=signs, notes=("A note of the look.",))
    return material_of(case, look, advice, TEXTS)


def chapter(material: Material, wanted: str) -> str:
    section = material.section(wanted)
    assert section is not None
    return render_section(section, 200)


CASE = Case(
    symptom="lag",
    also=("something_new",),
    subject=("1-3.1", "9-9"),
    observations={"onset": "new_device", "light": "unknown", "moon": "full_moon"},
    snapshot=bus(),
    source="captured",
    marks={"unplug": "did_not_help"},
    rechecks=(
        Recheck(snapshot=snapshot(controller(), root(), hub("1-3", name="Desk hub")), outcome="gone", at="today"),
    ),
)


def test_the_chapters_come_in_the_order_support_asks() -> None:
    assert [s.id for s in report(CASE).sections] == [
        "summary", "trouble", "bus", "ledger", "signs", "findings", "unknown", "plan", "done", "versions",
    ]  # fmt: skip


def test_the_trouble_tells_what_since_when_and_every_answer() -> None:
    text = chapter(report(CASE), "trouble")
    assert "What misbehaves: Input is late" in text
    assert "Also: something new" in text
    assert "Which device: Camera (1-3.1); 9-9" in text
    assert "When it began: A new device came" in text
    assert "Its light: unknown" in text
    assert "moon: full moon" in text


def test_since_when_is_called_unknown_where_nobody_said() -> None:
    text = chapter(report(Case(symptom="lag")), "trouble")
    assert "When it began: unknown" in text
    assert "Which device: unknown" in text
    assert "Looked at: unknown" in text


def test_the_tree_shows_what_hangs_where_and_what_it_draws_and_reserves() -> None:
    lines = chapter(report(CASE), "bus").splitlines()
    assert "- Controller 0000:00:14.0 (xHCI), driver xhci_hcd" in lines
    assert "    - Nothing seen in 1-1" in lines
    hub_line = next(line for line in lines if "Desk hub" in line)
    assert hub_line.startswith(
        "    - Socket 1-3 (rear): Desk hub. 480 Mbit/s (high speed); a hub with 4 sockets; one tr"
    )
    camera = next(line for line in lines if "Camera" in line)
    assert camera.startswith("      - Socket 1-3.1: Camera.")
    assert "says it draws up to 600 mA; reserves " in camera


def test_what_could_not_be_read_is_said_once_with_the_reason() -> None:
    gap = Unreadable(where="1-3.1/descriptors", reason="blocked", detail="2 s")
    text = chapter(report(CASE, bus(unreadable=(gap, gap))), "bus")
    assert text.count("1-3.1/descriptors: it did not answer in time (2 s)") == 1


def test_a_machine_without_a_bus_is_a_normal_case() -> None:
    text = render_text(report(Case(symptom="lag")))
    assert "No USB bus was seen in this look." in text
    assert "No budget could be worked out." in text


def test_overdrawn_places_come_first_and_name_their_users() -> None:
    section = report(CASE).section("ledger")
    assert section is not None
    table = next(b for b in section.blocks if isinstance(b, Table))
    states = [row.cells[0] for row in table.rows]
    assert states[0] == "OVERDRAWN"
    assert states == sorted(states, key=["OVERDRAWN", "tight", "unknown", "room"].index)
    assert table.rows[0].cells[2:6] == ("socket 1-3.1 (Camera)", "600 mA", "500 mA", "100 mA too much")
    text = chapter(report(CASE), "ledger")
    assert "OVERDRAWN: Current of a socket, socket 1-3.1 (Camera)" in text
    assert "- Camera (1-3.1): 600 mA" in text
    assert "USB 2.0 §7.2.1" in text


def test_an_unknown_limit_is_called_unknown_and_says_what_would_settle_it() -> None:
    text = chapter(report(CASE), "unknown")
    assert "Supply of a hub, Desk hub (1-3): limit unknown; would be settled by: Rating of the hub's supply" in text
    assert "Its light: unknown" in text
    assert "The next useful question: Is the light on? It tells of power." in text


def test_findings_give_reasons_in_numbers_with_their_sources() -> None:
    text = chapter(report(CASE), "findings")
    assert "1. The hub cannot feed it: over 99 %" in text
    assert "+10: The hub is overdrawn. [hub_supply@1-3; USB 2.0 §7.2.1]" in text
    assert "Speaks against it: nothing seen or told so far" in text
    assert "Less likely: A bad cable" in text


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "below 1 %"), (0.0099, "below 1 %"), (0.62, "62 %"), (0.991, "over 99 %"), (1.0, "over 99 %")],
)
def test_certainty_is_never_claimed(share: float, words: str) -> None:
    assert percent(share) == words


def test_cautions_stand_in_the_step_before_the_action() -> None:
    section = report(CASE).section("plan")
    assert section is not None
    step = next(b for b in section.blocks if isinstance(b, Part))
    labels = [b.label for b in step.blocks if isinstance(b, Para)]
    assert labels == ["Careful", "Do", "Why", "It worked if", "To undo it", "Takes"]


def test_no_action_stands_anywhere_without_its_cautions() -> None:
    material = report(Case(symptom="lag"))
    for section in material.sections:
        if section.id != "plan":
            assert STEP.do not in render_section(section, 500)


def test_what_was_done_and_whether_it_helped_is_shown_before_and_after() -> None:
    text = chapter(report(CASE), "done")
    assert "- Unplug the camera. (done, and it did not help)" in text
    assert "Check 1, today" in text
    assert "What the user says: the trouble is gone" in text
    assert "Verdict: Still open." in text  # the camera it is about is merely unplugged
    assert "Overdrawn places: 1 before, 0 after" in text
    assert "gone: Camera (was 1-3.1)" in text
    assert "Current of a socket, socket 1-3.1 (Camera): was 600 of 500 mA (overdrawn), no longer there" in text
    assert "At the last check: Still open; the user says: the trouble is gone" in chapter(report(CASE), "summary")


@pytest.mark.parametrize("seen", [None, Snapshot()])
def test_a_check_without_a_look_compares_nothing(seen: Snapshot | None) -> None:
    recheck = Recheck(snapshot=seen, outcome="gone")
    for snapshot_, word in ((bus(), "Still open"), (None, "Solved")):
        case = CASE.model_copy(update={"snapshot": snapshot_, "rechecks": (recheck,)})
        text = chapter(report(case), "done")
        assert "no look was taken" in text
        assert f"Verdict: {word}." in text
        assert "No difference" not in text
        assert "0 after" not in text


def test_only_budgets_of_the_subject_count_as_the_trouble() -> None:
    """As in the window: what else is over is not what the user came with."""
    case = CASE.model_copy(update={"subject": ("1-3.2",), "rechecks": (Recheck(snapshot=bus(), outcome="gone"),)})
    look = Look(snapshot=bus(), ledger=build_ledger(bus(), case.setup))
    for trouble, word in (((), "Solved"), ((("port_current", "1-3.1"),), "Better, but not solved"), (None, "Better")):
        section = material_of(case, look, ADVICE, TEXTS, trouble=trouble).section("done")
        assert section is not None
        text = render_section(section, 200)
        assert f"Verdict: {word}" in text
        assert "still overdrawn: Current of a socket, socket 1-3.1 (Camera): 600 of 500 mA" in text


def test_signs_come_most_frequent_first() -> None:
    signs = (Sign(kind="reset", where="1-3.1", count=2), Sign(kind="brand_new_kind", count=9, text="line\x07"))
    lines = chapter(report(CASE, signs=signs), "signs").splitlines()
    assert lines[4].startswith("brand new kind")
    assert "unknown" in lines[4]
    assert "line\\x07" in lines[4]
    assert lines[5].startswith("The device was reset  Camera (1-3.1)")


def test_a_demo_is_marked_as_invented() -> None:
    assert "invented demo" in chapter(report(CASE.model_copy(update={"source": "demo"})), "summary")
    assert "invented" not in chapter(report(CASE), "summary")


def test_versions_and_what_was_left_out_are_told() -> None:
    material = report(CASE)
    assert material.subtitle == "Left out: serial numbers and user and host names."
    text = chapter(material, "versions")
    assert "Portmend: " in text
    assert "Kernel: 6.1.0" in text
    assert "Board: unknown" in text


def test_a_snapshot_that_contradicts_itself_is_still_shown_whole() -> None:
    ring = snapshot(
        controller(),
        root(),
        hub("1-1").model_copy(update={"parent": "1-2"}),
        hub("1-2").model_copy(update={"parent": "1-1"}),
        device("1-9").model_copy(update={"parent": None, "speed": None, "mbps": None, "max_power_ma": None}),
    )
    text = chapter(report(Case(symptom="lag"), ring), "bus")
    assert "Seen, but it is unknown where they hang" in text
    assert all(f"Socket {name}:" in text for name in ("1-1", "1-2", "1-9"))
    assert "speed unknown; fed by the socket, current unknown" in text


def test_a_thousand_hubs_in_a_row_overflow_nothing() -> None:
    names = [f"1-{'.'.join(['1'] * n)}" for n in range(1, 1001)]
    chain = snapshot(controller(), root(), *(hub(name) for name in names))
    look = Look(snapshot=chain)
    text = render_text(material_of(Case(symptom="lag"), look, ADVICE, TEXTS), width=5000)
    assert text.count("a hub with 4 sockets") == 1000


def test_bracketed_limits_are_shown_as_brackets() -> None:
    entry = Entry(
        budget="endpoints", where="0000:00:14.0", used=29, limit=None, bracket=(64, 254), unit="endpoints",
        state="room", basis="declared", limit_basis="unknown", source="field values",
    )  # fmt: skip
    look = Look(snapshot=bus(), ledger=(entry,))
    section = material_of(Case(symptom="lag", setup=Setup()), look, ADVICE, TEXTS).section("ledger")
    assert section is not None
    table = next(b for b in section.blocks if isinstance(b, Table))
    assert table.rows[0].cells[3:6] == ("29 endpoints", "between 64 and 254 endpoints", "unknown")


def test_every_list_in_a_report_has_something_in_it() -> None:
    for section in (*report(CASE).sections, *report(Case(symptom="lag")).sections):
        for block in section.blocks:
            if isinstance(block, Listing):
                assert block.items


def line_of(**more: Any) -> str:
    plain = {
        "budget": "hub_supply", "where": "1-3", "used": 480, "limit": 500, "unit": "mA", "state": "tight",
        "basis": "declared", "limit_basis": "declared", "source": "made up for this test",
    }  # fmt: skip
    look = Look(snapshot=bus(), ledger=(Entry.model_validate({**plain, **more}),))
    return " ".join(render_section(ledger_section(look, TEXTS), 60).split())


def test_a_narrow_ledger_line_is_one_phrase() -> None:
    assert "480 of 500 mA, 20 mA left (both as declared)" in line_of()
    assert "480 of 500 mA, 20 mA left (use measured, limit assumed)" in line_of(basis="measured", limit_basis="assumed")
    assert "480 mA, limit unknown (use as declared, limit unknown)" in line_of(limit=None, limit_basis="unknown")
    words = "3 endpoints, limit between 64 and 254 (use as declared, limit known as a range)"
    assert words in line_of(
        budget="endpoints", used=3, limit=None, bracket=(64, 254), unit="endpoints", limit_basis="unknown"
    )


def test_who_has_no_turn_in_the_worst_frame_is_told_so() -> None:
    parts = [{"who": "1-3.1", "used": 480}, {"who": "1-3.2", "used": 0}]
    text = line_of(budget="periodic_time_active", where="1-3/tt", unit="us/frame", parts=parts)
    assert "Foot switch (1-3.2): not in the worst frame" in text
    assert "Camera (1-3.1): 480 µs a frame" in text


def test_a_link_that_a_drive_will_fill_does_not_promise_its_room() -> None:
    """SuperSpeed bulk transfers reserve nothing and take what is left: USB 3.2 §8.12.1 (from memory)."""
    drive = device("2-1", "super", 100, Endpoint(address=0x81, type="bulk", max_packet=1024), name="Drive")
    seen = snapshot(controller(), root(2, "super"), drive)
    look = Look(snapshot=seen, ledger=build_ledger(seen))
    assert any(e.budget == "link_rate" for e in look.ledger)
    text = " ".join(render_section(ledger_section(look, TEXTS), 60).split())
    assert "what is free goes to drives" in text
    assert "MB/s left" not in text


def test_a_reason_calls_its_place_by_name() -> None:
    reason = Evidence(
        on="periodic_time_active@1-3/tt", weight=9, why="Too much. (1319.44 of 900 us/frame at 1-3/tt)", source="s"
    )
    advice = ADVICE.model_copy(update={"causes": (Finding(id="hub_supply", share=0.9, for_=(reason,)),)})
    text = chapter(report(CASE, advice=advice), "findings")
    assert "(1319.44 of 900 µs a frame at the translator of Desk hub (1-3))" in text


def _bus_time(budget: str, used: float) -> Entry:
    return Entry(budget=budget, where="1-4/tt", used=used, limit=900, unit="us/frame", state="over", basis="declared",
                 limit_basis="assumed", source="USB 2.0 §5.7.4")  # fmt: skip


def test_what_is_overdrawn_now_and_at_most_by_the_same_figure_counts_once() -> None:
    same = (_bus_time("periodic_time", 949.0), _bus_time("periodic_time_active", 949.0))
    assert "1 budget in all: 1 overdrawn" in ledger_summary(same)
    assert len(overdrawn_words(same, BusTree(Snapshot()), {})) == 1
    worse = (_bus_time("periodic_time", 1319.0), _bus_time("periodic_time_active", 949.0))
    assert len(overdrawn_words(worse, BusTree(Snapshot()), {})) == 2
