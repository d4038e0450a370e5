"""The field in the window: it hands on when each event came, and only that. Events are made up."""

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication

from wizard.desktop.widgets.pace_field import Heard, PaceField

MERGE = Qt.ApplicationAttribute.AA_CompressHighFrequencyEvents
NONE = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def field(qtbot):
    field = PaceField()
    qtbot.addWidget(field)
    yield field
    field.end()


def send(field, event, ms):
    event.setTimestamp(ms)
    QApplication.sendEvent(field, event)


def move(field, x, ms):
    at = QPointF(x, 10)
    button = Qt.MouseButton.NoButton
    send(field, QMouseEvent(QEvent.Type.MouseMove, at, at, button, button, NONE), ms)


def key(field, kind, ms, code=Qt.Key.Key_A, again=False):
    send(field, QKeyEvent(kind, code, NONE, "a", again), ms)


def heard_in(heard):
    found = []
    while (one := heard.next(0.0)) is not None:
        found.append(one)
    return found


def begun(field):
    heard = Heard()
    field.begin(heard.put)
    return heard


def test_moves_come_with_the_systems_stamp_and_how_far_they_went(field):
    heard = begun(field)
    for step, ms in enumerate((1000, 1008, 1024)):
        move(field, 10 * step, ms)
    reports = [report for sort, report in heard_in(heard) if sort == "pointer"]
    assert [r.at_us for r in reports] == [1_000_000, 1_008_000, 1_024_000]
    assert [r.way for r in reports] == [None, 10.0, 10.0]


def test_keys_count_when_pressed_and_released_and_what_the_system_repeats_does_not(field):
    heard = begun(field)
    key(field, QEvent.Type.KeyPress, 1000)
    key(field, QEvent.Type.KeyPress, 1030, again=True)
    key(field, QEvent.Type.KeyRelease, 1060)
    assert [(sort, r.at_us) for sort, r in heard_in(heard)] == [("keys", 1_000_000), ("keys", 1_060_000)]


def test_the_keys_that_lead_out_are_left_to_the_window(field):
    heard = begun(field)
    for code in (Qt.Key.Key_Tab, Qt.Key.Key_Escape):
        event = QKeyEvent(QEvent.Type.KeyPress, code, NONE)
        field.keyPressEvent(event)
        assert not event.isAccepted()
    assert heard_in(heard) == []


def test_a_wheel_is_a_report_that_goes_nowhere(field):
    heard = begun(field)
    event = QWheelEvent(
        QPointF(5, 5), QPointF(5, 5), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton, NONE,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    send(field, event, 1000)
    ((sort, report),) = heard_in(heard)
    assert (sort, report.at_us, report.way) == ("pointer", 1_000_000, 0.0)


def test_what_happens_outside_is_marked_as_not_heard(field):
    heard = begun(field)
    move(field, 0, 1000)
    QApplication.sendEvent(field, QEvent(QEvent.Type.Leave))
    move(field, 50, 5000)
    QApplication.sendEvent(field, QFocusEvent(QEvent.Type.FocusOut))
    told = heard_in(heard)
    assert [(sort, r is None) for sort, r in told] == [
        ("pointer", False), ("pointer", True), ("pointer", False), ("keys", True),
    ]  # fmt: skip
    assert told[2][1].way is None  # nobody knows how it got there


def test_without_stamps_the_time_of_arrival_counts(field):
    heard = begun(field)
    for step in range(3):
        move(field, step, 0)
    times = [r.at_us for _, r in heard_in(heard)]
    assert times == sorted(times)
    assert times[0] > 0


def test_moves_are_not_merged_while_it_listens_and_as_before_afterwards(field):
    before = QApplication.testAttribute(MERGE)
    begun(field)
    assert not QApplication.testAttribute(MERGE)
    field.end()
    assert QApplication.testAttribute(MERGE) == before


def test_it_is_deaf_before_the_start_and_after_the_end(field):
    heard = begun(field)
    field.end()
    move(field, 5, 1000)
    assert heard_in(heard) == []
