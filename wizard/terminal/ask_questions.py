"""The middle of `portmend ask`: one question at a time while there is a useful one, then the findings."""

from wizard import wiring
from wizard.case.documents import Advice, Look
from wizard.case.model import Case, Value
from wizard.diagnosis.advice import Contradiction, Question
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.report.advice_part import findings_section, unknown_section
from wizard.report.blocks import Item, Listing, Para
from wizard.report.words import answer_words, figure
from wizard.terminal.asking import Desk, Talk, case_of, kept
from wizard.terminal.playing import MOST_QUESTIONS
from wizard.terminal.prompts import Reply, choose


def questions_page(desk: Desk, talk: Talk) -> Talk:
    """The next useful question, if there is one and not too many were put."""
    case = case_of(talk)
    question = wiring.advise(desk.services, case).next_question if len(case.asked) < MOST_QUESTIONS else None
    if question is None:
        return talk.to("findings")
    _show(desk, question, len(case.asked) + 1)
    values = [value for value in question.values if value != UNKNOWN]
    names = [_named(desk, question, value) for value in values]
    reply = choose(desk.screen, names, "don't know", question.many, _explained(question), letters="bfq")
    if reply.move == "quit":
        return talk.to("end")
    if reply.move == "findings":
        return talk.to("findings")
    if reply.move == "back":
        return _one_back(desk, talk, case)
    return kept(desk, talk, case.answered(question.observation, _value(question, values, reply)), "questions")


def findings_page(desk: Desk, talk: Talk) -> Talk:
    """What was found, with what speaks for and against it, and what stays unknown."""
    case = case_of(talk)
    advice: Advice = wiring.advise(desk.services, case)
    texts = desk.services.texts
    desk.screen.section(findings_section(advice, texts, talk.look))
    desk.screen.section(unknown_section(case, talk.look or Look(), advice, texts))
    doubtful = [clash for clash in advice.contradictions if not clash.settled]
    options = ["Save a report now", *(f"Answer once more: {clash.question.text}" for clash in doubtful)]
    reply = choose(desk.screen, options, "on to the plan")
    if reply.move == "quit":
        return talk.to("end")
    if reply.move == "back":
        return _one_back(desk, talk, case)
    if reply.chosen and reply.chosen[0] > 0:
        return _answered_again(desk, talk, doubtful[reply.chosen[0] - 1])
    return talk.to("report" if reply.chosen else "plan")


def _answered_again(desk: Desk, talk: Talk, clash: Contradiction) -> Talk:
    """A doubtful answer put once more; whatever is said now, the contradiction is not asked about again."""
    question = clash.question
    desk.screen.blocks(Para(question.text, "Once more"), Para(clash.why))
    values = [value for value in question.values if value != UNKNOWN]
    names = [_named(desk, question, value) for value in values]
    reply = choose(desk.screen, names, "don't know", question.many, clash.why)
    if reply.move in ("quit", "back"):
        return talk.to("end" if reply.move == "quit" else "findings")
    case = case_of(talk).reconsidered(clash.id, question.observation, _value(question, values, reply))
    return kept(desk, talk, case, "findings")


def _show(desk: Desk, question: Question, number: int) -> None:
    kind = "A test to try" if question.kind == "test" else "Question"
    minutes = f", about {figure(question.effort_min, 0)} minutes" if question.effort_min >= 1 else ""
    desk.screen.blocks(Para(question.text, f"{kind} {number} of at most {MOST_QUESTIONS}{minutes}"))
    if question.how:
        desk.screen.blocks(Para(question.how, "How to do it safely"))
    if question.means:
        items = tuple(Item(f"{_named(desk, question, value)}: {text}") for value, text in question.means.items())
        desk.screen.blocks(Para("", "What each outcome will tell"), Listing(items))


def _explained(question: Question) -> str:
    """Why it is asked, how to find out, and in words what the window draws beside it."""
    drawn = f"What to look for: {question.drawing_words}" if question.drawing_words else ""
    return " ".join(part for part in (question.why, question.help, drawn) if part)


def _named(desk: Desk, question: Question, value: str | float) -> str:
    words = question.labels.get(str(value)) or answer_words(question.observation, value, desk.services.texts)
    return f"{words} {question.unit}" if question.unit else words


def _value(question: Question, values: list[str | float], reply: Reply) -> Value:
    chosen = [values[position] for position in reply.chosen]
    if not chosen:
        return UNKNOWN
    return tuple(str(value) for value in chosen) if question.many else chosen[0]


def _one_back(desk: Desk, talk: Talk, case: Case) -> Talk:
    """The last question again, as if it had not been answered; before the first, the page before."""
    if not case.asked:
        return talk.to("ledger" if talk.look is not None else "look")
    return kept(desk, talk, case.without_answer(case.asked[-1]), "questions")
