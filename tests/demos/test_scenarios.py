"""The demos as stories: what the look shows, what the dialogue finds, what the plan does, and that it ends solved.

A demo names beside its answers what it is (`cause`), where the look or its log shows it (`spot`) and which steps amount
to its fix (`remedies`). The figures below are added up by hand from what the devices of the story declare.
"""

import html
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from demos.make_demos import HOME, SCENES, written
from pydantic import BaseModel

from wizard import wiring
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.store.demos import Demo
from wizard.terminal.playing import Played, play

NAMES = wiring.demo_names()

FIRST_STEPS = 3
FIRST_STEPS_IF_THE_CASE_IS_OPENED = 5
"""A step that opens the case comes late on purpose; five is the bound that the job itself sets for every plan."""

FIGURES = {
    # 2 card readers and a chip programmer of 100 mA, a thermometer's 50, a printer's 2, a drive's 500; the charger
    # gives 500 mA.
    "repair-cafe": ("hub_supply@1-4", 852, 500),
    # 13 loggers of 4 (one to steer by, three of their own), 1 of the refused one, 2 hubs of 2, keyboard 3, mouse 2;
    # the limit is the one Linux keeps for this controller (drivers/usb/host/xhci-pci.c).
    "variety-library": ("endpoints@0000:00:14.0", 62, 64),
    # 5 m and 3 m; USB 2.0 §7.1.16, 26 ns of delay, which are 5 m.
    "village-observatory": ("cable@1-2", 8, 5),
}

MAKERS = {
    "Brindlecote Electric",
    "Dunnock Measuring",
    "Harrowmoss Peripherals",
    "Invented Boards",
    "Lumenfold Optics",
    "Ostrelle Sound Works",
    "Pellwick Stagecraft",
    "Quillhaven Instruments",
    "Tannel & Wick",
}
"""Every maker in the demos: all made up."""


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


@pytest.fixture(scope="module")
def all_played(services: wiring.Services) -> dict[str, Played]:
    return {name: play(services, wiring.load_demo(name)) for name in NAMES}


@pytest.fixture(params=NAMES)
def demo(request: pytest.FixtureRequest) -> Demo:
    return wiring.load_demo(request.param)


@pytest.fixture
def played(demo: Demo, all_played: dict[str, Played]) -> Played:
    return all_played[demo.name]


def told(demo: Demo) -> dict[str, Any]:
    """What a demo names for its tests."""
    return demo.model_extra or {}


def looks(demo: Demo) -> tuple[Snapshot, Snapshot]:
    return demo.before, demo.after


# --- What the five are


def test_between_them_they_show_every_main_trouble_and_two_systems() -> None:
    demos = [wiring.load_demo(name) for name in NAMES]
    assert len(demos) == 5
    assert {d.symptom for d in demos} >= {"lag", "dropout", "drive_missing", "resource_error"}
    assert len({told(d)["cause"] for d in demos}) == len(demos)
    assert [d.platform for d in demos].count("windows") >= 2
    assert [d.platform for d in demos].count("linux") >= 2


def test_a_demo_says_that_it_is_invented(demo: Demo) -> None:
    assert demo.story.strip().startswith("Invented for showing how Portmend works.")
    assert "invented" in (HOME / demo.name / "scenario.toml").read_text("utf-8").splitlines()[0]


def test_makers_and_numbers_are_invented(demo: Demo) -> None:
    for look in looks(demo):
        assert {d.manufacturer for d in look.devices} - {None} <= MAKERS
        assert look.system.board_maker in {None, "Invented Boards"}
        # The kernel's own id for the sockets of the PC; every other vendor id is one of ours.
        assert all((d.vid or "").startswith("f0") or (d.root and d.vid == "1d6b") for d in look.devices)


# --- The looks


def test_there_is_no_word_in_it_that_nobody_reads(demo: Demo) -> None:
    assert set(told(demo)) == {"cause", "spot", "remedies"}
    for part in (*looks(demo), demo.setup):
        assert list(unread(part)) == []


def unread(value: object, place: str = "") -> Iterator[str]:
    """The fields of a document, and of all documents in it, that the model does not know."""
    if isinstance(value, BaseModel):
        yield from (f"{place}.{name}" for name in value.model_extra or {})
        for name in type(value).model_fields:
            yield from unread(getattr(value, name), f"{place}.{name}")
    elif isinstance(value, tuple):
        for index, one in enumerate(value):
            yield from unread(one, f"{place}.{index}")


def test_everything_hangs_on_something_that_is_there(demo: Demo) -> None:
    for look in looks(demo):
        tree = BusTree(look)
        for device in look.devices:
            assert device.parent in (tree.controllers if device.root else tree.devices)
            assert tree.controller_of(device.id) is not None
            if not device.root:
                assert device.id in tree.sockets
                above = tree.devices[device.parent or ""]
                assert above.hub is not None
                assert device.id.rpartition(".")[0] == above.id or f"usb{device.id.partition('-')[0]}" == above.id


def test_sockets_belong_to_hubs_and_pair_up(demo: Demo) -> None:
    for look in looks(demo):
        tree = BusTree(look)
        for socket in look.sockets:
            hub = tree.devices[socket.hub].hub
            assert hub is not None
            port = int(socket.id.replace("-", ".").rpartition(".")[2])
            assert hub.ports is None or 1 <= port <= hub.ports
            assert socket.peer is None or tree.sockets[socket.peer].peer == socket.id


def test_what_was_told_is_about_something_in_a_look(demo: Demo) -> None:
    ids = {d.id for look in looks(demo) for d in look.devices}
    assert set(demo.subject) <= {d.id for d in demo.before.devices}
    assert set(demo.setup.cables) | set(demo.setup.supplies_ma) <= ids


def test_windows_tells_no_more_than_its_library_does(demo: Demo, services: wiring.Services) -> None:
    if demo.platform != "windows":
        assert demo.before.system.os == demo.platform
        return
    assert demo.log is None
    for look in looks(demo):
        assert look.system.os == "windows"
        assert {s.id for s in look.sockets} == {d.id for d in look.devices if not d.root}
        assert all(s.place is s.peer is s.generation is s.over_current_count is None for s in look.sockets)
        assert all(c.pci is c.driver is c.endpoint_limit is c.slot_limit is None for c in look.controllers)
        assert all(d.power_saving is None for d in look.devices)
        assert all(i.driver is None and i.active_alternate is None for d in look.devices for i in d.interfaces)
        assert all(d.hub.ports is None and d.hub.translator != "multi" for d in look.devices if d.hub)
    # A controller without a name is not one of a small board.
    assert "controller_kind" not in wiring.facts_of(wiring.demo_case(demo)).observations


@pytest.mark.parametrize("name", SCENES)
def test_the_looks_are_the_ones_that_are_made_here(name: str) -> None:
    for scene, file in zip(SCENES[name], ("before.json", "after.json"), strict=True):
        assert (HOME / name / file).read_text("utf-8") == written(scene())


# --- What the look and the log show


def test_the_first_look_shows_what_the_story_tells(demo: Demo) -> None:
    look = wiring.look_demo(demo, "before")
    shown = {f"{e.budget}@{e.where}" for e in look.ledger if e.state in ("over", "tight")}
    shown |= {f"{s.kind}@{s.where}" for s in look.signs}
    assert told(demo)["spot"]
    assert set(told(demo)["spot"]) <= shown
    if demo.name in FIGURES:
        spot, used, limit = FIGURES[demo.name]
        entry = next(e for e in look.ledger if f"{e.budget}@{e.where}" == spot)
        assert (entry.used, entry.limit) == (used, limit)


def test_nothing_the_story_tells_is_overdrawn_after_the_fix(demo: Demo) -> None:
    look = wiring.look_demo(demo, "after")
    assert [(e.budget, e.where) for e in look.ledger if e.state == "over"] == []
    assert look.signs == ()


def test_every_line_of_the_log_is_read_and_names_a_device_that_is_there(demo: Demo) -> None:
    look = wiring.look_demo(demo, "before")
    lines = [number for number, line in enumerate((demo.log or "").splitlines(), 1) if line.strip()]
    assert sorted({number for s in look.signs for number in s.lines}) == lines
    tree = BusTree(demo.before)
    assert all(s.where in tree.devices or s.where in tree.controllers for s in look.signs)


# --- The dialogue


def test_the_answers_are_in_the_words_of_the_rulebook(demo: Demo, services: wiring.Services) -> None:
    known = services.rulebook.observation_by_id
    for name, value in demo.answers.items():
        observation = known[name]
        if observation.kind == "number":
            assert isinstance(value, int | float)
            continue
        assert isinstance(value, list) == (observation.kind == "list")
        assert set(value if isinstance(value, list) else [value]) <= set(observation.values)


def test_a_few_questions_are_asked_and_answered(demo: Demo, played: Played) -> None:
    assert 2 <= len(played.turns) <= 12
    asked = [question.observation for question, _ in played.turns]
    assert [name for name in asked if name in demo.answers][1:], "the user knows at least two of the answers"
    assert played.advice.next_question is None
    assert played.advice.contradictions == ()


def test_the_answers_do_not_contradict_each_other(demo: Demo, services: wiring.Services) -> None:
    case = wiring.demo_case(demo).model_copy(update={"observations": demo.answers})
    advice = wiring.advise(services, case)
    assert advice.contradictions == ()
    assert advice.causes[0].id == told(demo)["cause"]


def test_the_right_cause_leads_with_its_figure_or_its_line(demo: Demo, played: Played) -> None:
    first, second = played.advice.causes[:2]
    assert first.id == told(demo)["cause"]
    assert first.share >= 0.5
    assert first.share >= 2 * second.share
    assert {e.on for e in first.for_} & set(told(demo)["spot"])


# --- The plan, the check afterwards and the report


def test_the_plan_soon_comes_to_what_was_done(demo: Demo, played: Played) -> None:
    remedies = {r.id: r for r in wiring.load_services().remedies}
    amounting = [remedies[name] for name in told(demo)["remedies"]]
    assert all(told(demo)["cause"] in (*r.cures, *r.may_cure) for r in amounting)
    bound = FIRST_STEPS_IF_THE_CASE_IS_OPENED if all(r.opens_case for r in amounting) else FIRST_STEPS
    first = [step.id for step in played.advice.plan.steps[:bound]]
    assert set(first) & {r.id for r in amounting}, first


def test_one_fix_opens_the_case_and_says_first_what_to_beware_of(all_played: dict[str, Played]) -> None:
    step = next(s for s in all_played["variety-library"].advice.plan.steps if s.id == "add_in_card")
    assert step.opens_case
    # What must stand before a case is opened: the project's own list of cautions.
    assert {c.id for c in step.cautions} >= {"power_off", "mains_unplugged", "esd_strap", "never_open_supply"}
    demo = wiring.load_demo("variety-library")
    assert (len(demo.before.controllers), len(demo.after.controllers)) == (1, 2)


@pytest.mark.parametrize("form", [".html", ".txt"])
def test_what_to_beware_of_stands_before_the_act_in_every_form(
    all_played: dict[str, Played], services: wiring.Services, tmp_path: Path, form: str
) -> None:
    """Paper is made of the same blocks as the page; the JSON form is the case, which tells no one to do anything."""
    played = all_played["variety-library"]
    case = played.case.model_copy(update={"marks": {}})
    step = next(s for s in played.advice.plan.steps if s.id == "add_in_card")
    written = wiring.write_report(services, case, tmp_path / f"report{form}").read_text("utf-8")
    text = " ".join(html.unescape(written).split())
    # The part of the plan that this step is, from the end of the one before it.
    act = text.index(step.do)
    for caution in step.cautions:
        assert 0 <= text.rindex(caution.text, 0, act) < act, caution.id


def test_the_history_ends_in_solved_by_the_step_that_was_done(
    demo: Demo, played: Played, services: wiring.Services, tmp_path: Path
) -> None:
    written = wiring.write_report(services, played.case, tmp_path / "report.txt").read_text("utf-8")
    assert "Solved by this step: " in " ".join(written.split())


def test_checking_again_ends_in_solved_and_shows_what_moved(played: Played) -> None:
    assert played.verdict.verdict == "solved"
    assert played.comparison.moved
    assert played.comparison.gone == ()


def test_without_the_users_word_it_is_not_solved(demo: Demo, played: Played) -> None:
    recheck = played.case.rechecks[-1].model_copy(update={"outcome": "same"})
    case = played.case.model_copy(update={"rechecks": (recheck,)})
    assert wiring.verdict(case, played.before, played.after).verdict == "same"


@pytest.mark.parametrize("form", [".html", ".txt", ".json"])
def test_the_report_is_written_without_serial_numbers(
    demo: Demo, played: Played, services: wiring.Services, tmp_path: Path, form: str
) -> None:
    text = wiring.write_report(services, played.case, tmp_path / f"report{form}").read_text("utf-8")
    serials = {d.serial for look in looks(demo) for d in look.devices if d.serial}
    assert len(text) > 1000
    assert [serial for serial in serials if serial in text] == []


def test_there_are_serial_numbers_to_leave_out() -> None:
    numbered = [n for n in NAMES if any(d.serial for d in wiring.load_demo(n).before.devices)]
    assert len(numbered) >= 4


def test_where_the_planner_moves_a_plug_for_nothing_the_second_look_shows_it_there(played: Played) -> None:
    free = next((o for o in played.advice.plan.options if o.kind == "free"), None)
    if free is not None:
        there = {(d.was, d.now) for d in played.comparison.moved}
        assert {(m.device, m.to) for m in free.moves} <= there


def test_some_demo_is_solved_by_moving_a_plug_for_nothing(all_played: dict[str, Played]) -> None:
    kinds = {name: [o.kind for o in p.advice.plan.options] for name, p in all_played.items()}
    assert [name for name, options in kinds.items() if "free" in options] == ["puppet-theatre", "radio-booth"]
