"""The strip map in the hands of a user: keys, pointer, search, folds, what-ifs; plain text everywhere; no stall."""

import gc
import time

import pytest
from bench.bench_ledger import made
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QFont, QHelpEvent, QImage, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolTip

from wizard import wiring
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Device, Snapshot
from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.trying import Trial, stages_of
from wizard.desktop.widgets.strip_map import StripMap
from wizard.desktop.widgets.strip_view import Spot
from wizard.diagnosis.texts import Texts
from wizard.store import resources

# Said by Qt's own platform without a screen whenever the least size of a window changes.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

STALL_MS = 50
"""The longest stall of the window while it works: the project's own target."""

Key = Qt.Key


class Bench:
    """A map on a desk, and what a user does to it."""

    def __init__(self, qtbot):
        self.qtbot = qtbot
        self.map = StripMap(Texts("en", resources.texts("en")), ticking=True)
        qtbot.addWidget(self.map)
        self.map.resize(1000, 900)
        self.map.show()
        self.chosen, self.ticked = [], []
        self.map.place_chosen.connect(lambda name, ids: self.chosen.append((name, ids)))
        self.map.ticked.connect(self.ticked.append)

    def show(self, snapshot, setup=None):
        self.map.show_look(Look(snapshot=snapshot, ledger=build_ledger(snapshot, setup or Setup())))
        self.map.allow_trying(Trial.of(snapshot, setup or Setup()))
        QApplication.processEvents()

    @property
    def view(self):
        return self.map.view

    def keys(self, *keys):
        for key in keys:
            QTest.keyClick(self.map.canvas, key)

    def at(self, spot, right=False):
        area = self.map.canvas.area_of(spot)
        assert area is not None
        return QPoint(round(area.right() - 12 if right else area.left() + area.width() / 2), round(area.center().y()))

    def click(self, spot, right=False):
        QTest.mouseClick(self.map.canvas.viewport(), Qt.MouseButton.LeftButton, pos=self.at(spot, right))

    def drag(self, plug, hole, let_go=True):
        viewport = self.map.canvas.viewport()
        start, end = self.at(Spot("hole", plug)), self.at(Spot("hole", hole))
        QTest.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start)
        QTest.mouseMove(viewport, start + QPoint(0, 40))
        QTest.mouseMove(viewport, end)
        if let_go:
            QTest.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=end)


@pytest.fixture
def bench(qtbot):
    return Bench(qtbot)


@pytest.fixture
def theatre(bench):
    """A demo: a hub in socket 3, overdrawn; seven devices in it."""
    demo = wiring.load_demo("puppet-theatre")
    bench.show(demo.before, demo.setup)
    return bench


def used(bench, strip, budget):
    return next(e.used for e in bench.view.bands.at(strip, strip=True) if e.budget == budget)


def test_a_plug_is_picked_up_and_put_down_by_keyboard_and_the_bands_move_with_it(theatre):
    start = used(theatre, "1-3", "periodic_time_active")
    theatre.map.tools.search.setText("fader bank 1")
    theatre.keys(Key.Key_Space, Key.Key_Left)
    assert theatre.view.held == "1-3.2"
    assert theatre.view.target is not None
    assert used(theatre, "1-3", "periodic_time_active") < start
    assert not theatre.map.is_what_if
    assert "What if: Fader bank 1 in socket" in theatre.map.canvas.accessibleDescription()
    target = theatre.view.target
    theatre.keys(Key.Key_Return)
    assert theatre.map.is_what_if
    assert theatre.view.picture.hole_of["1-3.2"] == target
    assert "Fader bank 1 moved" in theatre.map.trial_panel.head.text()
    theatre.qtbot.mouseClick(theatre.map.trial_panel.reset, Qt.MouseButton.LeftButton)
    assert not theatre.map.is_what_if
    assert theatre.view.picture.hole_of["1-3.2"] == "1-3.2"
    assert used(theatre, "1-3", "periodic_time_active") == start
    assert theatre.map.trial_panel.isHidden()


def test_escape_puts_a_held_plug_back(theatre):
    start = used(theatre, "1-3", "periodic_time_active")
    theatre.map.tools.search.setText("fader bank 1")
    theatre.keys(Key.Key_Space, Key.Key_Left, Key.Key_Escape)
    assert theatre.view.held is None
    assert not theatre.map.is_what_if
    assert not theatre.view.what_if
    assert used(theatre, "1-3", "periodic_time_active") == start


def test_a_plug_is_dragged_and_undone(theatre):
    theatre.drag("1-3.2", "1-8")
    theatre.drag("1-3.3", "1-7")
    assert theatre.view.moved == {"1-3.2": "1-3.2", "1-3.3": "1-3.3"}
    theatre.map.trial_panel.undo.click()
    assert theatre.view.moved == {"1-3.2": "1-3.2"}
    assert theatre.view.what_if


def test_a_taken_socket_is_refused_in_words_and_nothing_moves(theatre):
    theatre.drag("1-3.2", "1-1", let_go=False)
    assert theatre.view.refused
    assert "something is plugged in there" in theatre.map.trial_panel.words.text()
    QTest.mouseRelease(theatre.map.canvas.viewport(), Qt.MouseButton.LeftButton, pos=theatre.at(Spot("hole", "1-1")))
    assert not theatre.map.is_what_if
    assert theatre.view.held is None


def test_while_it_is_only_looked_at_nothing_can_be_moved(bench):
    demo = wiring.load_demo("puppet-theatre")
    bench.map.show_look(Look(snapshot=demo.before, ledger=build_ledger(demo.before, demo.setup)))
    bench.map.tools.search.setText("fader bank 1")
    bench.keys(Key.Key_Space)
    assert bench.view.held is None


def test_another_look_drops_what_was_tried(theatre):
    theatre.drag("1-3.2", "1-8")
    theatre.show(made(1, 3))
    assert not theatre.map.is_what_if
    assert theatre.map.trial_panel.isHidden()


def test_a_place_is_chosen_by_a_click_with_all_ids_that_evidence_may_name_and_let_go_by_a_second(theatre):
    theatre.click(Spot("strip", "1-3"))
    name, ids = theatre.chosen[-1]
    assert name == "Seven-socket desk hub"
    assert "1-3" in ids
    theatre.click(Spot("strip", "1-3"))
    assert theatre.chosen[-1] == ("", frozenset())


def test_the_controller_stands_for_its_root_hubs_too(theatre):
    theatre.click(Spot("strip", "0000:00:14.0"))
    assert {"0000:00:14.0", "usb1", "usb2"} <= theatre.chosen[-1][1]


def test_a_device_is_ticked_by_click_and_by_key(theatre):
    theatre.click(Spot("hole", "1-3.2"), right=True)
    assert theatre.ticked == [("1-3.2",)]
    theatre.map.tools.search.setText("keyboard")
    theatre.keys(Key.Key_T)
    assert set(theatre.ticked[-1]) == {"1-3.2", "1-5"}
    theatre.map.show_ticks(("1-5",))
    assert theatre.view.ticks == {"1-5"}


def test_the_keyboard_goes_along_a_cord_and_back(theatre):
    theatre.map.canvas.setFocus()
    theatre.map.tools.search.setText("desk hub")
    assert theatre.view.current == Spot("hole", "1-3")
    theatre.keys(Key.Key_Right)
    assert theatre.view.current == Spot("strip", "1-3")
    theatre.keys(Key.Key_Down)
    assert theatre.view.current == Spot("hole", "1-3.1")
    theatre.keys(Key.Key_Up, Key.Key_Left)
    assert theatre.view.current == Spot("hole", "1-3")


def test_every_place_can_be_reached_with_the_arrows(theatre):
    reached, waiting = set(), [theatre.view.spots()[0]]
    while waiting:
        spot = waiting.pop()
        if spot in reached:
            continue
        reached.add(spot)
        for key in (Key.Key_Up, Key.Key_Down, Key.Key_Left, Key.Key_Right):
            theatre.view.current = spot
            theatre.keys(key)
            waiting.append(theatre.view.current)
    assert reached == set(theatre.view.spots())


def test_where_the_keyboard_is_is_said_with_the_ledger_and_its_source(theatre):
    theatre.map.tools.search.setText("cue sound")
    told = theatre.map.canvas.accessibleDescription()
    assert "Cue sound interface" in told
    assert "480 of 500 mA; tight" in told
    assert "Source: USB 2.0 §7.2.1" in told
    assert theatre.map.details.head.text() in told


def test_a_search_opens_what_is_folded_and_goes_round(bench):
    bench.show(made(2, 127))
    assert bench.view.folded
    bench.map.tools.search.setText("2-1.1")  # of both buses none: names are ids of their sockets
    bench.map.tools.search.setText("1-1.1")
    first = bench.view.current
    assert bench.view.rect(first) is not None
    bench.map.tools.next_wanted.emit()
    assert bench.view.current != first
    assert bench.view.rect(bench.view.current) is not None
    bench.map.tools.search.clear()
    assert bench.view.found is None


def test_folding_and_unfolding_by_key_and_all_at_once(theatre):
    theatre.view.current = Spot("strip", "1-3")
    theatre.keys(Key.Key_Return)
    assert theatre.view.folded == {"1-3"}
    theatre.keys(Key.Key_Return)
    assert not theatre.view.folded
    theatre.map.tools.folds_wanted.emit(True)
    assert theatre.view.folded == {"1-3"}


def test_zoom_by_key_by_wheel_and_to_fit(theatre):
    canvas = theatre.map.canvas
    before = canvas.zoom
    QTest.keyClicks(canvas, "+")
    assert canvas.zoom > before
    turn = QWheelEvent(
        QPointF(200, 200), canvas.viewport().mapToGlobal(QPointF(200, 200)), QPoint(), QPoint(0, -240),
        Qt.MouseButton.NoButton, Qt.KeyboardModifier.ControlModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(canvas.viewport(), turn)
    assert canvas.zoom < before
    QTest.keyClicks(canvas, "0")
    assert canvas.verticalScrollBar().maximum() == 0
    assert canvas.horizontalScrollBar().maximum() == 0


def test_foreign_names_stay_plain_text_in_tool_tip_details_and_listing(bench, monkeypatch):
    name = "<b>Bold</b><img src='x'>\u202e&amp;"
    seen = made(1, 3)
    devices = tuple(d if d.root else d.model_copy(update={"name": name}) for d in seen.devices)
    bench.show(seen.model_copy(update={"devices": devices}))
    tips = []
    monkeypatch.setattr(QToolTip, "showText", lambda _at, text, _widget: tips.append(text))
    at = bench.at(Spot("hole", "1-1"))
    canvas = bench.map.canvas
    QApplication.sendEvent(canvas.viewport(), QHelpEvent(QEvent.Type.ToolTip, at, canvas.mapToGlobal(at)))
    assert "&lt;b&gt;Bold&lt;/b&gt;&lt;img" in tips[0]
    assert "\u202e" not in tips[0]
    bench.view.current = Spot("hole", "1-2")
    bench.map._tell()
    assert "<b>Bold</b>" in bench.map.details.head.text()
    assert bench.map.details.head.textFormat() == Qt.TextFormat.PlainText
    bench.map.tools.text.setChecked(True)
    assert "<b>Bold</b>" in bench.map.listing.toPlainText()
    assert "\u202e" not in bench.map.listing.toPlainText()


def test_the_planner_s_moves_are_gone_through_one_by_one_and_left(bench):
    demo = wiring.load_demo("puppet-theatre")
    bench.show(demo.before, demo.setup)
    trial = Trial.of(demo.before, demo.setup)
    option = wiring.arrangements(wiring.demo_case(demo), 20).options[0]
    stages = stages_of(trial.bench, option)
    bench.map.show_stages(stages)
    panel = bench.map.stage_panel
    assert f"{len(stages) - 1} move" in panel.head.text()
    assert not panel.back.isEnabled()
    for number in range(1, len(stages)):
        panel.forward.click()
        assert f"Move {number} of {len(stages) - 1}" in panel.head.text()
        assert bench.view.what_if
    assert not panel.forward.isEnabled()
    assert bench.view.bands == stages[-1].state.bands
    panel.back.click()
    assert bench.view.bands == stages[-2].state.bands
    panel.leave.click()
    assert not bench.view.what_if
    bench.map.show_stages(())
    assert panel.isHidden()


def test_nothing_at_all_can_be_shown(bench):
    bench.show(Snapshot())
    bench.keys(Key.Key_Down, Key.Key_Space, Key.Key_Home)
    bench.map.fit()
    bench.show(Snapshot(devices=(Device(id="usb1", root=True),)))
    bench.keys(Key.Key_Down, Key.Key_Right)


@pytest.fixture(params=[(False, 1.0), (True, 1.0), (False, 1.5)], ids=["light", "dark", "150 %"])
def mode(request, qapp):
    """Light, dark, and text at 150 %."""
    dark, text = request.param
    before, palette = QApplication.font(), QApplication.palette()
    font = QFont(before)
    font.setPointSizeF(before.pointSizeF() * text)
    QApplication.setFont(font)
    theme.apply(qapp, dark)
    yield request.param
    QApplication.setFont(before)
    QApplication.setPalette(palette)


def test_overdrawn_and_unknown_can_be_told_apart_without_colour(mode, qtbot):
    """In shades of grey the plate of a hub looks another for each state."""
    bench = Bench(qtbot)
    pictures = {}
    for state, supply in (("room", 4000.0), ("over", 500.0), ("unknown", None)):
        demo = wiring.load_demo("puppet-theatre")
        told = {} if supply is None else {"1-3": supply}
        bench.show(demo.before, demo.setup.model_copy(update={"supplies_ma": told}))
        area = bench.map.canvas.area_of(Spot("strip", "1-3"))
        grey = (
            bench.map.canvas.viewport().grab(area.toRect()).toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        )
        pictures[state] = bytes(grey.constBits())
    assert len(set(pictures.values())) == 3


@pytest.mark.slow
def test_eight_controllers_with_127_devices_each_never_stall_the_window(bench):
    """The longest of the median times of whatever a user does, each with the drawing that follows."""
    seen = made(8, 127)
    trial = Trial.of(seen, Setup())
    look = Look(snapshot=seen, ledger=trial.state.ledger)
    bench.map.show_look(look)
    bench.map.allow_trying(trial)
    gc.collect()
    gc.freeze()  # what others have left to collect is not the map's doing
    strip_map, canvas = bench.map, bench.map.canvas
    strip_map.tools.folds_wanted.emit(False)

    def scroll():
        canvas.verticalScrollBar().setValue((canvas.verticalScrollBar().value() + 700) % 3000)

    def carry(to=["3-7", "5-7"]):  # noqa: B006 - the two sockets take turns on purpose
        to.reverse()
        strip_map.trial.carry(to[0])

    strip_map.trial.lift("1-1.1.4")
    deeds = {
        "scroll": scroll,
        "draw": canvas.viewport().update,
        "point": lambda: strip_map._point(Spot("hole", "1-1.1.4")),
        "travel": lambda: strip_map._go(Spot("hole", "1-4")),
        "carry": carry,
        "search": lambda: strip_map.tools.search.setText("" if strip_map.tools.search.text() else "1-1.1"),
        "fold": lambda: strip_map._fold("1-1"),
        "zoom": lambda: canvas.set_zoom(0.7 if canvas.zoom == 1.0 else 1.0),
    }
    try:
        took = {name: stall_ms(deed) for name, deed in deeds.items()}
    finally:
        gc.unfreeze()
    assert max(took.values()) <= STALL_MS, took


def stall_ms(deed):
    """Milliseconds of processor time of the longer of doing and drawing, the median of five."""
    times = []
    for _ in range(5):
        begin = time.process_time()
        deed()
        done = time.process_time()
        QApplication.processEvents()
        times.append(1000 * max(done - begin, time.process_time() - done))
    return sorted(times)[2]
