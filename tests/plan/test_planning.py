"""The plan in prose: figures from the ledger, cautions by what is touched, places by system."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.entry import Entry, Part
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.diagnosis.advice import Finding
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.texts import Texts
from wizard.plan.numbers import CAUSES_OF, reason_sentence, shown, specification
from wizard.plan.planning import first_step, make_plan
from wizard.plan.steps import Remedy, Step

Findings = Callable[..., tuple[Finding, ...]]


def entry(budget: str, where: str, used: float, limit: float | None, unit: str, **more: object) -> Entry:
    plain = {"state": "over", "basis": "declared", "limit_basis": "declared", "source": "made up"}
    return Entry.model_validate(
        {**plain, "budget": budget, "where": where, "used": used, "limit": limit, "unit": unit, **more}
    )


GAP = re.compile(r"(?<!ATTR)\{")
"""A gap left open; `ATTR{...}` is the notation of udev (its manual page)."""

TRANSLATOR = entry("periodic_time", "1-4/tt", 1043.2, 900, "us/frame")


def steps(
    remedies: tuple[Remedy, ...], prose: Texts, facts: Facts, findings: tuple[Finding, ...], platform: str | None = None
) -> dict[str, Step]:
    return {s.id: s for s in make_plan(remedies, prose, facts, findings, platform).steps}


def test_a_step_names_the_number_that_makes_it_necessary(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = Facts(symptoms=("lag",), ledger=(TRANSLATOR,))
    plan = make_plan(remedies, prose, facts, found(translator_bandwidth=0.8))
    assert plan.steps[0].id == "own_translator"
    assert "needs 1,043 µs of the 900 µs it may use in each thousandth of a second (a frame)" in plan.steps[0].why


def test_a_number_is_quoted_only_where_it_is_the_reason(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = Facts(symptoms=("lag",), ledger=(TRANSLATOR,))
    made = steps(remedies, prose, facts, found(cable_fault=0.5, translator_bandwidth=0.4))
    assert "1,043" in made["own_translator"].why
    assert "1,043" not in made["other_cable"].why


def test_the_number_is_the_one_of_the_real_ledger(remedies: tuple[Remedy, ...], prose: Texts, found: Findings) -> None:
    """Two sound devices of 576 and 192 bytes a frame on one translator; the figure must be the ledger's own."""
    seen = snapshot(
        controller(),
        root(),
        hub("1-4"),
        device("1-4.1", "full", 100, iso(576)),
        device("1-4.2", "full", 100, iso(576, address=0x83)),
        device("1-4.3", "full", 50, interrupt(64, 1000)),
    )
    ledger = build_ledger(seen)
    facts = gather_facts(("stream_glitch",), {}, ("1-4.1",), seen, ledger)
    over = [e for e in ledger if e.where == "1-4/tt" and e.state == "over"]
    assert over
    assert over[0].used is not None
    made = steps(remedies, prose, facts, found(translator_bandwidth=0.8))
    assert shown(over[0].used) in made["own_translator"].why


@pytest.mark.parametrize(
    ("where", "shown_as"), [("1-4/tt", "1-4"), ("1-4/tt2", "1-4.2"), ("usb1/tt3", "1-3"), ("usb1", "usb1")]
)
def test_a_translator_of_one_socket_goes_by_its_socket(where: str, shown_as: str, prose: Texts) -> None:
    assert f" {shown_as} " in reason_sentence(entry("periodic_time", where, 1043.2, 900, "us/frame"), prose, {})


def test_the_step_points_at_the_greatest_user(remedies: tuple[Remedy, ...], prose: Texts, found: Findings) -> None:
    """Two endpoints of 1-4.2 together use more than the single one of 1-4.1."""
    shares = [{"who": "1-4.1", "used": 500}, {"who": "1-4.2", "used": 300}, {"who": "1-4.2", "used": 243.2}]
    facts = Facts(symptoms=("lag",), ledger=(TRANSLATOR.model_validate({**TRANSLATOR.model_dump(), "parts": shares}),))
    made = steps(remedies, prose, facts, found(translator_bandwidth=0.8))
    assert "Most is used by 1-4.2." in made["own_translator"].do
    unknown = steps(remedies, prose, Facts(symptoms=("lag",)), found(translator_bandwidth=0.8))
    assert "Most is used by" not in unknown["own_translator"].do


def test_steps_call_places_by_name_and_id(remedies: tuple[Remedy, ...], prose: Texts, found: Findings) -> None:
    ledger = (TRANSLATOR.model_copy(update={"parts": (Part(who="1-4.2", used=1043.2),)}),)
    facts = Facts(symptoms=("lag",), ledger=ledger)
    names = {"1-4": "Desk {hub}", "1-4.2": "Cue sound interface"}
    plan = make_plan(remedies, prose, facts, found(translator_bandwidth=0.8), names=names)
    step = next(s for s in plan.steps if s.id == "own_translator")
    assert "the translator of Desk {hub} (1-4)" in step.why
    assert "Most is used by Cue sound interface (1-4.2)." in step.do


@pytest.mark.parametrize("key", sorted(CAUSES_OF))
@pytest.mark.parametrize("state", ["over", "tight"])
def test_every_budget_can_be_quoted(key: str, state: str, prose: Texts) -> None:
    budget, _, place = key.partition(".")
    where = {"translator": "1-4/tt", "bus": "usb1", "": "1-4"}[place]
    sentence = reason_sentence(entry(budget, where, 1234.0, 1200.0, "us/frame", state=state), prose, {})
    assert "1,234" in sentence
    assert "1,200" in sentence
    assert "{" not in sentence


def test_a_limit_known_only_as_a_range_is_quoted_at_its_upper_end(prose: Texts) -> None:
    sentence = reason_sentence(entry("endpoints", "0000:00:14.0", 120, None, "endpoints", bracket=(64, 96)), prose, {})
    assert "120" in sentence
    assert "96" in sentence


@pytest.mark.parametrize(
    ("value", "text"), [(1043.2, "1,043"), (900, "900"), (5, "5"), (0.125, "0.12"), (4.5, "4.5"), (2.0, "2")]
)
def test_figures_are_shown_as_people_read_them(value: float, text: str) -> None:
    assert shown(value) == text


def test_a_purchase_is_a_specification_reckoned_from_need(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    """Four devices ask for 500 mA each: 2.0 A; with a quarter to spare 2.5 A; five sockets leave one free."""
    seen = snapshot(controller(), root(), hub("1-4"), *(device(f"1-4.{i}", "high", 500) for i in (1, 2, 3, 4)))
    ledger = build_ledger(seen, Setup(supplies_ma={"1-4": 1000}))
    facts = gather_facts(("dropout",), {}, ("1-4.1",), seen, ledger)
    step = steps(remedies, prose, facts, found(hub_supply=0.8))["buy_powered_hub"]
    assert "at least 2.5 A" in step.do
    assert "at least 5 sockets" in step.do
    assert "2,000 mA; the hub has 1,000 mA" in step.why


def test_without_figures_a_purchase_gives_the_rule_of_thumb(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    step = steps(remedies, prose, Facts(symptoms=("dropout",)), found(hub_supply=0.8))["buy_powered_hub"]
    assert "0.5 A for each USB 2 device" in step.do
    assert "{" not in step.do


@pytest.mark.parametrize(
    ("speed", "metres"), [("low", "3"), ("full", "5"), ("high", "5"), ("super", "3"), ("unknown", None)]
)
def test_cable_length_follows_the_speed(speed: str, metres: str | None) -> None:
    """5 m: 26 ns at 5.2 ns/m (USB-IF white paper 2015, citing USB 2.0 §7.1.19). Others second-hand."""
    assert specification(gather_facts(("dropout",), {"device_speed": speed})).get("metres") == metres


@pytest.mark.parametrize(("metres", "gauge"), [(0.8, "28"), (1, "26"), (2, "24"), (3, "22"), (5, "20"), (9, None)])
def test_a_longer_cable_needs_thicker_wire(metres: float, gauge: str | None) -> None:
    """USB 2.0 Table 6-6 as quoted in public copies (second-hand), the shorter length where copies differ."""
    assert specification(gather_facts(("dropout",), {"cable_m": metres})).get("gauge") == gauge


@pytest.mark.parametrize("platform", ["windows", "linux", "macos"])
def test_places_are_those_of_the_system(
    platform: str, remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    word = {"windows": "Device Manager", "linux": "power/control", "macos": "System Settings"}[platform]
    step = steps(remedies, prose, Facts(symptoms=("dropout",)), found(power_saving=0.8), platform)["power_saving_off"]
    assert word in step.do


@pytest.mark.parametrize("platform", [None, "other", "plan9"])
def test_an_unknown_system_gets_words_that_fit_any(
    platform: str | None, remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    step = steps(remedies, prose, Facts(symptoms=("dropout",)), found(power_saving=0.8), platform)["power_saving_off"]
    assert step.do == prose["step.power_saving_off.do"].format(subject=prose["step_name.subject"])


def test_a_command_names_the_device_and_its_hub(remedies: tuple[Remedy, ...], prose: Texts, found: Findings) -> None:
    facts = Facts(symptoms=("dropout",), subject=("1-4.2",))
    step = steps(remedies, prose, facts, found(power_saving=0.8), "linux")["power_saving_off"]
    assert "/sys/bus/usb/devices/1-4.2/power/control" in step.do
    assert "the same with 1-4 and" in step.do


@pytest.mark.parametrize("hostile", ["1-4; rm -rf ~", "$(reboot)", "", "../../etc", "usb1"])
def test_a_strange_id_never_reaches_a_command(
    hostile: str, remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = Facts(symptoms=("dropout",), subject=(hostile,))
    step = steps(remedies, prose, facts, found(power_saving=0.8), "linux")["power_saving_off"]
    assert "/sys/bus/usb/devices/DEVICE/power/control" in step.do


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("storage", {"eject_drive"}),
        ("machine_controller", {"motor_safe"}),
        ("keyboard_mouse", set()),
        ("hub", {"eject_drive", "motor_safe"}),
        ("unknown", {"eject_drive", "motor_safe"}),
    ],
)
def test_unplugging_warns_by_what_is_unplugged_and_when_in_doubt_of_both(
    kind: str, expected: set[str], remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = gather_facts(("dropout",), {"device_kind": kind})
    step = steps(remedies, prose, facts, found(cable_fault=0.8))["other_cable"]
    assert {c.id for c in step.cautions} & {"eject_drive", "motor_safe"} == expected
    assert ("drive" in step.touches, "motor" in step.touches) == ("eject_drive" in expected, "motor_safe" in expected)


@pytest.mark.parametrize(("result", "words"), [("cures", "seen this help"), ("same", "tried this before")])
def test_a_step_remembers_what_was_tried(
    result: str, words: str, remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = gather_facts(("dropout",), {"other_cable": result})
    assert words in steps(remedies, prose, facts, found(cable_fault=0.8))["other_cable"].why


def test_every_step_can_be_read_done_undone_and_checked(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    for platform in ("windows", "linux", "macos", None):
        for cause in {c for r in remedies for c in (*r.cures, *r.may_cure)}:
            plan = make_plan(remedies, prose, Facts(symptoms=("dropout",)), found(**{cause: 0.8}), platform)
            assert len(plan.steps) >= 3
            for step in plan.steps:
                assert all((step.do, step.why, step.undo, step.check))
                assert not GAP.search(step.do + step.why + step.undo + step.check)
                assert all(c.text != c.id for c in step.cautions)


def test_with_no_finding_at_all_there_is_still_a_way_on(remedies: tuple[Remedy, ...], prose: Texts) -> None:
    plan = make_plan(remedies, prose, Facts(symptoms=("other",)), ())
    assert [s.id for s in plan.steps] == ["collect_report"]
    assert plan.steps[0].cures == ()


def test_the_first_step_alone_is_the_first_of_the_plan(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = Facts(symptoms=("dropout",))
    findings = found(hub_supply=0.5, cable_fault=0.3)
    shares = {f.id: f.share for f in findings}
    assert first_step(remedies, facts, shares) == make_plan(remedies, prose, facts, findings).steps[0].id


def test_of_a_drive_that_does_not_show_nobody_is_told_to_copy_first(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    """What can't be seen can't be copied; what works on the volume still asks for a copy."""
    facts = gather_facts(("drive_missing",), {"device_kind": "storage"})
    made = steps(remedies, prose, facts, found(cable_fault=0.4, volume_fault=0.4))
    moved = next(c.text for c in made["other_cable"].cautions if c.id == "copy_first")
    assert "copy them to another drive before" not in moved
    assert all(words in moved for words in ("while it does not show", "Do not format", "clicks", "leave it off"))
    worked_on = next(c.text for c in made["repair_volume"].cautions if c.id == "copy_first")
    assert "copy them to another drive before you change anything" in worked_on


MOVING = ("straight_in", "other_hub_socket", "other_socket", "other_cable", "reseat_plug")


def test_a_step_calls_what_it_moves_by_name_and_socket(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    facts = replace(gather_facts(("dropout",), {}), subject=("1-4.3",))
    findings = found(hub_fault=0.3, cable_fault=0.3, port_power=0.3)
    plan = make_plan(remedies, prose, facts, findings, names={"1-4.3": "Archive drive"})
    said = {s.id: s.do for s in plan.steps if s.id in MOVING}
    assert said
    assert [i for i, do in said.items() if "Archive drive (1-4.3)" not in do] == []


def test_without_a_subject_it_is_the_greatest_user_of_the_overdrawn_place_or_what_misbehaves(
    remedies: tuple[Remedy, ...], prose: Texts, found: Findings
) -> None:
    parts = [{"who": "1-4.2", "used": 100, "what": "", "basis": "declared"}]
    parts += [{"who": "1-4.3", "used": 752, "what": "", "basis": "declared"}]
    supply = entry("hub_supply", "1-4", 852, 500, "mA", parts=parts)
    names = {"1-4.2": "Card reader", "1-4.3": "Archive drive"}
    findings = found(hub_fault=0.5, hub_supply=0.4)
    over = replace(gather_facts(("dropout",), {}), ledger=(supply,))
    told = {s.id: s.do for s in make_plan(remedies, prose, over, findings, names=names).steps}
    assert "Unplug Archive drive (1-4.3) from" in told["straight_in"]
    plain = {s.id: s.do for s in make_plan(remedies, prose, gather_facts(("dropout",), {}), findings).steps}
    assert "Unplug the device that misbehaves from" in plain["straight_in"]
