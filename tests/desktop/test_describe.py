"""Describing a set-up by hand: eight devices on two hubs in at most thirty clicks, every one counted.

The list of kinds is scrolled with the wheel, which is neither a click nor a key.
"""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from wizard.budget.described import Host, described
from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.set_up import fresh_name, next_free, places
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.window import Window
from wizard.desktop.wired import WiredEngine

MOST = 30


@pytest.fixture(scope="module")
def engine():
    return WiredEngine()


@pytest.fixture
def window(qtbot, engine):
    window = Window()
    qtbot.addWidget(window)
    window.presenter = Presenter(window, Runner(), lambda: engine, keeps=False)
    window.resize(1024, 700)
    window.show()
    window.presenter.start()
    assert window.presenter.rest(20)
    window.pages["trouble"].chosen.emit(("dropout",), None)
    window.press_primary()
    yield window
    window.close()


def click(qtbot, button):
    assert button.isVisible()
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def test_eight_devices_on_two_hubs_take_at_most_thirty_clicks_or_keys(window, qtbot, engine):
    look = window.pages["look"]
    presses = 0

    def press(button):
        nonlocal presses
        click(qtbot, button)
        presses += 1

    titles = dict(engine.kinds())
    hub = next(kind for kind in titles if engine.is_hub(kind) and "4" in titles[kind])
    eight = ["keyboard", "mouse", "headset", "fader_bank", "midi_keyboard", "foot_switch", "stick", "pedals"]
    press(next(c for c in look.findChildren(Choice) if c.text() == "A set-up described by hand"))
    press(window._first)
    page = window.pages["describe"]
    for kind in [hub, *eight[:4]]:
        page._kinds.ensureWidgetVisible(page._choices[kind])
        press(page._choices[kind])
    for kind in [hub, *eight[4:]]:
        page._kinds.ensureWidgetVisible(page._choices[kind])
        press(page._choices[kind])
    press(window._first)
    assert window.presenter.rest(20)
    assert presses == 13 <= MOST
    snapshot = window.presenter.session.look.snapshot
    hubs = [d for d in snapshot.devices if d.hub is not None and not d.root]
    plain = [d for d in snapshot.devices if d.hub is None]
    assert len(plain) == 8
    assert {d.name for d in plain} == {titles[k] for k in eight}
    assert len({d.name for d in hubs}) == 2
    names = {d.id: d.name for d in hubs}
    assert sorted([names.get(d.parent) for d in plain], key=str) == sorted(
        [n for n in sorted(set(names.values())) for _ in range(4)]
    )
    assert window.presenter.session.case.source == "described"
    assert window.presenter.session.place == "look"


def test_the_same_by_keyboard_alone_types_a_word_and_return(window, qtbot, engine):
    look = window.pages["look"]
    look.aside_wanted.emit("describe")
    QApplication.processEvents()
    page = window.pages["describe"]
    assert page.search.hasFocus() or window.focusWidget() is page.search
    qtbot.keyClicks(page.search, "mous")
    qtbot.keyClick(page.search, Qt.Key.Key_Return)
    assert page.count() == 1
    assert page.search.text() == ""
    qtbot.keyClick(page.search, Qt.Key.Key_Return)
    assert page.count() == 1, "Return in an empty field must not take whatever comes first"


def test_taking_a_hub_out_takes_all_on_it_and_the_computer_can_be_another(window, qtbot, engine):
    window.pages["look"].aside_wanted.emit("describe")
    page = window.pages["describe"]
    hub = next(kind for kind in dict(engine.kinds()) if engine.is_hub(kind))
    page.plug(hub)
    page.plug("mouse")
    page.take_out(next(p.device.id for p in places(page.at) if p.is_hub))
    assert page.count() == 0
    page.begin("laptop")
    assert [p.usb3 for p in places(page.at)] == [True, True, True]


def test_a_full_set_up_says_what_to_do(window, qtbot, engine):
    window.pages["look"].aside_wanted.emit("describe")
    page = window.pages["describe"]
    page.begin("laptop")
    for _ in range(5):
        page.plug("mouse")
    assert page.count() == 3
    assert "Every socket is taken" in page._trouble.text()
    assert not page._choices["mouse"].isEnabled()


def test_what_was_described_can_be_changed_later_and_keeps_the_answers(window, qtbot, engine):
    window.pages["look"].aside_wanted.emit("describe")
    page = window.pages["describe"]
    page.plug("mouse")
    page.press_primary()
    assert window.presenter.rest(20)
    session = window.presenter.session
    window.presenter.move(lambda flow, s: flow.next(s))
    window.presenter.move(lambda flow, s: flow.next(s))
    assert window.presenter.rest(20)
    question = window.presenter.flow.question(window.presenter.session).question
    window.pages["questions"].answered.emit(question.observation, "unknown")
    assert window.presenter.rest(20)
    window.presenter.move(lambda flow, s: flow.jump(s, "look"))
    window.pages["look"].aside_wanted.emit("describe")
    assert page.count() == 1
    page.plug("keyboard")
    page.press_primary()
    assert window.presenter.rest(20)
    assert window.presenter.session.asked == (question.observation,)
    assert window.presenter.session.line == session.line


def test_the_next_socket_is_inside_a_new_hub_then_beside_then_above():
    at = described((Host(usb2=2),))
    assert next_free(at, "") == "1-1"
    from wizard.wiring import HubMade

    at = at.with_hub("1-1", HubMade(ports=2), "Hub")
    assert next_free(at, "1-1") == "1-1.1"
    at = at.with_hub("1-1.1", HubMade(ports=1), "Inner hub")
    assert next_free(at, "1-1.1") == "1-1.1.1"
    at = at.with_hub("1-1.1.1", HubMade(ports=1, supply_ma=500), "Innermost hub")
    assert next_free(at, "1-1.1.1") == "1-1.1.1.1"
    assert next_free(at, "1-2") == "1-2"


def test_a_second_one_of_a_kind_has_a_name_of_its_own(engine):
    at = engine.plug_kind(engine.describe((Host(usb2=3),)), "1-1", "mouse", "Mouse")
    assert fresh_name(at, "Mouse") == "Mouse 2"
    assert fresh_name(at, "Knob") == "Knob"
