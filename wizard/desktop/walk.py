"""Walks every demo through every page by doing what a user does, and says what went wrong.

For the program's check of itself: off screen, with whatever engine it is given, saving nothing.
"""

from collections.abc import Callable
from functools import partial

from wizard.desktop.engine import Engine
from wizard.desktop.flow import Flow
from wizard.desktop.jobs import Runner
from wizard.desktop.pages.again import AgainPage
from wizard.desktop.pages.look import LookPage
from wizard.desktop.pages.questions import QuestionsPage
from wizard.desktop.pages.report import ReportPage
from wizard.desktop.pages.trouble import TroublePage
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import ASIDES, MOST_QUESTIONS, PAGES, Source
from wizard.desktop.window import Window
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.store.demos import Demo

PATIENCE_S = 20.0
"""How long one move may take off screen before it counts as stuck: common practice (no source)."""


def walk_demos(load: Callable[[], Engine]) -> list[str]:
    """What went wrong, in sentences; nothing if every page came up and every demo ended as its story says."""
    window = Window()
    presenter = Presenter(window, Runner(), load, keeps=False)
    problems: list[str] = []
    presenter.boundary.heard.connect(problems.append)
    presenter.start()
    try:
        if not presenter.rest(PATIENCE_S) or presenter.flow is None:
            return [*problems, "window: it did not get ready"]
        demos = presenter.flow.engine.demos()
        if not demos:
            problems.append("window: there is no demo to walk")
        for demo in demos:
            window.new_wanted.emit()
            problems += [f"demo {demo.name}: {problem}" for problem in _walk(presenter, demo)]
        for aside in ASIDES:
            presenter.move(Flow.open_aside, aside)
            if not presenter.rest(PATIENCE_S) or presenter.session.place != aside:
                problems.append(f"window: {aside!r} did not come up")
            presenter.window.press_back()
    finally:
        window.close()
        window.deleteLater()
    return problems


def _walk(presenter: Presenter, demo: Demo) -> list[str]:
    seen = [presenter.session.page]
    pages = presenter.window.pages
    trouble, look, questions = pages["trouble"], pages["look"], pages["questions"]
    again, report = pages["again"], pages["report"]
    assert isinstance(trouble, TroublePage)
    assert isinstance(look, LookPage)
    assert isinstance(questions, QuestionsPage)
    assert isinstance(again, AgainPage)
    assert isinstance(report, ReportPage)

    def then(move: Callable[[], None]) -> None:
        move()
        presenter.rest(PATIENCE_S)
        if presenter.session.page not in seen:
            seen.append(presenter.session.page)

    then(lambda: trouble.chosen.emit((demo.symptom,), None))
    then(presenter.window.press_primary)
    then(lambda: look.look_wanted.emit(Source("demo", demo.name), ""))
    then(presenter.window.press_primary)
    then(presenter.window.press_primary)
    for _ in range(MOST_QUESTIONS):
        shown = presenter.flow.question(presenter.session) if presenter.flow is not None else None
        if presenter.session.page != "questions" or shown is None:
            break
        answer = UNKNOWN if shown.suggested is None else shown.suggested
        then(partial(questions.answered.emit, shown.question.observation, answer))
    then(presenter.window.press_primary)
    then(presenter.window.press_primary)
    then(presenter.window.press_primary)
    then(lambda: again.outcome_said.emit(demo.outcome))
    judged = presenter.session.verdict
    then(lambda: again.report_wanted.emit())
    problems = [f"the page {page!r} did not come up" for page in PAGES if page not in seen and page != "questions"]
    if judged is None or (demo.outcome == "gone" and judged.verdict != "solved"):
        problems.append(f"its fix ended in {judged.verdict if judged is not None else 'nothing'!r}, not in 'solved'")
    if len(report.preview.toPlainText()) < 200:
        problems.append("the report has no text")
    if presenter.session.problem is not None:
        problems.append(presenter.session.problem)
    return problems
