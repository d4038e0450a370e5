"""What is found beside the steps goes into the case only where it belongs, and never over what the user said."""

from dataclasses import replace

import pytest

from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.desktop.session import Session, Source
from wizard.desktop.taking import is_of_this_pc, take_described, take_observations


@pytest.mark.parametrize(
    ("source", "ours"), [("live", True), (None, True), ("captured", False), ("described", False), ("demo", False)]
)
def test_only_a_case_of_this_pc_learns_from_this_pc(source, ours):
    assert is_of_this_pc(Session(case=Case(symptom="lag", source=source))) is ours


def test_without_a_case_or_with_a_demo_nothing_is_learnt(engine):
    assert not is_of_this_pc(Session())
    demo = engine.load_demo("bench")
    assert not is_of_this_pc(Session(case=Case(symptom="lag", source="live"), demo=demo))


def test_measurements_fill_what_is_open_and_leave_what_was_said():
    case = Case(symptom="lag", observations={"volume": "fine", "message": "unknown"})
    taken = take_observations(Session(case=case), {"volume": "offline", "message": "io_error", "light": "unknown"})
    assert taken.case.observations == {"volume": "fine", "message": "io_error"}
    assert taken.revision == 1


def test_a_measurement_that_tells_nothing_new_changes_nothing():
    session = Session(case=Case(symptom="lag", observations={"volume": "fine"}))
    assert take_observations(session, {"volume": "offline"}) is session
    assert take_observations(Session(), {"volume": "offline"}) == Session()


def test_a_described_set_up_begins_a_case_and_a_changed_one_keeps_it(engine):
    at = engine.describe(())
    live = Session(ticked=("lag",), case=Case(symptom="lag", observations={"when": "random"}, asked=("when",)),
                   source=Source("live"), look=Look())  # fmt: skip
    fresh = take_described(live, engine, at.setup, Look(snapshot=at.snapshot))
    assert (fresh.case.source, fresh.asked, fresh.line) == ("described", (), live.line + 1)
    answered = replace(fresh, case=fresh.case.answered("when", "random"))
    again = take_described(answered, engine, at.setup, Look(snapshot=at.snapshot))
    assert (again.asked, again.line, again.looks) == (("when",), fresh.line, fresh.looks + 1)
