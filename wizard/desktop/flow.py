"""Decides what comes next: which page, what may be done, what an answer changes.

Knows no Qt, no threads and no files. Every move takes a session and gives a new one; what takes long is
described by `tasks` and done by someone else.

What a change does to what was told before:
- other symptoms: answers that are only about a symptom no longer ticked are taken out;
- other devices ticked, or an earlier question answered differently: the answers after it are taken out;
- an answer taken out is offered again when its question comes up; it does not count until confirmed;
- another machine looked at: all answers are dropped, they were about something else (see `tasks`).
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from wizard.case.model import Case, Outcome, Recheck, StepMark, Value
from wizard.case.told import told_setup
from wizard.desktop.engine import Engine
from wizard.desktop.session import MOST_QUESTIONS, PAGES, Aside, Doubt, Page, Session, ShownQuestion, Source
from wizard.diagnosis.advice import Contradiction, Question
from wizard.plan.steps import Step


def changed(session: Session, case: Case) -> Session:
    """The session with another case: whatever was worked out from the old one is dropped."""
    same_desk = session.case is not None and _same_desk(session.case, case)
    return replace(
        session,
        case=case,
        revision=session.revision + 1,
        desk=session.desk if same_desk else session.desk + 1,
        arranged=session.arranged if same_desk else None,
        trial=session.trial if same_desk else None,
        stages=session.stages if same_desk else None,
        advice=None,
        advice_due=False,
        cursor=None,
        doubt=None,
        to_check=False,
        verdict=None,
        problem=None,
    )


def _same_desk(old: Case, new: Case) -> bool:
    """Whether the same is plugged in the same places, as far as look and answers tell."""
    if old.snapshot is not new.snapshot:
        return False
    told = (old.observations, old.setup, old.subject) == (new.observations, new.setup, new.subject)
    return told or told_setup(old) == told_setup(new)


def without_answers(session: Session, case: Case, taken_out: Iterable[str]) -> tuple[Session, Case]:
    """Takes answers out of a case; the session remembers them."""
    remembered = dict(session.remembered)
    for observation in taken_out:
        if observation in case.observations:
            remembered[observation] = case.observations[observation]
        case = case.without_answer(observation)
    return replace(session, remembered=remembered), case


def same_answer(one: Any, other: Any) -> bool:
    """Whether two answers say the same; a list that came from a file is as good as a tuple."""
    several = (list, tuple)
    return tuple(one) == tuple(other) if isinstance(one, several) and isinstance(other, several) else bool(one == other)


class Flow:
    """The moves of the wizard over one engine."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    # ---- where one can go

    def order(self, session: Session) -> tuple[Page, ...]:
        """The pages that have something to say in this session, in order."""
        return tuple(page for page in PAGES if self.has_content(session, page))

    def has_content(self, session: Session, page: Page) -> bool:
        """Whether a page has something to say: no bus, no ledger; nothing to ask, no questions."""
        if page == "ledger":
            return session.has_bus or not session.can_go_past_look
        if page == "questions":
            return session.advice is None or bool(session.asked) or self._open_question(session) is not None
        return True

    def can_go_next(self, session: Session) -> bool:
        """Whether the way on is open."""
        if session.page == "trouble":
            return bool(session.ticked)
        if session.page == "look":
            return bool(session.ticked) and session.can_go_past_look
        if session.page == "questions":
            shown = self.question(session)
            return shown is not None and shown.answer is not None
        return session.page == "ledger" or (session.page != "report" and session.advice is not None)

    def can_go_back(self, session: Session) -> bool:
        """Whether there is a page or a question before this one."""
        return session.page != "trouble" or session.aside is not None

    def can_jump(self, session: Session, page: Page) -> bool:
        """Whether a page can be gone to straight away: the way there was walked and still holds."""
        return PAGES.index(page) <= PAGES.index(session.reached) and self.has_content(session, page)

    def next(self, session: Session) -> Session:
        """The next page; on the questions page the answer shown is kept and the next question comes."""
        if not self.can_go_next(session):
            return session
        if session.page == "questions":
            shown = self.question(session)
            if shown is None or shown.answer is None:
                return session
            return self.answer(session, shown.question.observation, shown.answer)
        return self._arrive(session, self._neighbour(session, 1))

    def back(self, session: Session) -> Session:
        """The page before; on the questions page the question before, with the answer it was given. What stands open
        beside the page is closed first."""
        if session.aside is not None:
            return self.leave_aside(session)
        if session.doubt is not None:
            return self._arrive(session, session.doubt.back_to)
        if session.page == "questions":
            position = len(session.asked) if session.cursor is None else session.cursor
            before = self._answerable_before(session, position)
            if before is not None:
                return replace(session, cursor=before, problem=None)
        return self._arrive(session, self._neighbour(session, -1)) if self.can_go_back(session) else session

    def jump(self, session: Session, page: Page) -> Session:
        """Straight to a page already walked past."""
        return self._arrive(session, page) if self.can_jump(session, page) else session

    def open_aside(self, session: Session, aside: Aside) -> Session:
        """Open something beside the page; `back` leads to where one was."""
        return replace(session, aside=aside, problem=None)

    def leave_aside(self, session: Session) -> Session:
        """Back to the page."""
        return replace(session, aside=None, problem=None)

    def skip_questions(self, session: Session) -> Session:
        """To the findings with what is known so far."""
        return self._arrive(session, "findings") if session.page == "questions" else session

    def settled(self, session: Session) -> Session:
        """Past the questions page once it is certain that nothing is left to ask."""
        done = (
            session.page == "questions"
            and session.cursor is None
            and session.doubt is None
            and session.advice is not None
            and self._open_question(session) is None
        )
        return self._arrive(session, "findings") if done else session

    def _neighbour(self, session: Session, direction: int) -> Page:
        order = [p for p in PAGES if p == session.page or self.has_content(session, p)]
        return order[min(max(order.index(session.page) + direction, 0), len(order) - 1)]

    def _arrive(self, session: Session, page: Page) -> Session:
        backwards = PAGES.index(page) < PAGES.index(session.page)
        cursor = None
        if page == "questions" and backwards and session.advice is not None and not self._open_question(session):
            cursor = self._answerable_before(session, len(session.asked))
        reached = max(session.reached, page, key=PAGES.index)
        arrived = replace(session, page=page, reached=reached, cursor=cursor, doubt=None, aside=None, problem=None)
        return self.settled(arrived)

    # ---- the trouble

    def choose_symptoms(self, session: Session, ticked: Iterable[str], worst: str | None = None) -> Session:
        """Tick these symptoms. Without a `worst`, the one that was worst stays so, else the first ticked is."""
        chosen = tuple(ticked)
        if not chosen:
            return replace(session, ticked=(), reached=session.page)
        first = worst or (session.ticked[0] if session.ticked else chosen[0])
        if first not in chosen:
            first = chosen[0]
        ordered = (first, *(s for s in chosen if s != first))
        if ordered == session.ticked:
            return session
        case = session.case or self.engine.new_case(first, ordered[1:], None, None)
        case = case.model_copy(update={"symptom": first, "also": ordered[1:]})
        stray = [o for o in case.asked if not self.engine.concerns(o, chosen)]
        session, case = without_answers(session, case, stray)
        return replace(
            changed(session, case),
            ticked=ordered,
            reached=session.page,
            after=None,
            outcome=None,
            comparison=None,
            other_machine=False,
        )

    def choose_subject(self, session: Session, devices: Iterable[str]) -> Session:
        """Tick these devices as the ones that misbehave."""
        subject = tuple(devices)
        if session.case is None or session.case.subject == subject:
            return session
        stray = session.asked if session.case.subject and not set(session.case.subject) & set(subject) else ()
        session, case = without_answers(session, session.case, stray)
        return replace(changed(session, case.model_copy(update={"subject": subject})), reached=session.page)

    def go_on_without_look(self, session: Session) -> Session:
        """Take no look: the questions must do. Nothing of a demo goes with the user: the case begins anew."""
        if session.case is None:
            return session
        ticks = session.users_ticks
        if session.demo is not None:
            case = self.engine.new_case(ticks[0], ticks[1:], None, None)
            left = replace(session, line=session.line + 1, path=None, remembered={})
        else:
            left = session
            case = session.case.model_copy(update={"snapshot": None, "subject": (), "source": None, "log": None})
        fresh = replace(
            changed(left, case),
            ticked=ticks,
            own_ticks=(),
            source=Source("none"),
            look=None,
            looks=session.looks + 1,
            demo=None,
            after=None,
            outcome=None,
            comparison=None,
            other_machine=False,
            reached="look",
        )
        return self._arrive(fresh, "questions")

    # ---- the questions

    def question(self, session: Session) -> ShownQuestion | None:
        """The question to show now, or None while it is being worked out or nothing is left to ask."""
        if session.case is None:
            return None
        question: Question | None
        doubted = self._doubted(session)
        if doubted is not None:
            question = doubted.question
            asked = session.asked
            position = asked.index(question.observation) if question.observation in asked else len(asked)
        elif session.cursor is not None:
            question = self.engine.question(session.asked[session.cursor])
            position = session.cursor
        else:
            question = self._open_question(session)
            position = len(session.asked)
        if question is None:
            return None
        observation = question.observation
        given = session.case.observations.get(observation)
        suggested = session.demo.answers.get(observation) if session.demo is not None else None
        answer = given if given is not None else session.remembered.get(observation)
        again = doubted is not None or session.cursor is not None
        return ShownQuestion(question, position + 1, answer, suggested, again)

    def answer(self, session: Session, observation: str, value: Value) -> Session:
        """Answer the question shown; an answer to any other is a late click and is let go. If an earlier answer
        changes by it, those after it are taken out."""
        shown = self.question(session)
        if shown is None or session.case is None or shown.question.observation != observation:
            return session
        if session.doubt is not None:
            case = session.case.reconsidered(session.doubt.contradiction, observation, value)
            case = case.model_copy(update={"settled": tuple(dict.fromkeys(case.settled))})
            return self._arrive(changed(session, case), session.doubt.back_to)
        if session.cursor is not None and same_answer(session.case.observations.get(observation), value):
            after = session.cursor + 1
            return self.settled(replace(session, cursor=after if after < len(session.asked) else None))
        later = session.asked if session.cursor is None else session.asked[: session.cursor]
        taken_out = [o for o in session.asked if o not in later and o != observation]
        session, case = without_answers(session, session.case, taken_out)
        remembered = {o: v for o, v in session.remembered.items() if o != observation}
        return changed(replace(session, remembered=remembered), case.answered(observation, value))

    def reconsider(self, session: Session, contradiction: str) -> Session:
        """Put the doubtful question of a contradiction once more. Whatever is answered, that contradiction is then
        settled and all other answers stay."""
        known = session.advice is not None and any(c.id == contradiction for c in session.advice.contradictions)
        doubt = Doubt(contradiction, session.page) if known else None
        return replace(session, page="questions", doubt=doubt, problem=None) if known else session

    def _doubted(self, session: Session) -> Contradiction | None:
        if session.doubt is None or session.advice is None:
            return None
        wanted = session.doubt.contradiction
        return next((c for c in session.advice.contradictions if c.id == wanted), None)

    def _open_question(self, session: Session) -> Question | None:
        if session.advice is None or len(session.asked) >= MOST_QUESTIONS:
            return None
        return session.advice.next_question

    def _answerable_before(self, session: Session, position: int) -> int | None:
        """The nearest answered question before a position that this rulebook can still ask."""
        candidates = range(position - 1, -1, -1)
        return next((i for i in candidates if self.engine.question(session.asked[i]) is not None), None)

    # ---- the plan and the check

    def mark(self, session: Session, step: str, mark: StepMark | None) -> Session:
        """Note what became of a step; None takes the note back. The plan shown stays until the new one is there."""
        if session.case is None:
            return session
        marks = {s: m for s, m in session.case.marks.items() if s != step}
        case = session.case.model_copy(update={"marks": marks if mark is None else {**marks, step: mark}})
        return replace(changed(session, case), advice=session.advice, advice_due=True, to_check=mark == "helped")

    def next_step(self, session: Session) -> Step | None:
        """The first step of the plan that nothing was noted of."""
        if session.case is None or session.advice is None:
            return None
        marks = session.case.marks
        return next((s for s in session.advice.plan.steps if s.id not in marks), None)

    def say_outcome(self, session: Session, outcome: Outcome) -> Session:
        """What the user says of the trouble now. Kept in the case together with the new look."""
        if session.case is None or session.other_machine:
            return session
        rechecks = session.case.rechecks
        kept = rechecks if session.outcome is None else rechecks[:-1]
        seen, signs = (session.after.snapshot, session.after.signs) if session.after is not None else (None, ())
        check = Recheck(snapshot=seen, signs=signs, outcome=outcome, at=self.engine.now())
        case = session.case.model_copy(update={"rechecks": (*kept, check)})
        return replace(changed(session, case), advice=session.advice, advice_due=True, to_check=False, outcome=outcome)
