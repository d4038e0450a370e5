"""The pages and their wires: how each is built, and what each of its signals does. Builds nothing before it is asked.

The imports stand where a page is built, so that the first page does not wait for the last one's.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from wizard.desktop.flow import Flow
from wizard.desktop.page import Page
from wizard.desktop.pages.trouble import Offer, TroublePage
from wizard.desktop.places import Place

if TYPE_CHECKING:
    from wizard.desktop.presenter import Presenter


class Shelf:
    """Builds the pages of one presenter."""

    def __init__(self, presenter: Presenter, flow: Flow) -> None:
        self._to, self._flow = presenter, flow

    def makers(self) -> dict[Place, Callable[[], Page]]:
        """How to build the page of each step."""
        return {
            "trouble": self._trouble, "look": self._look, "ledger": self._ledger, "questions": self._questions,
            "findings": self._findings, "plan": self._plan, "again": self._again, "report": self._report,
        }  # fmt: skip

    def _on(self, page: Page) -> None:
        page.go_on.connect(lambda: self._to.move(Flow.next))
        page.aside_wanted.connect(lambda aside: self._to.move(Flow.open_aside, aside))

    def _trouble(self) -> Page:
        texts = self._flow.engine.texts
        offers = [
            Offer(s.id, texts.get(f"symptom.{s.id}.title") or s.id, texts.get(f"symptom.{s.id}.words") or "", s.main)
            for s in self._flow.engine.symptoms()
        ]
        page = TroublePage(offers)
        self.connect_trouble(page)
        return page

    def connect_trouble(self, page: TroublePage) -> None:
        """Wire the first page, which may have stood before there was a presenter."""
        page.chosen.connect(lambda ticked, worst: self._to.move(Flow.choose_symptoms, ticked, worst))
        page.open_wanted.connect(self._to.open_case)
        self._on(page)

    def _look(self) -> Page:
        from wizard.desktop.pages.look import LookPage

        page = LookPage(self._flow)
        page.look_wanted.connect(self._to.look)
        page.stop_wanted.connect(lambda: self._to.stop("look"))
        page.open_wanted.connect(self._to.open_case)
        page.go_without.connect(lambda: self._to.move(Flow.go_on_without_look))
        page.subject_ticked.connect(lambda devices: self._to.move(Flow.choose_subject, devices))
        page.sources.offer_demos(self._to.demos)
        self._on(page)
        return page

    def _ledger(self) -> Page:
        from wizard.desktop.pages.ledger import LedgerPage

        page = LedgerPage(self._flow)
        self._on(page)
        return page

    def _questions(self) -> Page:
        from wizard.desktop.pages.questions import QuestionsPage

        page = QuestionsPage(self._flow)
        page.answered.connect(lambda observation, value: self._to.move(Flow.answer, observation, value))
        page.skip_wanted.connect(lambda: self._to.move(Flow.skip_questions))
        page.doubted.connect(lambda doubt: self._to.move(Flow.reconsider, doubt))
        self._on(page)
        return page

    def _findings(self) -> Page:
        from wizard.desktop.pages.findings import FindingsPage

        page = FindingsPage(self._flow)
        page.doubted.connect(lambda doubt: self._to.move(Flow.reconsider, doubt))
        page.ask_more.connect(lambda: self._to.move(Flow.jump, "questions"))
        self._on(page)
        return page

    def _plan(self) -> Page:
        from wizard.desktop.pages.plan import PlanPage

        page = PlanPage(self._flow)
        page.check_wanted.connect(self._to.check_at_once)
        page.marked.connect(lambda step, mark: self._to.move(Flow.mark, step, mark))
        page.stop_wanted.connect(self._to.call_off_arranging)
        page.arranging_wanted.connect(self._to.arrange)
        self._on(page)
        return page

    def _again(self) -> Page:
        from wizard.desktop.pages.again import AgainPage

        page = AgainPage(self._flow)
        page.look_wanted.connect(self._to.check_again)
        page.stop_wanted.connect(lambda: self._to.stop("check"))
        page.outcome_said.connect(lambda outcome: self._to.move(Flow.say_outcome, outcome))
        page.plan_wanted.connect(lambda: self._to.move(Flow.jump, "plan"))
        page.report_wanted.connect(lambda: self._to.move(Flow.next))
        self._on(page)
        return page

    def _report(self) -> Page:
        from wizard.desktop.pages.report import ReportPage

        page = ReportPage(self._flow)
        page.preview_wanted.connect(lambda keep: self._to.preview(keep, page.show_preview))
        page.save_wanted.connect(lambda path, keep: self._to.save_report(path, keep, page.show_saved))
        self._on(page)
        return page
