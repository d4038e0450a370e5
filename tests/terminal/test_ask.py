"""The whole wizard in a terminal: every page, back and forth, nothing lost."""

from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.model import Controller, Device, Hub, Snapshot
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.store.cases import open_case, save_case, saved_cases
from wizard.terminal.ask import hold, resumed
from wizard.terminal.asking import Desk, Talk

BUS = Look(
    snapshot=Snapshot(
        controllers=(Controller(id="c", kind="xhci"),),
        devices=(
            Device(id="usb1", parent="c", root=True, hub=Hub(ports=4), speed="high"),
            Device(id="1-1", parent="usb1", hub=Hub(ports=4), speed="high", product="Hub"),
            Device(
                id="1-2", parent="usb1", speed="full", product="Fader\x1b[2J bank", max_power_ma=100, self_powered=False
            ),
        ),
    )
)


@pytest.fixture(autouse=True)
def one_bus(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wiring, "look_live", lambda **_more: BUS)


@pytest.fixture
def talked(services: wiring.Services, scripted: Any) -> Any:
    """Holds one talk with those answers; returns its end and what was shown."""

    def _talked(*answers: str, start: Talk | None = None) -> tuple[Talk, Any]:
        script = scripted(answers)
        return hold(Desk(services, script.screen), start or Talk()), script

    return _talked


def saved(talk: Talk) -> Case:
    assert talk.path is not None
    return open_case(talk.path)


# Trouble 1 and 2, the second is worst; this computer without a log; the first device; on.
BEGIN = ("1,2", "2", "1", "", "1", "")


def test_several_troubles_may_be_named_and_the_worst_comes_first(talked: Any, services: wiring.Services) -> None:
    known = [symptom.id for symptom in services.rulebook.symptoms]
    talk, script = talked(*BEGIN)
    assert saved(talk).symptom == known[1]
    assert saved(talk).also == (known[0],)
    assert "Which of these is the worst?" in script.text


def test_enter_alone_gets_through_to_a_plan(talked: Any) -> None:
    talk, script = talked(*[""] * 40)
    case = saved(talk)
    assert case.symptom == "other"
    assert case.source == "live"
    assert 0 < len(case.asked) <= 12
    assert set(case.observations.values()) == {"unknown"}
    for title in ("What was found", "What stays unknown", "Step 1", "The report is in"):
        assert title in script.text
    assert talk.path.with_suffix(".html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_look_is_kept_and_its_subject_chosen(talked: Any) -> None:
    talk, script = talked(*BEGIN)
    case = saved(talk)
    assert case.subject == ("1-2",)
    assert case.snapshot == BUS.snapshot
    assert case.taken_at
    assert "Fader\\x1b[2J bank (1-2)" in script.text
    assert "\x1b" not in script.text


def test_the_case_is_saved_with_every_answer(talked: Any) -> None:
    before, _ = talked(*BEGIN)
    after, _ = talked(*BEGIN, "1", "1")
    assert len(saved(before).observations) == 0
    assert len(saved(after).asked) == 2
    assert len(saved_cases()) == 2


def test_back_takes_the_last_answer_out_and_goes_on_to_the_first_page(talked: Any) -> None:
    talk, script = talked(*BEGIN, "1", "b", "b", "b", "b", "b")
    assert saved(talk).observations == {}
    assert talk.page == "end"
    assert script.text.count("Name everything that fits") == 2
    assert script.text.count("What should be looked at?") == 2


def test_f_goes_straight_to_the_findings_and_back_again(talked: Any) -> None:
    talk, script = talked(*BEGIN, "1", "f", "b")
    assert "What was found" in script.text
    assert saved(talk).asked == ()


def test_a_question_explains_itself(talked: Any, services: wiring.Services) -> None:
    case = Case(symptom="other", snapshot=BUS.snapshot)
    question = wiring.advise(services, case).next_question
    assert question is not None
    _, script = talked("", "?", start=Talk(page="ledger", case=case, look=BUS))
    flat = " ".join(script.text.split())
    assert flat.count(" ".join(question.why.split())) == 1
    assert "Question 1 of at most 12" in flat or "A test to try 1 of at most 12" in flat


def test_what_the_window_draws_is_told_in_words(talked: Any, services: wiring.Services) -> None:
    drawn = [o for o in services.rulebook.observations if o.drawing]
    told = 0
    for observation in drawn:
        # All else answered, so that this one is what is left to ask, if it is asked at all.
        others = {o.id: "unknown" for o in services.rulebook.observations if o.id != observation.id}
        case = Case(symptom="dropout", observations=others)
        question = wiring.advise(services, case).next_question
        if question is None or not question.drawing_words:
            continue
        _, script = talked("?", start=Talk(page="questions", case=case))
        assert " ".join(question.drawing_words.split()) in " ".join(script.text.split())
        told += 1
    assert told


def test_lists_and_numbers_are_answered_in_their_kinds(talked: Any, services: wiring.Services) -> None:
    many = next(o for o in services.rulebook.observations if o.kind == "list" and o.how == "ask")
    number = next(o for o in services.rulebook.observations if o.kind == "number" and o.how == "ask")
    for observation, typed, expected in ((many, "1,2", list(many.values[:2])), (number, "1", number.choices[0])):
        # All else answered, so that this one is what is left to ask, if it is asked at all.
        others = {o.id: "unknown" for o in services.rulebook.observations if o.id != observation.id}
        for symptom in services.rulebook.symptoms:
            case = Case(symptom=symptom.id, observations=others)
            question = wiring.advise(services, case).next_question
            if question is not None and question.observation == observation.id:
                talk, _ = talked(typed, start=Talk(page="questions", case=case))
                assert saved(talk).observations[observation.id] == expected
                break


def test_no_more_than_twelve_questions_are_put(talked: Any) -> None:
    asked = tuple(f"o{n}" for n in range(12))
    _, script = talked(start=Talk(page="questions", case=Case(symptom="other", asked=asked)))
    assert "What was found" in script.text
    assert "of at most 12" not in script.text


def test_without_a_bus_another_way_is_offered(talked: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wiring, "look_live", lambda **_more: Look(notes=("There is no bus here.",)))
    talk, script = talked("1", "1", "", "3")
    assert "There is no bus here." in script.text
    assert "No USB bus was found there." in script.text
    assert script.text.count("This computer, now") == 1
    case = saved(talk)
    assert case.snapshot is None
    assert case.source == "described"
    assert "Question 1" in script.text or "A test to try 1" in script.text


def test_a_captured_tree_that_is_none_is_said_and_asked_again(talked: Any, tmp_path: Path) -> None:
    talk, script = talked("1", "2", str(tmp_path / "none"), "", "2", "", "4")
    assert str(tmp_path / "none") in script.text
    assert saved(talk).source == "described"


def test_a_log_that_is_none_is_said_and_asked_again(talked: Any) -> None:
    _, script = talked("1", "1", "no-such.log")
    assert "no-such.log: there is no such file" in script.text


def test_a_demo_can_be_played_to_solved(talked: Any) -> None:
    # Trouble; demo, the first; on; straight to the findings, to the plan; done; the trouble is gone; report; no extras.
    talk, script = talked("1", "3", "1", "", "f", "", "1", "1", "", "")
    case = saved(talk)
    assert case.demo == wiring.demo_names()[0]
    assert case.rechecks[0].outcome == "gone"
    assert list(case.marks.values()) == ["helped"]
    assert "Verdict: Solved" in script.text
    assert "The report is in" in script.text
    assert talk.page == "end"


def test_cautions_are_read_before_the_action(talked: Any, services: wiring.Services) -> None:
    case = wiring.demo_case(wiring.load_demo(wiring.demo_names()[0]))
    step = next(s for s in wiring.advise(services, case).plan.steps if s.cautions)
    marks = dict.fromkeys((s.id for s in wiring.advise(services, case).plan.steps if s.id != step.id), "skipped")
    _, script = talked(start=Talk(page="plan", case=case.model_copy(update={"marks": marks})))
    assert script.text.index("Careful:") < script.text.index("Do:")


def test_a_step_that_did_not_help_leads_to_the_next(talked: Any) -> None:
    talk, script = talked("1", "3", "1", "", "f", "", "1", "3", "2", "q")
    marks = list(saved(talk).marks.values())
    assert marks == ["did_not_help", "skipped"]
    assert "Step 2" in script.text
    assert "Step 3" in script.text


def test_when_every_step_was_tried_the_report_comes(talked: Any) -> None:
    talk, script = talked("1", "3", "1", "", "f", "", *["2"] * 80)
    assert "Every step of the plan was tried or skipped." in script.text
    assert set(saved(talk).marks.values()) == {"skipped"}


def test_a_report_with_a_wrong_ending_is_asked_for_again(talked: Any, tmp_path: Path) -> None:
    case = Case(symptom="lag")
    _, script = talked(str(tmp_path / "r.doc"), "", str(tmp_path / "r.txt"), "", start=Talk(page="report", case=case))
    assert "r.doc" in script.text
    assert (tmp_path / "r.txt").exists()


def test_the_report_never_overwrites_the_case(talked: Any, tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    save_case(Case(symptom="lag", log="keep me"), path)
    _, script = talked(str(path), "", "n", start=Talk(page="report", case=open_case(path), path=path))
    assert "would overwrite the case itself" in script.text
    assert open_case(path).log == "keep me"


def test_a_saved_case_is_taken_up_in_its_own_file(talked: Any, tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    save_case(Case(symptom="lag", snapshot=BUS.snapshot, source="live"), path)
    talk, script = talked("", "1", start=resumed(path))
    assert talk.path == path
    assert len(open_case(path).asked) == 1
    assert f"portmend ask {path}" in script.text
    assert saved_cases() == ()


def test_a_case_that_can_not_be_saved_is_said_and_goes_on(talked: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_args: object) -> Path:
        raise BadInputError("case.json", "it can't be saved (No space left on device)", "Choose another folder.")

    monkeypatch.setattr(wiring, "save_case", full)
    talk, script = talked(*BEGIN, "1")
    assert "The case could not be saved" in script.text
    assert talk.case is not None
    assert len(talk.case.asked) == 1


def test_ctrl_c_loses_nothing(services: wiring.Services, scripted: Any) -> None:
    script = scripted()
    answers = iter([*BEGIN, "1"])

    def ask(_prompt: str) -> str:
        for answer in answers:
            return answer
        raise KeyboardInterrupt

    screen = type(script.screen)(script.out, script.err, ask, 80)
    talk = hold(Desk(services, screen), Talk())
    assert len(saved(talk).asked) == 1
    assert "The case is saved in" in script.text


def test_without_a_look_the_outcome_is_saved_all_the_same(talked: Any, services: wiring.Services) -> None:
    case = Case(symptom="lag", source="described")
    step = wiring.advise(services, case).plan.steps[0].id
    talk, script = talked("1", start=Talk(page="again", case=case, step=step))
    check = saved(talk).rechecks[0]
    assert (check.outcome, check.snapshot) == ("gone", None)
    assert "no look was taken" in script.text
    assert "Verdict: Solved" in script.text
    assert "your own word decides" in script.text


def test_a_capture_that_is_not_taken_again_leaves_it_open(talked: Any) -> None:
    case = Case(symptom="lag", source="captured", snapshot=BUS.snapshot)
    talk, script = talked("1", "", start=Talk(page="again", case=case, look=BUS))
    assert saved(talk).rechecks[0].outcome == "gone"
    assert "Verdict: Still open" in script.text


def test_what_was_tried_counts_as_evidence_unless_it_was_answered(services: wiring.Services) -> None:
    def share(case: Case) -> float:
        return next(c.share for c in wiring.advise(services, case).causes if c.id == "cable_fault")

    bare = Case(symptom="dropout")
    marked = bare.marked("other_cable", "helped")
    assert share(marked) == share(bare.answered("other_cable", "cures")) > share(bare)
    assert share(bare.marked("other_cable", "did_not_help")) == share(bare.answered("other_cable", "same"))
    assert share(marked.answered("other_cable", "unknown")) == share(marked)
    told = bare.answered("other_cable", "same")
    assert share(told.marked("other_cable", "helped")) == share(told)


DOUBTFUL = {"hub_between": "none", "without_hub": "cures"}  # nothing can be left out where there is nothing


def test_answers_that_do_not_agree_can_be_given_once_more(talked: Any, services: wiring.Services) -> None:
    case = Case(symptom="dropout", observations=DOUBTFUL)
    clash = wiring.advise(services, case).contradictions[0]
    position = [v for v in clash.question.values if v != "unknown"].index("one") + 1
    talk, script = talked("2", str(position), start=Talk(page="findings", case=case))
    flat = " ".join(script.text.split())
    assert f"Answers that do not agree: {clash.why}" in flat
    assert saved(talk).observations["hub_between"] == "one"
    assert saved(talk).settled == (clash.id,)
    kept, script = talked("2", "", start=Talk(page="findings", case=case))
    assert saved(kept).observations["hub_between"] == "unknown"
    assert script.text.count("Answer once more:") == 1


@pytest.mark.parametrize("command", ["advise", "report"])
def test_answers_that_do_not_agree_are_shown(call: Any, tmp_path: Path, command: str) -> None:
    path, report = tmp_path / "c.json", tmp_path / "r.txt"
    save_case(Case(symptom="dropout", observations=DOUBTFUL), path)
    _, script = call(command, path, *(["--to", report] if command == "report" else []))
    assert "Answers that do not agree" in (report.read_text(encoding="utf-8") if report.exists() else script.text)
