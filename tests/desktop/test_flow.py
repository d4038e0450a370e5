"""The flow without Qt: what a user may expect of Next, Back, answers and changes of mind."""

from dataclasses import replace
from pathlib import Path

import pytest

from wizard.bus.errors import BadInputError
from wizard.case.model import Case
from wizard.desktop import tasks
from wizard.desktop.flow import Flow
from wizard.desktop.session import PAGES, Session, Source
from wizard.observe.seen import Watcher
from wizard.plan.steps import Plan

LIVE = Source("live")


class Walker:
    """Makes moves and does at once whatever work they ask for."""

    def __init__(self, engine) -> None:
        self.engine = engine
        self.flow = Flow(engine)
        self.session = Session()

    def do(self, move, *args):
        self.session = getattr(self.flow, move)(self.session, *args)
        return self.settle()

    def say(self, value):
        """Answer the question shown."""
        return self.do("answer", self.asks(), value)

    def settle(self):
        for _ in range(5):
            for task in tasks.needed(self.flow, self.session):
                self.session = task.take(self.session, task.run(Watcher()))
        assert tasks.needed(self.flow, self.session) == ()
        return self.session

    def run(self, task):
        self.session = task.take(self.session, task.run(Watcher()))
        return self.settle()

    def look(self, source=LIVE):
        return self.run(tasks.look(self.flow, self.session, source))

    def to_questions(self, *symptoms):
        self.do("choose_symptoms", symptoms or ("dropout",))
        self.do("next")
        self.look()
        self.do("next")
        return self.do("next")

    def asks(self):
        shown = self.flow.question(self.session)
        return None if shown is None else shown.question.observation


@pytest.fixture
def walk(engine):
    return Walker(engine)


def test_nothing_can_be_done_before_a_symptom_is_ticked(walk):
    assert not walk.flow.can_go_next(walk.session)
    assert walk.do("next").page == "trouble"


def test_the_worst_symptom_leads_and_the_others_follow(walk):
    session = walk.do("choose_symptoms", ("lag", "dropout"))
    assert (session.case.symptom, session.case.also) == ("lag", ("dropout",))
    session = walk.do("choose_symptoms", ("lag", "dropout"), "dropout")
    assert (session.case.symptom, session.case.also) == ("dropout", ("lag",))


def test_the_worst_stays_the_worst_when_another_is_ticked_and_moves_on_when_it_is_unticked(walk):
    walk.do("choose_symptoms", ("lag", "dropout"), "dropout")
    assert walk.do("choose_symptoms", ("lag", "dropout", "other")).case.symptom == "dropout"
    assert walk.do("choose_symptoms", ("lag", "other")).case.symptom == "lag"


def test_a_full_walk_visits_every_page_in_order(walk):
    walk.do("choose_symptoms", ("dropout",))
    pages = [walk.session.page]
    pages.append(walk.do("next").page)
    walk.look()
    pages.append(walk.do("next").page)
    pages.append(walk.do("next").page)
    for value in ("one", ("random",), 3.0, "same"):
        walk.say(value)
    pages.append(walk.session.page)
    for _ in range(3):
        pages.append(walk.do("next").page)
    assert tuple(pages) == PAGES


def test_without_a_bus_the_way_on_is_closed_until_the_user_goes_without(walk, engine):
    engine.live = engine.live.model_copy(update={"snapshot": type(engine.live.snapshot)()})
    walk.do("choose_symptoms", ("dropout",))
    walk.do("next")
    walk.look()
    assert not walk.flow.can_go_next(walk.session)
    session = walk.do("go_on_without_look")
    assert session.page == "questions"
    assert "ledger" not in walk.flow.order(session)
    assert session.look is None


def test_back_from_the_questions_without_a_look_leads_to_the_look_page(walk):
    walk.do("choose_symptoms", ("dropout",))
    walk.do("next")
    walk.do("go_on_without_look")
    assert walk.do("back").page == "look"


def test_back_shows_the_question_before_with_its_answer_and_the_case_keeps_it(walk):
    walk.to_questions()
    walk.say("one")
    walk.say(("random",))
    session = walk.do("back")
    shown = walk.flow.question(session)
    assert (shown.question.observation, shown.answer, shown.number) == ("when", ("random",), 2)
    assert session.case.observations == {"hub_between": "one", "when": ("random",)}
    assert walk.flow.question(walk.do("back")).answer == "one"
    assert walk.do("back").page == "ledger"


def test_keeping_an_answer_on_the_way_forward_loses_none_of_the_later_ones(walk):
    walk.to_questions()
    walk.say("one")
    walk.say(("random",))
    walk.do("back")
    walk.do("back")
    walk.do("next")
    assert walk.asks() == "when"
    walk.do("next")
    assert walk.asks() == "cable_m"
    assert walk.session.case.asked == ("hub_between", "when")


def test_an_answer_read_from_a_file_as_a_list_is_kept_like_a_tuple(walk):
    walk.to_questions()
    walk.say("one")
    walk.say(["random"])
    before = walk.do("back").revision
    session = walk.say(("random",))
    assert (session.revision, walk.asks()) == (before, "cable_m")


def test_changing_an_earlier_answer_takes_later_ones_out_and_offers_them_again(walk):
    walk.to_questions()
    walk.say("one")
    walk.say(("random",))
    walk.say(5.0)
    for _ in range(3):
        walk.do("back")
    assert walk.asks() == "hub_between"
    session = walk.say("none")
    assert session.case.observations == {"hub_between": "none"}
    shown = walk.flow.question(session)
    assert (shown.question.observation, shown.answer, shown.given) == ("when", ("random",), False)
    session = walk.do("next")
    assert session.case.observations == {"hub_between": "none", "when": ("random",)}


def test_advice_never_outlives_the_answers_it_was_made_from(walk):
    walk.to_questions()
    before = walk.session.advice
    session = walk.flow.answer(walk.session, "hub_between", "one")
    assert session.advice is None
    late = tasks.needed(walk.flow, replace(walk.session, advice=None))[0]
    assert late.take(session, before).advice is None


def test_an_answer_to_a_question_no_longer_shown_is_let_go(walk):
    walk.to_questions()
    walk.say("one")
    session = walk.do("answer", "hub_between", "none")
    assert session.case.observations == {"hub_between": "one"}


def test_unknown_is_an_answer_and_the_question_is_not_put_again(walk):
    walk.to_questions()
    session = walk.say("unknown")
    assert session.case.observations == {"hub_between": "unknown"}
    assert walk.asks() == "when"


def test_after_the_last_answer_the_findings_come_and_back_returns_to_it(walk):
    walk.to_questions()
    for value in ("one", ("random",), 3.0, "same"):
        walk.say(value)
    assert walk.session.page == "findings"
    session = walk.do("back")
    assert session.page == "questions"
    assert walk.flow.question(session).answer == "same"
    assert walk.do("next").page == "findings"


def test_no_more_than_twelve_questions_are_put(engine):
    from wizard.diagnosis.advice import Question

    walk = Walker(engine)
    walk.to_questions()
    endless = [f"extra_{i}" for i in range(20)]
    template = engine.question("hub_between")
    questions = {o: template.model_copy(update={"observation": o}) for o in endless}
    engine.question = lambda o: questions.get(o)
    ask = engine.advise

    def advise(case: Case):
        rest: list[Question] = [questions[o] for o in endless if o not in case.observations]
        return ask(case).model_copy(update={"next_question": rest[0]})

    engine.advise = advise
    walk.session = replace(walk.session, advice=None)
    walk.settle()
    answered = 0
    while walk.session.page == "questions":
        walk.say("one")
        answered += 1
        assert answered <= 12
    assert (walk.session.page, answered) == ("findings", 12)


def test_skipping_to_the_findings_leaves_the_question_open_and_back_returns_to_it(walk):
    walk.to_questions()
    walk.say("one")
    assert walk.do("skip_questions").page == "findings"
    walk.do("back")
    assert (walk.session.page, walk.asks(), walk.session.cursor) == ("questions", "when", None)


def test_with_nothing_to_ask_the_questions_are_passed_over_both_ways(walk, engine):
    engine.order = ()
    assert walk.to_questions().page == "findings"
    assert walk.do("back").page == "ledger"


def test_another_symptom_takes_out_only_answers_that_were_about_the_old_one(walk):
    walk.to_questions("dropout")
    walk.say("one")
    walk.say(("random",))
    walk.say(3.0)
    session = walk.do("jump", "trouble")
    session = walk.do("choose_symptoms", ("lag",))
    assert session.case.observations == {"hub_between": "one", "when": ("random",)}
    assert session.remembered["cable_m"] == 3.0
    assert session.reached == "trouble"
    assert not walk.flow.can_jump(session, "findings")


def test_unticking_everything_closes_the_way_but_loses_no_answer(walk):
    walk.to_questions()
    walk.say("one")
    walk.do("jump", "trouble")
    session = walk.do("choose_symptoms", ())
    assert not walk.flow.can_go_next(session)
    assert not walk.flow.can_jump(session, "ledger")
    assert walk.do("choose_symptoms", ("dropout",)).case.observations == {"hub_between": "one"}


def test_looking_again_at_the_same_machine_keeps_answers_and_ticked_devices(walk):
    walk.to_questions()
    walk.say("one")
    walk.do("jump", "look")
    walk.do("choose_subject", ("1-1.1",))
    session = walk.look()
    assert session.case.observations == {"hub_between": "one"}
    assert session.case.subject == ("1-1.1",)
    assert session.reached == "look"


def test_ticking_entirely_other_devices_asks_again_with_the_old_answers_offered(walk):
    walk.to_questions()
    walk.do("jump", "look")
    walk.do("choose_subject", ("1-1.1",))
    walk.do("next")
    walk.do("next")
    walk.say("one")
    walk.do("jump", "look")
    session = walk.do("choose_subject", ("1-1.2",))
    assert session.case.observations == {}
    walk.do("next")
    session = walk.do("next")
    assert walk.flow.question(session).answer == "one"


def test_a_demo_brings_its_own_case_and_leaving_it_brings_back_the_users_symptoms(walk):
    walk.to_questions("lag")
    walk.say("one")
    walk.do("jump", "look")
    session = walk.look(Source("demo", "bench"))
    assert session.ticked == ("dropout",)
    assert session.case.observations == {}
    assert session.case.subject == ("1-1.1",)
    session = walk.look(LIVE)
    assert session.ticked == ("lag",)
    assert session.demo is None
    assert session.case.observations == {}


def test_going_on_without_a_look_after_a_demo_takes_nothing_of_the_demo_along(walk):
    walk.to_questions("lag")
    walk.say("one")
    own = walk.session
    walk.do("jump", "look")
    walk.look(Source("demo", "bench"))
    walk.do("next")
    walk.do("next")
    walk.say("chain")
    walk.do("skip_questions")
    walk.do("next")
    walk.do("mark", "move_plug", "helped")
    walk.do("next")
    walk.run(tasks.check_again(walk.flow, walk.session, Source("demo", "bench")))
    walk.do("say_outcome", "gone")
    in_the_demo = walk.do("jump", "look")
    session = walk.do("go_on_without_look")
    assert session.case == Case(symptom="lag")
    assert session.ticked == ("lag",)
    assert (session.demo, session.path, dict(session.remembered)) == (None, None, {})
    assert session.line not in (own.line, in_the_demo.line)


def test_leaving_a_demo_that_came_from_a_file_keeps_what_is_ticked(walk, engine, tmp_path: Path):
    engine.open_case = lambda path: engine.demo_case(engine.load_demo("bench"))
    walk.run(tasks.open_case(walk.flow, walk.session, tmp_path / "c.json"))
    assert walk.session.demo is not None
    session = walk.look(LIVE)
    assert (session.demo, session.ticked) == (None, ("dropout",))


def test_looking_again_at_the_same_machine_keeps_what_was_tried(walk, engine):
    walk.to_questions()
    walk.do("skip_questions")
    walk.do("next")
    walk.do("mark", "move_plug", "did_not_help")
    walk.do("next")
    walk.run(tasks.check_again(walk.flow, walk.session, LIVE))
    walk.do("say_outcome", "same")
    case = walk.session.case.model_copy(update={"settled": ("hub_or_not",)})
    walk.session = replace(walk.session, case=case)
    walk.do("jump", "look")
    session = walk.look()
    assert session.case.marks == {"move_plug": "did_not_help"}
    assert [r.outcome for r in session.case.rechecks] == ["same"]
    assert session.case.settled == ("hub_or_not",)


def elsewhere(look, **controller):
    """The same devices on another machine."""
    chips = tuple(c.model_copy(update=controller) for c in look.snapshot.controllers)
    return look.model_copy(update={"snapshot": look.snapshot.model_copy(update={"controllers": chips})})


def test_a_check_at_another_machine_is_not_judged(walk, engine):
    walk.do("choose_symptoms", ("dropout",))
    walk.do("next")
    walk.look(Source("captured", "/here"))
    walk.do("next")
    walk.do("next")
    normal = engine.look_captured
    engine.look_captured = lambda *of: elsewhere(normal(*of), id="0000:07:00.0", kind="ehci")
    walk.run(tasks.check_again(walk.flow, walk.session, Source("captured", "/there")))
    assert walk.session.other_machine
    session = walk.do("say_outcome", "gone")
    assert (session.after, session.verdict, session.case.rechecks) == (None, None, ())
    engine.look_captured = normal
    session = walk.run(tasks.check_again(walk.flow, walk.session, Source("captured", "/here-again")))
    assert not session.other_machine
    assert walk.do("say_outcome", "gone").verdict.verdict == "solved"


def test_a_case_from_another_pc_is_not_judged_by_a_look_at_this_one(walk, engine, tmp_path: Path):
    saved = Case(symptom="lag", snapshot=engine.live.snapshot, source="live", marks={"move_plug": "done"})
    engine.open_case = lambda path: saved
    walk.run(tasks.open_case(walk.flow, walk.session, tmp_path / "c.json"))
    board = engine.live.snapshot.system.model_copy(update={"board_model": "Other board"})
    other = engine.live.snapshot.model_copy(update={"system": board})
    engine.live = engine.live.model_copy(update={"snapshot": other})
    assert walk.run(tasks.check_again(walk.flow, walk.session, LIVE)).other_machine


def test_a_card_added_to_the_machine_does_not_make_it_another_one(engine):
    before = engine.live.snapshot
    card = before.controllers[0].model_copy(update={"id": "0000:03:00.0"})
    wider = before.model_copy(update={"controllers": (*before.controllers, card)})
    assert tasks.same_board(before, wider)
    assert tasks.same_board(wider, before)
    assert tasks.same_board(type(before)(), type(before)()) is None


def test_a_case_of_a_demo_this_version_lacks_opens_as_an_ordinary_case(walk, engine, tmp_path: Path):
    def lacking(name):
        raise BadInputError(name, "there is no such demo", "")

    saved = Case(symptom="lag", snapshot=engine.live.snapshot, source="demo", demo="from_later", marks={"a": "done"})
    engine.open_case, engine.load_demo = lambda path: saved, lacking
    session = walk.run(tasks.open_case(walk.flow, walk.session, tmp_path / "c.json"))
    assert (session.page, session.demo, session.case) == ("plan", None, saved)
    assert "no demo 'from_later'" in session.problem


def test_a_demo_suggests_what_its_user_would_answer(walk):
    walk.do("choose_symptoms", ("lag",))
    walk.do("next")
    walk.look(Source("demo", "bench"))
    walk.do("next")
    walk.do("next")
    shown = walk.flow.question(walk.session)
    assert (shown.suggested, shown.answer) == ("one", None)


def test_a_mark_keeps_the_plan_on_show_until_the_new_one_is_there(walk):
    walk.to_questions()
    walk.do("skip_questions")
    walk.do("next")
    session = walk.flow.mark(walk.session, "move_plug", "did_not_help")
    assert session.advice is not None
    assert session.advice_due
    walk.session = session
    session = walk.settle()
    assert not session.advice_due
    assert walk.flow.next_step(session).id == "other_hub"
    assert walk.do("mark", "move_plug", None).case.marks == {}


def test_check_again_with_the_trouble_gone_ends_in_solved_and_is_kept_in_the_case(walk):
    walk.do("choose_symptoms", ("lag",))
    walk.do("next")
    walk.look(Source("demo", "bench"))
    walk.do("next")
    walk.do("next")
    walk.do("skip_questions")
    walk.do("next")
    walk.do("next")
    walk.run(tasks.check_again(walk.flow, walk.session, Source("demo", "bench")))
    assert walk.session.comparison is not None
    session = walk.do("say_outcome", "gone")
    assert session.verdict.verdict == "solved"
    assert [r.outcome for r in session.case.rechecks] == ["gone"]
    session = walk.do("say_outcome", "same")
    assert session.verdict.verdict == "same"
    assert [r.outcome for r in session.case.rechecks] == ["same"]


def test_a_new_look_throws_the_check_away(walk):
    test_check_again_with_the_trouble_gone_ends_in_solved_and_is_kept_in_the_case(walk)
    walk.do("jump", "look")
    session = walk.look()
    assert (session.after, session.comparison, session.outcome, session.verdict) == (None, None, None, None)


def test_a_check_that_comes_in_late_for_another_look_is_thrown_away(walk):
    walk.to_questions()
    task = tasks.check_again(walk.flow, walk.session, LIVE)
    late = task.run(Watcher())
    walk.do("jump", "look")
    walk.look()
    assert task.take(walk.session, late).after is None


def test_every_page_can_be_jumped_back_to_and_forward_again(walk):
    walk.to_questions()
    walk.do("skip_questions")
    walk.do("next")
    walk.do("jump", "trouble")
    assert walk.do("jump", "plan").page == "plan"
    assert not walk.flow.can_jump(walk.session, "report")


def test_opening_a_case_goes_on_where_it_stopped(walk, engine, tmp_path: Path):
    saved = Case(
        symptom="lag", observations={"hub_between": "one"}, asked=("hub_between",), snapshot=engine.live.snapshot
    )
    engine.open_case = lambda path: saved
    session = walk.run(tasks.open_case(walk.flow, walk.session, tmp_path / "c.json"))
    assert (session.page, walk.asks()) == ("questions", "when")
    assert session.ticked == ("lag",)
    assert walk.do("back").page == "questions"
    assert walk.do("back").page == "ledger"


def test_an_answer_this_rulebook_does_not_ask_is_kept_and_passed_over_by_back(walk, engine, tmp_path: Path):
    saved = Case(symptom="lag", observations={"from_later": "x"}, asked=("from_later",), snapshot=engine.live.snapshot)
    engine.open_case = lambda path: saved
    walk.run(tasks.open_case(walk.flow, walk.session, tmp_path / "c.json"))
    assert walk.do("back").page == "ledger"
    assert walk.session.case.observations == {"from_later": "x"}


def contradict(walk):
    walk.to_questions()
    walk.say("none")
    walk.say(("stream_start",))


def test_changing_a_doubtful_answer_keeps_every_other_one_and_leads_back(walk):
    contradict(walk)
    walk.say(3.0)
    walk.do("skip_questions")
    session = walk.do("reconsider", "no_hub_stream")
    shown = walk.flow.question(session)
    assert (session.page, shown.question.id, shown.answer, shown.number) == (
        "questions",
        "again_hub_between",
        "none",
        1,
    )
    session = walk.say("one")
    assert session.page == "findings"
    assert session.case.observations == {"hub_between": "one", "when": ("stream_start",), "cable_m": 3.0}
    assert (session.case.settled, session.advice.contradictions) == (("no_hub_stream",), ())


def test_a_doubtful_answer_that_is_kept_is_settled_and_can_still_be_changed(walk):
    contradict(walk)
    walk.do("reconsider", "no_hub_stream")
    session = walk.say("none")
    assert walk.asks() == "cable_m"
    assert session.advice.contradictions[0].settled
    walk.do("reconsider", "no_hub_stream")
    assert walk.say("none").case.settled == ("no_hub_stream",)


def test_back_from_a_doubtful_answer_changes_nothing(walk):
    contradict(walk)
    walk.do("skip_questions")
    before = walk.session.case
    walk.do("reconsider", "no_hub_stream")
    session = walk.do("back")
    assert (session.page, session.case, session.doubt) == ("findings", before, None)
    walk.do("reconsider", "no_hub_stream")
    assert walk.do("skip_questions").doubt is None
    assert walk.do("reconsider", "never_heard_of").page == "findings"


def test_new_steps_come_after_the_known_ones_and_before_the_last_resort(engine):
    def steps(*names):
        return Plan(
            steps=tuple(
                known.model_copy(update={"id": name, "cures": () if name == "ask_maker" else ("hub_supply",)})
                for name in names
            )
        )

    known = engine.advise(Case(symptom="lag")).plan.steps[0]
    case = Case(symptom="lag", marks={"swap": "did_not_help"})
    renewed = tasks.in_the_order_of(steps("swap", "move", "wait", "ask_maker"), steps("new", "move", "ask_maker"), case)
    assert [s.id for s in renewed.steps] == ["swap", "move", "new", "ask_maker"]
