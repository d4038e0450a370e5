"""The window over the real rulebook: the demos and a captured tree, from the first page to the report."""

import json
from pathlib import Path

import pytest

from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.walk import walk_demos
from wizard.desktop.window import Window
from wizard.desktop.wired import WiredEngine
from wizard.diagnosis.rulebook import UNKNOWN

CAPTURES = Path(__file__).parent.parent / "reference" / "captures"


@pytest.fixture(scope="module")
def engine():
    return WiredEngine()


@pytest.fixture
def presenter(qtbot, engine):
    window = Window()
    qtbot.addWidget(window)
    presenter = Presenter(window, Runner(), lambda: engine)
    faults = []
    presenter.boundary.heard.connect(faults.append)
    presenter.start()
    assert presenter.rest(20)
    yield presenter
    window.close()
    assert faults == []


def test_every_demo_goes_through_every_page_and_ends_as_its_story_says(qapp, engine):
    assert walk_demos(lambda: engine) == []


def test_walking_the_demos_saves_no_case_of_anybody(qapp, engine):
    from wizard.store.cases import saved_cases

    walk_demos(lambda: engine)
    assert saved_cases() == ()


@pytest.mark.parametrize("name", ["basic", "bw-xhci", "deep"])
def test_a_captured_tree_goes_from_the_look_to_a_saved_report(presenter, tmp_path, name):
    capture = CAPTURES / f"{name}.tar.gz"
    pages = presenter.window.pages
    pages["trouble"].chosen.emit(("dropout",), None)
    presenter.window.press_primary()
    pages["look"].look_wanted.emit(Source("captured", str(capture)), "")
    assert presenter.rest(20)
    assert presenter.session.has_bus
    presenter.window.press_primary()
    assert pages["ledger"].table.rows.rowCount() > 3
    presenter.window.press_primary()
    for _ in range(12):
        presenter.rest(20)
        shown = presenter.flow.question(presenter.session)
        if presenter.session.page != "questions" or shown is None:
            break
        pages["questions"].answered.emit(shown.question.observation, UNKNOWN)
    presenter.rest(20)
    assert presenter.session.page == "findings"
    assert abs(sum(c.share for c in presenter.session.advice.causes) - 1) < 0.001  # by the definition of a share
    presenter.window.press_primary()
    assert presenter.session.advice.plan.steps
    for ending in ("html", "pdf", "txt", "json"):
        pages["report"].save_to(str(tmp_path / f"r.{ending}"))
        presenter.rest(20)
        assert (tmp_path / f"r.{ending}").stat().st_size > 500
    assert json.loads((tmp_path / "r.json").read_text())["schema"] == "portmend/case/1"


def test_a_saved_case_opens_again_with_its_answers(presenter, tmp_path):
    presenter.window.pages["trouble"].chosen.emit(("lag",), None)
    presenter.window.press_primary()
    presenter.window.pages["look"].go_without.emit()
    presenter.rest(20)
    first = presenter.flow.question(presenter.session).question.observation
    presenter.window.pages["questions"].answered.emit(first, UNKNOWN)
    presenter.rest(20)
    path = presenter.session.path
    assert path.exists()
    presenter.window.new_wanted.emit()
    presenter.rest(20)
    assert presenter.session.case is None
    presenter.open_case(path)
    presenter.rest(20)
    assert presenter.session.asked == (first,)
    assert presenter.session.page == "questions"


@pytest.mark.parametrize("text", ["", "no json", '{"schema": "portmend/case/99", "symptom": "lag"}', "[]"])
def test_a_file_that_is_no_case_is_one_sentence(presenter, tmp_path, text):
    path = tmp_path / "case.json"
    path.write_text(text)
    presenter.open_case(path)
    presenter.rest(20)
    said = presenter.session.problem
    assert said.startswith(str(path))
    assert "Traceback" not in said
    assert presenter.session.case is None
