"""What stands beside the steps, driven as a user drives it: following, measuring, and what becomes of it."""

import threading
from dataclasses import replace

import pypdf
import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from wizard.bus.errors import BadInputError
from wizard.bus.watching import WatchSummary
from wizard.case.documents import Look
from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.window import Window


class Bench:
    """A window that has looked at this PC."""

    def __init__(self, qtbot, engine) -> None:
        self.qtbot, self.engine = qtbot, engine
        self.window = Window()
        qtbot.addWidget(self.window)
        self.presenter = Presenter(self.window, Runner(), lambda: engine)
        self.faults = []
        self.presenter.boundary.heard.connect(self.faults.append)
        self.window.show()
        self.presenter.start()
        self.rest()
        self.window.pages["trouble"].chosen.emit(("dropout",), None)
        self.window.press_primary()

    def rest(self):
        assert self.presenter.rest(10)
        QApplication.processEvents()

    def look(self):
        self.window.pages["look"].look_wanted.emit(Source("live"), "")
        self.rest()

    def open(self, aside):
        self.window.pages[self.presenter.session.page].aside_wanted.emit(aside)
        QApplication.processEvents()
        return self.window.pages[aside]

    @property
    def session(self):
        return self.presenter.session

    def action(self):
        return self.window._first.text().replace("&", "")

    def told(self, page):
        return "\n".join(w.text() for w in page.findChildren(QLabel) if w.isVisible())


@pytest.fixture
def bench(qtbot, engine):
    bench = Bench(qtbot, engine)
    yield bench
    bench.window.close()
    assert bench.faults == []


def test_a_watch_tells_what_happens_takes_marks_and_ends_in_the_case(bench, qtbot):
    bench.look()
    page = bench.open("watch")
    assert bench.action() == "Start following"
    bench.window.press_primary()
    assert bench.action() == "It happened just now"
    qtbot.waitUntil(lambda: "left" in page.happened.toPlainText(), timeout=3000)
    bench.window.press_primary()
    qtbot.waitUntil(lambda: "you said: it happened just now" in page.happened.toPlainText(), timeout=3000)
    bench.window.press_secondary()
    qtbot.waitUntil(lambda: page.state == "ended", timeout=3000)
    QApplication.processEvents()
    assert "Before your mark at 0:03" in bench.told(page)
    assert "these left together" in bench.told(page)
    assert bench.action() == "Take it into the case"
    bench.window.press_primary()
    bench.rest()
    assert bench.session.aside is None
    assert bench.session.case.observations["seen_by_system"] == "comes_and_goes"


def test_a_watch_goes_on_while_other_pages_are_used_and_ends_with_the_case(bench, qtbot):
    bench.look()
    page = bench.open("watch")
    bench.window.press_primary()
    bench.window.press_back()
    assert bench.session.aside is None
    assert page.state == "running"
    assert bench.presenter.runner.is_running("watch")
    bench.window.new_wanted.emit()
    assert page.state == "idle"
    assert not bench.presenter.runner.is_running("watch")


def test_a_watch_without_a_bus_says_so_and_offers_nothing_to_take(bench, qtbot):
    bench.look()
    bench.engine.events = ()
    bench.engine.summary = WatchSummary(has_bus=False, notes=("No USB bus was found here.",))
    page = bench.open("watch")
    bench.window.press_primary()
    bench.window.press_secondary()
    qtbot.waitUntil(lambda: page.state == "ended", timeout=3000)
    QApplication.processEvents()
    assert "No USB bus was found here." in bench.told(page)
    assert not page.line.isVisible()
    assert bench.action() == "Back to where I was"


def test_names_from_devices_stay_plain_text_in_what_happened(bench, qtbot):
    bench.look()
    page = bench.open("watch")
    bench.window.press_primary()
    qtbot.waitUntil(lambda: "left" in page.happened.toPlainText(), timeout=3000)
    assert "<b>Bold</b>" in page.happened.toPlainText()
    bench.window.press_secondary()
    qtbot.waitUntil(lambda: page.state == "ended", timeout=3000)


def test_the_pace_of_a_control_is_plotted_judged_and_taken_into_the_case(bench):
    bench.look()
    page = bench.open("pace")
    bench.rest()
    assert "You may not. Ask." in "\n".join(c._words for c in page.pick._choices.values())
    assert page.pick.picked == "/dev/input/event4"
    bench.window.press_primary()
    bench.rest()
    assert "One gap of 300 ms: that is your lag." in bench.told(page)
    assert len(page.plot.columns()) == 3
    bench.window.press_primary()
    bench.rest()
    assert bench.session.case.observations["report_gap_ms"] == 300.0
    assert bench.session.case.asked == ()


def test_what_the_user_said_stands_against_a_measurement(bench):
    bench.look()
    known = bench.session.case.model_copy(update={"observations": {"report_rate": "as_promised"}})
    bench.presenter.move(lambda _flow, session: replace(session, case=known))
    bench.open("pace")
    bench.rest()
    bench.window.press_primary()
    bench.rest()
    bench.window.press_primary()
    assert bench.session.case.observations["report_rate"] == "as_promised"
    assert bench.session.case.observations["report_gap_ms"] == 300.0


def test_a_control_that_left_is_said_and_another_can_be_measured(bench):
    def gone(device, stop, tell):
        raise BadInputError(device, "it is gone", "Plug it in again.")

    bench.engine.pace = gone
    bench.look()
    page = bench.open("pace")
    bench.rest()
    bench.window.press_primary()
    bench.rest()
    assert "it is gone. Plug it in again." in bench.told(page)
    assert bench.action() == "Start measuring"


def test_without_controls_the_page_says_what_to_do_instead(bench):
    bench.engine.controls = ()
    bench.look()
    page = bench.open("pace")
    bench.rest()
    assert "No control was found here" in bench.told(page)
    assert "answer the questions about the delay" in bench.told(page)
    assert page.pick.picked == "window"


def test_what_nobody_may_read_is_measured_over_a_field_in_the_window(bench, qtbot):
    bench.engine.controls = ()
    bench.look()
    page = bench.open("pace")
    bench.rest()
    assert not page.field.isVisible()
    bench.window.press_primary()
    QApplication.processEvents()
    assert page.field.isVisible()
    for step in range(4):
        qtbot.mouseMove(page.field, QPoint(20 + 10 * step, 20))
    bench.rest()
    assert not page.field.isVisible()
    assert "Measured inside this window." in bench.told(page)
    bench.window.press_primary()
    bench.rest()
    assert bench.session.case.observations["report_gap_ms"] == 300.0


def test_a_control_that_can_be_read_is_not_measured_over_the_field(bench):
    bench.look()
    page = bench.open("pace")
    bench.rest()
    assert page.pick.picked == "/dev/input/event4"  # the field is offered after it, for the one that may not be read
    assert "window" in page.pick._choices
    bench.window.press_primary()
    bench.rest()
    assert not page.field.isVisible()


def test_leaving_a_measurement_of_pace_stops_it(bench, qtbot):
    stopped = threading.Event()

    def endless(device, stop, tell):
        while not stop():
            threading.Event().wait(0.01)
        stopped.set()
        return bench.engine.paced

    bench.engine.pace = endless
    bench.look()
    bench.open("pace")
    bench.rest()
    bench.window.press_primary()
    bench.window.press_back()
    assert stopped.wait(2)
    bench.rest()


def test_the_chain_of_a_drive_shows_where_it_breaks(bench):
    bench.look()
    page = bench.open("drive")
    bench.window.press_primary()
    bench.rest()
    told = bench.told(page)
    assert "A file system is known: no, the chain breaks here" in told
    assert "Copy first." in told
    assert "Its files can be reached: not known" in told
    bench.window.press_primary()
    bench.rest()
    assert bench.session.case.observations["volume"] == "foreign_filesystem"


def test_no_drive_on_the_bus_is_a_finding_and_not_a_dead_end(bench):
    bench.engine.drives = ()
    bench.look()
    page = bench.open("drive")
    assert "No drive was seen" in bench.told(page)
    bench.window.press_back()
    assert bench.session.place == "look"


def test_where_there_is_no_bus_a_missing_drive_is_no_finding(bench):
    bench.engine.live = Look()
    bench.engine.drives = ()
    bench.look()
    page = bench.open("drive")
    assert "There is no USB bus to read here" in bench.told(page)
    assert "No drive was seen" not in bench.told(page)


def test_what_this_pc_shows_is_not_taken_into_the_case_of_a_demo(bench):
    bench.window.pages["look"].look_wanted.emit(Source("demo", "bench"), "")
    bench.rest()
    bench.open("pace")
    bench.rest()
    bench.window.press_primary()
    bench.rest()
    assert bench.action() == "Back to where I was"
    bench.window.press_primary()
    assert "report_gap_ms" not in bench.session.case.observations


def test_one_more_is_reckoned_in_words(bench):
    bench.look()
    page = bench.open("fit")
    bench.window.press_primary()
    bench.rest()
    assert "Yes: 2 more fit." in bench.told(page)


def test_a_command_for_another_computer_can_be_copied(bench):
    page = bench.open("exports")
    copy = next(b for b in page.findChildren(QPushButton) if b.text() == "Copy")
    copy.click()
    assert QApplication.clipboard().text().startswith("& { Get-PnpDevice")
    assert copy.text() == "Copied"


def test_labels_for_the_sockets_are_shown_and_saved_to_print(bench, tmp_path):
    bench.look()
    page = bench.open("labels")
    bench.rest()
    assert [what for _where, what in page.labels] == ["hub", "sound only", "free"]
    path = tmp_path / "labels.pdf"
    page.save_wanted.emit(str(path))
    assert path.read_bytes().startswith(b"%PDF")
    assert "Saved as" in bench.told(page)


def test_labels_that_cannot_be_written_are_said_to_be_so(bench, tmp_path):
    bench.look()
    page = bench.open("labels")
    bench.rest()
    page.save_wanted.emit(str(tmp_path / "missing" / "labels.pdf"))
    assert "can't be written" in bench.told(page)


def test_a_wall_of_sockets_takes_several_sheets(tmp_path):
    from wizard.desktop.printing import sheets, write_labels

    labels = [(f"rear {n}", "M" * 200) for n in range(100)]
    assert sheets(labels) == 3
    pages = pypdf.PdfReader(write_labels(labels, tmp_path / "many.pdf")).pages
    assert len(pages) == 3


def test_a_file_of_devices_from_another_computer_makes_the_case_about_that_one(bench, monkeypatch):
    bench.engine.read_log = lambda path: "[devices of another PC]"
    bench.window.pages["look"].look_wanted.emit(Source("live"), "/home/user/usb-devices.json")
    bench.rest()
    assert bench.session.case.source == "captured"
    assert bench.session.source == Source("captured", "/home/user/usb-devices.json")
    assert not bench.window.pages["look"].checks.isVisible()


def test_back_from_beside_a_question_finds_it_as_it_was_left(bench):
    bench.look()
    bench.window.press_primary()
    bench.window.press_primary()
    bench.rest()
    questions = bench.window.pages["questions"]
    questions.answered.emit("hub_between", "one")
    bench.rest()
    questions._ticks["random"].click()
    bench.open("watch")
    bench.window.press_back()
    bench.rest()
    assert bench.session.place == "questions"
    assert questions._ticked() == ("random",)
    assert bench.session.asked == ("hub_between",)


def test_a_question_that_a_measurement_answers_offers_it_on_this_pc_only(bench, monkeypatch):
    from wizard.desktop.pages import questions as module

    monkeypatch.setitem(module.MEASURED, "hub_between", "pace")
    bench.look()
    bench.window.press_primary()
    bench.window.press_primary()
    bench.rest()
    row = bench.window.pages["questions"].measure
    assert row.isVisible()
    row.buttons["pace"].click()
    assert bench.session.place == "pace"
    bench.window.press_back()
    bench.window.new_wanted.emit()
    bench.window.pages["trouble"].chosen.emit(("dropout",), None)
    bench.window.press_primary()
    bench.window.pages["look"].look_wanted.emit(Source("demo", "bench"), "")
    bench.rest()
    bench.window.press_primary()
    bench.window.press_primary()
    bench.rest()
    assert not row.isVisible()
