"""The strip map on the pages: opened where it is wanted, narrowing the evidence, going through moves."""

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from wizard import wiring
from wizard.desktop.jobs import Runner
from wizard.desktop.pages.findings import about
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.widgets.strip_view import Spot
from wizard.desktop.window import Window
from wizard.diagnosis.advice import Evidence, Finding

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


def reason(on: str) -> Evidence:
    return Evidence(on=on, weight=5, why=f"Because of {on}.", source="common practice (no source)")


ON_THE_HUB, ON_A_SIGN, TOLD = reason("hub_supply@1-1/tt2"), reason("over_current@1-1.2"), reason("hub_between")


def test_only_reasons_at_the_place_or_a_part_of_it_are_about_it():
    finding = Finding.model_validate(
        {"id": "hub_supply", "share": 0.5, "for": (ON_THE_HUB, TOLD), "against": (ON_A_SIGN,)}
    )
    told = about(finding, {"1-1"})
    assert (told.for_, told.against) == ((ON_THE_HUB,), ())
    told = about(finding, {"1-1.2", "1-1.1"})
    assert (told.for_, told.against) == ((), (ON_A_SIGN,))


class Walk:
    """A window on its way through a demo."""

    def __init__(self, qtbot, engine):
        self.window = Window()
        qtbot.addWidget(self.window)
        self.window.resize(1100, 1000)
        self.presenter = Presenter(self.window, Runner(), lambda: engine, keeps=False)
        self.window.show()
        self.presenter.start()
        self.rest()
        self.page("trouble").chosen.emit(("dropout",), None)
        self.go()
        self.page("look").look_wanted.emit(Source("live"), "")
        self.rest()

    def page(self, name):
        return self.window.pages[name]

    def rest(self):
        assert self.presenter.rest(10)
        QApplication.processEvents()

    def go(self):
        self.window.press_primary()
        self.rest()

    def to_findings(self):
        self.go()
        self.go()
        self.window.press_secondary()
        self.rest()
        assert self.presenter.session.page == "findings"
        return self.page("findings")

    def texts(self):
        QApplication.processEvents()  # Qt shows what was put into a layout only then
        return "\n".join(w.text() for w in self.window.findChildren(QLabel) if w.isVisible())


@pytest.fixture
def walk(qtbot, engine):
    walk = Walk(qtbot, engine)
    yield walk
    walk.window.close()


@pytest.fixture
def engine(engine):
    """The engine of the tests, with evidence that has places."""
    advise = engine.advise

    def with_places(case):
        first, *rest = advise(case).causes
        first = first.model_copy(update={"for_": (ON_THE_HUB, TOLD), "against": (ON_A_SIGN,)})
        return advise(case).model_copy(update={"causes": (first, *rest)})

    engine.advise = with_places
    return engine


def test_a_place_chosen_on_the_map_leaves_only_its_evidence_until_it_is_let_go(walk):
    page = walk.to_findings()
    assert page.drawer.map is None
    page.drawer.button.click()
    walk.rest()
    strip_map = page.drawer.map
    assert strip_map.canvas.movable
    strip_map._press(Spot("strip", "1-1"))
    assert "Only the evidence about this place is shown: Desk hub" in walk.texts()
    assert "Because of hub_supply" in walk.texts()
    assert "Because of hub_between" not in walk.texts()
    strip_map._press(Spot("hole", "1-1.1"))
    assert "No evidence names this place." in walk.texts()
    page._widen()
    assert "Because of hub_between" in walk.texts()
    assert "Only the evidence" not in walk.texts()


def test_closing_the_map_takes_the_choice_back(walk):
    page = walk.to_findings()
    page.drawer.button.click()
    walk.rest()
    page.drawer.map._press(Spot("strip", "1-1"))
    page.drawer.button.click()
    assert not page.drawer.map.isVisible()
    assert "Because of hub_between" in walk.texts()


def test_the_subject_ticked_on_the_look_is_kept_when_the_look_is_shown_again(walk):
    page = walk.page("look")
    page.map._tick("1-1.2")
    walk.rest()
    assert walk.presenter.session.case.subject == ("1-1.2",)
    walk.go()
    walk.window.press_back()
    walk.rest()
    assert page.map.view.ticks == {"1-1.2"}


def test_the_moves_of_the_planner_are_on_the_plan_page_once_it_has_found_some(walk, engine):
    look = engine.live
    demo = wiring.load_demo("puppet-theatre")
    engine.live = look.model_copy(update={"snapshot": demo.before, "ledger": wiring.look_demo(demo, "before").ledger})
    engine.arranged = wiring.arrangements(wiring.demo_case(demo), 20)
    walk.page("look").look_wanted.emit(Source("live"), "")
    walk.rest()
    walk.to_findings()
    walk.go()
    page = walk.page("plan")
    page.drawer.button.click()
    walk.rest()
    moves = len(engine.arranged.options[0].moves)
    panel = page.drawer.map.stage_panel
    assert panel.isVisible()
    for _ in range(moves):
        panel.forward.click()
    assert f"Move {moves} of {moves}" in panel.head.text()
    assert panel.verdict.text() == "Nothing would be overdrawn any more."
    assert not page._column.isVisible()
    assert "the cautions in the plan come first" in panel.note.text()
    panel.leave.click()
    assert not page.drawer.map.is_what_if


def test_the_steps_make_room_for_the_map_and_come_back(walk):
    walk.to_findings()
    walk.go()
    page = walk.page("plan")
    page.drawer.button.click()
    walk.rest()
    assert page.drawer.map.isVisible()
    assert not page._column.isVisible()
    page.drawer.button.click()
    assert page._column.isVisible()


def test_without_a_bus_there_is_no_map_to_open(qtbot, engine):
    walk = Walk(qtbot, engine)
    walk.page("look").go_without.emit()
    walk.rest()
    walk.window.press_secondary()
    walk.rest()
    assert walk.presenter.session.page == "findings"
    assert not walk.page("findings").drawer.isVisible()
    walk.window.close()
