"""The first page before anything else is loaded: it can be used at once, and nothing done to it is lost."""

import subprocess
import sys
import threading

import pytest

from wizard.bus.errors import RulebookError
from wizard.desktop.opening import Opening, symptom_offers
from wizard.desktop.presenter import Presenter
from wizard.desktop.window import Window
from wizard.store import resources

FIRST_PAGE = """
import sys
from PySide6.QtCore import QTimer
from wizard.desktop import app
from wizard.desktop.opening import Opening
application = app.application(["portmend"])
Opening._load_rest = lambda self: None
opening = app.open_window()
seen = []
QTimer.singleShot(200, lambda: (seen.append(opening.window.pages["trouble"].isVisible()), application.quit()))
application.exec()
assert seen == [True]
print(sorted({m.partition(".")[0] for m in sys.modules} & {"pydantic", "numpy", "highspy", "usb"}))
"""


@pytest.fixture
def opening(qtbot, engine):
    window = Window()
    qtbot.addWidget(window)
    opening = Opening(window)
    opening.gate = threading.Event()

    def load():
        opening.gate.wait(10)
        return Presenter, engine

    opening.load = load
    window.show()
    opening.start()
    qtbot.wait(50)
    yield opening
    opening.gate.set()
    window.close()


def finish(qtbot, opening):
    with qtbot.waitSignal(opening.ready, timeout=5000):
        opening.gate.set()
    assert opening.presenter.rest(10)


def test_the_first_page_offers_what_the_rulebook_offers(qtbot):
    from wizard.wiring import load_services

    services = load_services()
    assert [o.symptom for o in symptom_offers()] == [s.id for s in services.rulebook.symptoms]
    assert [o.title for o in symptom_offers()] == [
        services.texts[f"symptom.{s.id}.title"] for s in services.rulebook.symptoms
    ]


def test_the_first_page_stands_without_anything_heavy():
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", FIRST_PAGE], capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.returncode, done.stdout) == (0, "[]\n"), done.stderr


def test_what_was_ticked_while_the_rest_was_loading_is_kept_with_the_first_as_the_worst(qtbot, opening):
    page = opening.window.pages["trouble"]
    page._choices["dropout"].click()
    page._choices["lag"].click()
    assert page.worst() == "dropout"
    finish(qtbot, opening)
    assert opening.presenter.session.ticked == ("dropout", "lag")
    assert page is opening.window.pages["trouble"]


def test_going_on_while_the_rest_is_loading_goes_on_once_it_is_there(qtbot, opening):
    opening.window.pages["trouble"]._choices["lag"].click()
    opening.window.press_primary()
    assert opening.window._first.text() == "One moment…"
    finish(qtbot, opening)
    assert opening.presenter.session.page == "look"
    opening.window.press_back()
    assert opening.presenter.session.page == "trouble"


def test_a_rulebook_that_cannot_be_read_is_said_in_the_window(qtbot, opening):
    def load():
        raise RulebookError(("causes.toml, cause 3: unknown symptom 'lagg'",))

    opening.load = load
    opening._load_rest()
    qtbot.waitUntil(lambda: "unknown symptom" in opening.window._wait.text(), timeout=5000)


def test_first_page_files_that_are_broken_leave_it_to_the_rulebook_to_complain(tmp_path):
    assert symptom_offers(tmp_path) == ()
    for folder in ("rulebook", "texts/en"):
        (tmp_path / folder).mkdir(parents=True)
        source = resources.root() / folder / "symptoms.toml"
        (tmp_path / folder / "symptoms.toml").write_text(source.read_text("utf-8"), "utf-8")
    assert symptom_offers(tmp_path) != ()
    (tmp_path / "texts/en/symptoms.toml").write_text("[symptom.lag]\ntitle = 3\n", "utf-8")
    assert symptom_offers(tmp_path) == ()
