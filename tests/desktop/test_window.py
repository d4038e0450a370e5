"""The window, driven as a user drives it, over the hand-written engine: Back, stale content, cancel, bad news."""

import threading
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QPushButton

from wizard.bus.errors import RulebookError
from wizard.bus.model import Snapshot
from wizard.case.model import Case
from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import PAGES, Source
from wizard.desktop.widgets.card import Card
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.widgets.text import Text
from wizard.desktop.window import Window
from wizard.plan.arrange.options import Arrangements

HOSTILE = "<b>Bold</b><img src='x'>&amp;"


class Desk:
    """A window with its presenter, and the hands that press its buttons."""

    def __init__(self, qtbot, engine) -> None:
        self.qtbot = qtbot
        self.engine = engine
        self.window = Window()
        qtbot.addWidget(self.window)
        self.presenter = Presenter(self.window, Runner(), lambda: engine)
        self.faults = []
        self.presenter.boundary.heard.connect(self.faults.append)
        self.window.show()
        self.presenter.start()
        self.rest()

    def rest(self):
        assert self.presenter.rest(10)
        QApplication.processEvents()  # Qt shows what was put into a layout only then

    @property
    def session(self):
        return self.presenter.session

    @property
    def page(self):
        return self.window.pages[self.session.page]

    def go(self):
        self.window.press_primary()
        self.rest()

    def back(self):
        self.window.press_back()
        self.rest()

    def choose(self, text):
        """Press the choice or button that begins with this text."""
        for button in [*self.page.findChildren(Choice), *self.page.findChildren(QPushButton)]:
            if button.isVisible() and button.text().replace("&", "").startswith(text.replace("&", "")):
                self.qtbot.mouseClick(button, Qt.MouseButton.LeftButton, pos=QPoint(8, 8))
                self.rest()
                return
        raise AssertionError(f"no {text!r} on the page {self.session.page!r}")

    def texts(self):
        """All the words that can be seen on the page."""
        labels = [w.text() for w in self.page.findChildren(QLabel) if w.isVisible()]
        return "\n".join(labels + [b.text() for b in self.page.findChildren(Choice) if b.isVisible()])

    def to_ledger(self):
        self.choose("It drops out")
        self.go()
        self.go()
        self.go()

    def to_findings(self):
        self.to_ledger()
        self.go()
        self.window.press_secondary()
        self.rest()


@pytest.fixture
def desk(qtbot, engine):
    desk = Desk(qtbot, engine)
    yield desk
    desk.window.close()
    assert desk.faults == []


def test_a_walk_through_every_page_with_a_demo_ends_in_solved_and_a_report(desk, tmp_path):
    seen = [desk.session.page]
    desk.choose("Input arrives late")
    desk.go()
    seen.append(desk.session.page)
    desk.choose("A demo")
    desk.go()
    assert "Seen: 1 controller, 1 hub, 2 devices" in desk.texts()
    for _ in range(2):
        desk.go()
        seen.append(desk.session.page)
    assert "In this demo its user would say" in desk.texts()
    desk.choose("Yes, one")
    desk.choose("When a stream starts")
    desk.go()
    desk.choose("3 m")
    assert "How to do it safely" in desk.texts()
    desk.choose("No change")
    seen.append(desk.session.page)
    for _ in range(2):
        desk.go()
        seen.append(desk.session.page)
    desk.go()
    desk.page._outcomes["gone"].click()
    desk.rest()
    assert "Gone so far" in desk.texts()
    assert "only then is it solved" in desk.texts()
    desk.go()
    seen.append(desk.session.page)
    assert tuple(seen) == PAGES
    assert desk.page.preview.toPlainText() == "A report of dropout, keeping nothing."
    desk.page.save_to(str(tmp_path / "r.html"))
    desk.rest()
    assert desk.engine.reports == [(tmp_path / "r.html", frozenset())]
    assert desk.engine.saved[-1][0].symptom == "lag"  # the demo itself is nobody's trouble


def test_the_report_keeps_serial_numbers_only_if_ticked(desk):
    desk.to_findings()
    for _ in range(2):
        desk.go()
    desk.window.press_secondary()
    desk.rest()
    desk.page.serials.click()
    desk.rest()
    assert desk.page.preview.toPlainText() == "A report of dropout, keeping serials."


def test_the_worst_is_asked_for_once_two_are_ticked(desk):
    desk.choose("Input arrives late")
    assert "Which of them is the worst?" not in desk.texts()
    desk.choose("It drops out")
    assert "Which of them is the worst?" in desk.texts()
    assert desk.session.ticked == ("lag", "dropout")


def test_nothing_stale_is_shown_after_back_and_another_symptom(desk):
    desk.to_findings()
    while desk.session.page != "trouble":
        desk.back()
    desk.choose("It drops out")
    desk.choose("Input arrives late")
    assert desk.session.advice is not None
    assert desk.session.case.symptom == "lag"
    assert desk.session.reached == "trouble"


def test_another_look_replaces_tree_ledger_and_findings(desk):
    desk.to_findings()
    assert desk.window.pages["ledger"].table.rows.rowCount() == 2
    desk.window.jump.emit("look")
    desk.engine.live = desk.engine.live.model_copy(update={"ledger": desk.engine.live.ledger[:1]})
    desk.choose("Look again or elsewhere")
    desk.go()
    desk.go()
    assert desk.page.table.rows.rowCount() == 1


def test_back_shows_the_given_answer_marked(desk):
    desk.to_ledger()
    desk.go()
    desk.choose("Yes, one")
    desk.back()
    chosen = [c.text() for c in desk.page.findChildren(Choice) if c.isVisible() and c.isChecked()]
    assert chosen == ["Yes, one"]
    desk.go()
    assert "When does it happen?" in desk.texts()


def test_a_key_answers_and_a_double_click_answers_only_once(desk):
    desk.to_ledger()
    desk.go()
    desk.window.activateWindow()
    desk.qtbot.keyClick(desk.window, "2")
    desk.qtbot.waitUntil(lambda: desk.session.case.observations == {"hub_between": "one"}, timeout=3000)
    desk.rest()
    desk.back()
    choice = next(c for c in desk.page.findChildren(Choice) if c.isVisible() and c.text().startswith("No,"))
    desk.qtbot.mouseClick(choice, Qt.MouseButton.LeftButton, pos=QPoint(8, 8))
    place = choice.mapTo(desk.window, QPoint(8, 8))
    desk.rest()
    under = desk.window.childAt(place)
    desk.qtbot.mouseDClick(under, Qt.MouseButton.LeftButton)
    desk.rest()
    assert desk.session.case.observations == {"hub_between": "none"}


def test_no_bus_is_said_plainly_and_the_demo_is_offered(desk):
    desk.engine.live = desk.engine.live.model_copy(update={"snapshot": Snapshot(), "ledger": ()})
    desk.choose("It drops out")
    desk.go()
    desk.go()
    assert "There is no USB bus to read here." in desk.texts()
    assert desk.page.sources.kind == "demo"
    desk.choose("No look at all")
    desk.go()
    assert desk.session.page == "questions"
    desk.back()
    assert desk.session.page == "look"


def test_a_look_can_be_stopped_and_taken_again(desk):
    let_go = threading.Event()
    normal = desk.engine.look_live

    def stuck(watcher, log):
        watcher.progress("Waiting for a device", None)
        let_go.wait(10)
        return normal(watcher, log)

    desk.engine.look_live = stuck
    desk.choose("It drops out")
    desk.go()
    desk.window.press_primary()
    desk.qtbot.waitUntil(lambda: "Waiting for a device" in desk.texts(), timeout=3000)
    assert not desk.window._first.isEnabled()
    desk.choose("Stop looking")
    assert desk.session.look is None
    let_go.set()
    desk.engine.look_live = normal
    desk.go()
    assert desk.session.has_bus


def test_back_during_a_look_leaves_and_the_late_result_is_dropped(desk):
    let_go = threading.Event()
    normal = desk.engine.look_live
    desk.engine.look_live = lambda watcher, log: (let_go.wait(10), normal(watcher, log))[1]
    desk.choose("It drops out")
    desk.go()
    desk.window.press_primary()
    desk.window.press_back()
    let_go.set()
    desk.rest()
    assert desk.session.page == "trouble"
    assert desk.session.look is None


def test_closing_while_a_look_is_stuck_is_quick(qtbot, engine):
    import time

    desk = Desk(qtbot, engine)
    let_go = threading.Event()
    engine.look_live = lambda watcher, log: let_go.wait(30)
    desk.choose("It drops out")
    desk.go()
    desk.window.press_primary()
    began = time.monotonic()
    desk.window.close()
    assert time.monotonic() - began < 1
    let_go.set()


def test_a_capture_that_can_not_be_read_is_one_sentence_and_nothing_is_lost(desk):
    desk.choose("It drops out")
    desk.go()
    desk.choose("A capture of another PC")
    assert not desk.window._first.isEnabled()
    desk.page.sources.pick_capture("/somewhere/empty")
    desk.go()
    assert desk.window._problem_words.text().startswith("/somewhere/empty: there is no 'sys' in it.")
    desk.page.sources.pick_capture("/somewhere/good")
    desk.go()
    assert desk.session.has_bus
    assert not desk.window._problem.isVisible()


def test_hostile_names_are_shown_as_they_are(desk):
    desk.choose("It drops out")
    desk.go()
    desk.choose("A capture of another PC")
    desk.page.sources.pick_capture(f"/x/{HOSTILE.replace('/', '|')}")
    desk.go()
    named = HOSTILE.replace("/", "|")
    plugs = [h.plug for h in desk.page.map.view.picture.holes.values() if h.plug is not None]
    assert [p.name for p in plugs].count(named) == 1
    desk.choose("As text")
    assert named in desk.page.map.listing.toPlainText()
    desk.go()
    desk.page.table.selectRow(0)
    assert named in desk.texts()
    assert all(w.textFormat() == Qt.TextFormat.PlainText for w in desk.window.findChildren(QLabel) if w.text())


def test_ticking_a_device_makes_it_the_subject(desk):
    desk.choose("It drops out")
    desk.go()
    desk.go()
    desk.page.map.tools.search.setText("camera")
    desk.qtbot.keyClick(desk.page.map.canvas, Qt.Key.Key_T)
    desk.rest()
    assert desk.session.case.subject == ("1-1.2",)
    assert desk.page.map.view.ticks == {"1-1.2"}
    desk.qtbot.keyClick(desk.page.map.canvas, Qt.Key.Key_T)
    desk.rest()
    assert desk.session.case.subject == ()


def test_the_ledger_puts_the_overdrawn_first_and_calls_the_unknown_unknown(desk):
    desk.to_ledger()
    states = [row.cells[0] for row in desk.page.table.rows.rows]
    assert states == ["overdrawn", "unknown"]
    assert "550 mA too much" in desk.texts()
    desk.page.table.selectRow(1)
    assert "unknown" in desk.texts()


def test_every_change_is_saved_and_always_to_the_same_file(desk):
    desk.to_ledger()
    desk.go()
    desk.choose("Yes, one")
    files = {path for _, path in desk.engine.saved[1:]}
    assert desk.engine.saved[0][1] is None
    assert files == {Path("dropout-1.json")}
    assert desk.engine.saved[-1][0].observations == {"hub_between": "one"}


def test_a_new_case_gets_a_file_of_its_own(desk):
    desk.to_ledger()
    desk.window.new_wanted.emit()
    desk.rest()
    assert desk.session.case is None
    saved = len(desk.engine.saved)
    desk.to_ledger()
    assert desk.engine.saved[saved][1] is None


def test_closing_waits_for_the_save_under_way(qtbot, engine):
    desk = Desk(qtbot, engine)
    written = []

    def slow(case, path):
        import time

        time.sleep(0.3)
        written.append(case)
        return Path("slow.json")

    engine.save_case = slow
    desk.choose("It drops out")
    desk.window.press_primary()
    desk.window.close()
    assert [case.symptom for case in written] == ["dropout"]


def test_a_case_that_can_not_be_opened_is_one_sentence(desk):
    desk.presenter.open_case(Path("broken.json"))
    desk.rest()
    assert desk.window._problem_words.text() == "broken.json: it is empty. Choose another file."


def test_the_last_case_is_offered_and_goes_on_where_it_stopped(qtbot, engine):
    saved = Case(
        symptom="lag", observations={"hub_between": "one"}, asked=("hub_between",), snapshot=engine.live.snapshot
    )
    engine.last_case = lambda: Path("2024-01-01-lag.json")
    engine.open_case = lambda path: saved
    desk = Desk(qtbot, engine)
    assert "2024-01-01-lag" in desk.texts()
    desk.choose("Go on with it")
    assert desk.session.page == "questions"
    assert "When does it happen?" in desk.texts()
    desk.window.close()


@pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")
def test_a_fault_of_our_own_is_told_with_the_details_and_where_the_case_is(desk, a_home_of_its_own):
    from PySide6.QtWidgets import QMessageBox

    def broken(case):
        raise RuntimeError("invented fault")

    desk.choose("It drops out")
    desk.engine.advise = broken
    desk.go()
    desk.go()
    box = desk.window.findChildren(QMessageBox)[0]
    assert "Your case is saved in dropout-1.json" in box.informativeText()
    details = next(a_home_of_its_own.rglob("portmend-fault-*.txt"))
    assert str(details) in box.informativeText()
    assert "invented fault" in details.read_text()
    assert desk.faults == ["RuntimeError: invented fault"]
    desk.faults.clear()
    box.close()


def test_a_rulebook_that_does_not_load_is_said_in_the_window(qtbot):
    def broken():
        raise RulebookError(("rules_power.toml, rule hub_over: unknown cause 'hub'",))

    window = Window()
    qtbot.addWidget(window)
    presenter = Presenter(window, Runner(), broken)
    window.show()
    presenter.start()
    assert presenter.rest(10)
    assert "unknown cause 'hub'" in window._wait.text()
    window.close()


def test_marks_of_the_plan_are_kept_and_the_next_step_moves_on(desk):
    desk.to_findings()
    desk.go()
    assert "Step 1: this one next" in desk.texts()
    desk.choose("It did not help")
    assert desk.session.case.marks == {"move_plug": "did_not_help"}
    assert "Step 1: done, and it did not help" in desk.texts()
    assert "Step 2: this one next" in desk.texts()


def test_cautions_stand_before_what_to_do(desk):
    desk.to_findings()
    desk.go()
    labels = [w.text() for w in desk.page.findChildren(QLabel) if w.isVisible()]
    assert labels.index("Save your work first.") < labels.index("Do move_plug.")


def test_a_check_that_did_not_help_leads_back_to_the_plan(desk):
    desk.to_findings()
    desk.go()
    desk.go()
    desk.go()
    desk.page._outcomes["same"].click()
    desk.rest()
    assert "No better" in desk.texts()
    desk.go()
    assert desk.session.page == "plan"


def test_the_rail_says_where_one_is_and_jumps_back(desk):
    desk.to_ledger()
    rail = desk.window._rail
    assert [s.state for s in rail._shown] == ["done", "done", "here", *["ahead"] * 5]
    rail.pressed.emit("trouble")
    desk.rest()
    assert desk.session.page == "trouble"
    rail.pressed.emit("report")
    desk.rest()
    assert desk.session.page == "trouble"


def test_a_log_goes_into_the_look_and_the_case(desk, tmp_path):
    seen = []
    normal = desk.engine.look_live
    desk.engine.look_live = lambda watcher, log: (seen.append(log), normal(watcher, log))[1]
    desk.choose("It drops out")
    desk.go()
    desk.page.sources.add_log(str(tmp_path / "log.txt"))
    desk.go()
    assert seen == ["a line of a log"]
    assert desk.session.case.log == "a line of a log"


def test_the_source_that_was_picked_is_what_is_looked_at(desk):
    desk.choose("It drops out")
    desk.go()
    desk.choose("A demo")
    desk.go()
    assert desk.session.source == Source("demo", "bench")


def test_a_check_with_a_capture_of_another_machine_says_so_and_gives_no_verdict(desk):
    desk.choose("It drops out")
    desk.go()
    desk.choose("A capture of another PC")
    desk.page.sources.pick_capture("/here")
    desk.go()
    desk.go()
    desk.go()
    desk.window.press_secondary()
    desk.rest()
    desk.go()
    desk.go()
    first = desk.engine.live.snapshot
    other = first.model_copy(update={"system": first.system.model_copy(update={"board_model": "Other board"})})
    desk.engine.look_captured = lambda *of: desk.engine.live.model_copy(update={"snapshot": other})
    desk.page.take_capture("/there")
    desk.rest()
    assert "This is another machine" in desk.texts()
    assert not any(button.isVisible() for button in desk.page._outcomes.values())
    assert "Gone so far" not in desk.texts()


def test_answers_that_do_not_agree_are_shown_with_the_reason_and_can_be_changed(desk):
    desk.to_ledger()
    desk.go()
    desk.choose("No, straight into the PC")
    desk.choose("When a stream starts")
    desk.go()
    assert "Without a hub a stream can't starve." in desk.texts()
    desk.window.press_secondary()
    desk.rest()
    assert desk.session.page == "findings"
    assert "Without a hub a stream can't starve." in desk.texts()
    desk.choose("Change that answer")
    assert "Is there a hub in between?" in desk.texts()
    desk.choose("Yes, one")
    assert desk.session.page == "findings"
    assert "do not agree" not in desk.texts()
    assert desk.session.case.observations == {"hub_between": "one", "when": ("stream_start",)}


def test_only_answers_that_say_something_are_counted(desk):
    desk.to_ledger()
    desk.go()
    desk.choose("I don’t know")
    desk.choose("At random")
    desk.go()
    desk.window.press_secondary()
    desk.rest()
    assert "From 1 answer and the look." in desk.texts()


def test_don_t_knows_alone_are_no_answers(desk):
    desk.choose("It drops out")
    desk.go()
    desk.choose("No look at all")
    desk.go()
    for _ in range(4):
        desk.choose("I don’t know")
    assert desk.session.page == "findings"
    assert "Nothing is known yet" in desk.texts()
    assert "answers" not in desk.page.words.text()


def with_a_hub_to_buy(engine):
    """One way with two moves and a hub to buy, and a budget that can't be held without it: all of it invented."""
    feed = engine.live.ledger[1].model_copy(update={"limit": 1000.0, "state": "room"})
    moves = [
        {"device": "1-1.2", "from": "1-1.2", "to": None},
        {"device": "1-1.1", "from": "1-1.1", "to": "1-1.2", "forgets": True, "memory": "camera"},
    ]
    hub = {"id": "new", "kind": "hub_usb3", "spend": "low", "sockets": 4, "generation": "usb3", "supply_ma": 2000,
           "cable_m": 1.0, "at": "1-1"}  # fmt: skip
    option = {"kind": "purchase", "moves": moves, "adds": [hub], "after": [feed.model_dump(by_alias=True)],
              "settings": "current", "proven_best": True}  # fmt: skip
    return Arrangements.model_validate({"options": [option], "clash": ["hub_supply@1-1"]})


def card_of(desk, number):
    return next(c for c in desk.page.findChildren(Card) if c.accessibleName() == f"Step {number}")


def words_of(card):
    return "\n".join(t.text() for t in card.findChildren(Text))


def test_what_is_to_be_bought_is_a_step_below_the_free_ones_with_cautions_and_purchases_before_the_moves(desk):
    desk.engine.arranged = with_a_hub_to_buy(desk.engine)
    desk.to_findings()
    desk.go()
    desk.rest()
    free = [s for s in desk.session.advice.plan.steps if s.spend == "none" and s.cures]
    told = words_of(card_of(desk, len(free) + 1))
    wanted = (
        "Save your work",
        "To buy: A USB 3 hub with a supply of its own: at least 4 sockets, 2 A at 5 V",
        "1. Camera: Lay it aside",
        "from socket 1 of Desk hub to socket 2 of Desk hub.",
    )
    places = [told.find(words) for words in wanted]
    assert -1 not in places, wanted[places.index(-1)]
    assert places == sorted(places)
    why = (
        "Without buying anything, no arrangement holds all of these together:",
        "What the hub can feed: Desk hub (1-1)",
        "What the hub can feed, Desk hub (1-1): 950 mA of 1000 mA",
        "It holds for what the devices use now.",
        "Nothing with fewer moves exists",
    )
    assert all(words in told for words in why)


def test_a_free_arrangement_is_the_first_step_and_the_next_follows_once_it_was_tried(desk):
    bought = with_a_hub_to_buy(desk.engine).options[0]
    free = bought.model_copy(update={"kind": "free", "adds": (), "moves": bought.moves[1:]})
    desk.engine.arranged = Arrangements(options=(free,))
    desk.to_findings()
    desk.go()
    desk.rest()
    assert "from socket 1 of Desk hub to socket 2 of Desk hub." in words_of(card_of(desk, 1))
    assert "Step 1: this one next" in desk.texts()
    desk.page.marked.emit("arrangement", "did_not_help")
    desk.rest()
    assert "Step 2: this one next" in desk.texts()


def test_where_nothing_is_overdrawn_nothing_is_said_of_plugs(desk):
    desk.to_findings()
    desk.go()
    assert desk.engine.asked_to_arrange == 1
    assert not desk.page.arrangement.isVisible()


def test_a_search_that_found_nothing_in_time_says_so(desk):
    desk.engine.arranged = Arrangements(unfinished=True)
    desk.to_findings()
    desk.go()
    assert "No arrangement was found in the time there was." in desk.texts()


def unplugged(engine):
    """The next look finds one device fewer."""
    now = engine.live.snapshot
    engine.live = engine.live.model_copy(update={"snapshot": now.model_copy(update={"devices": now.devices[:-1]})})


@pytest.fixture
def slow_search(desk):
    """A search that goes on until it is called off or let go."""
    let_go, stopped = threading.Event(), []

    def arrange(case, stop):
        desk.engine.asked_to_arrange += 1
        while not let_go.wait(0.01):
            if stop():
                stopped.append(case)
                break
        return with_a_hub_to_buy(desk.engine)

    desk.engine.arrange = arrange
    desk.to_findings()
    desk.window.press_primary()
    desk.qtbot.waitUntil(lambda: "Looking for the best arrangement…" in desk.texts(), timeout=5000)
    yield let_go, stopped
    let_go.set()


def test_the_search_holds_nothing_up_and_can_be_cancelled_at_once_and_taken_up_again(desk, slow_search):
    let_go, stopped = slow_search
    assert "Step 1: this one next" in desk.texts()
    desk.qtbot.mouseClick(desk.page.arrangement.stop, Qt.MouseButton.LeftButton)
    assert "was cancelled" in desk.texts()
    desk.qtbot.waitUntil(lambda: len(stopped) == 1, timeout=3000)
    desk.choose("Done")
    assert "was cancelled" in desk.texts()
    assert desk.engine.asked_to_arrange == 1
    let_go.set()
    desk.choose("Look for it")
    assert "2. Filter wheel: " in desk.texts()


def test_marking_a_step_does_not_begin_the_search_anew_and_another_look_calls_it_off(desk, slow_search):
    _, stopped = slow_search
    desk.page.marked.emit("move_plug", "did_not_help")
    desk.qtbot.waitUntil(lambda: not desk.session.advice_due, timeout=3000)
    assert desk.engine.asked_to_arrange == 1
    unplugged(desk.engine)
    desk.window.jump.emit("look")
    desk.page.look_wanted.emit(Source("live"), "")
    desk.qtbot.waitUntil(lambda: len(stopped) == 1, timeout=3000)
    assert desk.session.arranged is None


def test_an_arrangement_goes_as_soon_as_the_case_is_about_another_desk(desk):
    desk.engine.arranged = with_a_hub_to_buy(desk.engine)
    desk.to_findings()
    desk.go()
    desk.engine.arranged = Arrangements()
    unplugged(desk.engine)
    desk.window.jump.emit("look")
    desk.choose("Look again or elsewhere")
    desk.go()
    assert desk.session.arranged is None
    desk.go()
    desk.go()
    desk.window.press_secondary()
    desk.rest()
    desk.go()
    assert desk.session.page == "plan"
    assert not desk.page.arrangement.isVisible()


def test_a_step_that_helped_asks_for_a_check_before_anything_else(desk):
    desk.to_findings()
    desk.go()
    desk.choose("It helped")
    assert "A step helped. Check again now" in desk.texts()
    assert "this one next" not in desk.texts()
    assert desk.window._first.text().replace("&", "") == "Check again now"
    desk.choose("Check again")
    assert desk.session.page == "again"
    desk.go()
    desk.page._outcomes["better"].click()
    desk.rest()
    desk.go()
    assert "Step 2: this one next" in desk.texts()


def test_a_marked_step_keeps_its_place(desk):
    advise = desk.engine.advise

    def marked_last(case):
        advice = advise(case)
        steps = sorted(advice.plan.steps, key=lambda step: step.id in case.marks)
        return advice.model_copy(update={"plan": advice.plan.model_copy(update={"steps": tuple(steps)})})

    desk.engine.advise = marked_last
    desk.to_findings()
    desk.go()
    desk.choose("It did not help")
    assert [s.id for s in desk.session.advice.plan.steps] == ["move_plug", "other_hub"]
    assert "Step 1: done, and it did not help" in desk.texts()


def test_no_page_has_a_mnemonic_twice(desk):
    """Two visible controls with one mnemonic: the key then only moves between them and presses neither."""

    def check():
        controls = [b for b in desk.window.findChildren(QAbstractButton) if b.isVisible() and b.isEnabled()]
        texts = [b.text() for b in controls] + [action.text() for action in desk.window.menuBar().actions()]
        keys = [key for text in texts if (key := QKeySequence.mnemonic(text).toString())]
        assert sorted(keys) == sorted(set(keys)), (desk.session.page, texts)
        pages.add(desk.session.page)

    pages = set()
    check()
    desk.choose("It drops out")
    desk.go()
    for source in ("live", "captured", "demo", "saved", "none"):
        desk.page.sources.pick(source)
        check()
    desk.page.sources.pick("live")
    desk.page.show_looking(True)
    check()
    desk.page.show_looking(False)
    desk.go()
    check()
    desk.choose("Look again or elsewhere")
    check()
    desk.window.press_secondary()
    desk.go()
    check()
    desk.go()
    check()
    desk.choose("No, straight into the PC")
    desk.choose("When a stream starts")
    desk.go()
    check()
    desk.choose("3 m")
    check()
    desk.window.press_secondary()
    desk.rest()
    check()
    desk.go()
    desk.choose("It helped")
    check()
    desk.go()
    check()
    desk.page.show_looking(True)
    check()
    desk.page.show_looking(False)
    desk.go()
    check()
    for outcome in ("same", "gone"):
        desk.page._outcomes[outcome].click()
        desk.rest()
        check()
    desk.go()
    check()
    assert pages == set(PAGES)


def test_checking_again_after_a_step_takes_one_press(desk):
    desk.to_findings()
    desk.go()
    desk.choose("It helped")
    looks = desk.session.after
    assert looks is None
    desk.go()
    assert desk.session.page == "again"
    assert desk.session.after is not None
    assert desk.session.comparison is not None
