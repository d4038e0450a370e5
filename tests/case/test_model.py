"""A case is a value and a document."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from wizard.case.model import Case


def test_an_answer_makes_a_new_case_and_leaves_the_old_one() -> None:
    before = Case(symptom="lag")
    after = before.answered("when", ("stream_start",)).answered("affected", "one_hub")
    assert before.observations == {}
    assert after.asked == ("when", "affected")
    assert after.without_answer("when").observations == {"affected": "one_hub"}


def test_answering_again_moves_the_question_to_the_end() -> None:
    case = Case(symptom="lag").answered("when", "random").answered("affected", "one_hub").answered("when", "always")
    assert case.asked == ("affected", "when")
    assert case.observations["when"] == "always"


def test_only_the_symptom_is_required() -> None:
    assert Case.model_validate({"schema": "portmend/case/1", "symptom": "lag"}).observations == {}
    with pytest.raises(ValidationError):
        Case.model_validate({"schema": "portmend/case/1"})


def test_a_platform_of_the_future_is_other() -> None:
    assert Case.model_validate({"symptom": "lag", "platform": "plan9"}).platform == "other"


@given(st.dictionaries(st.text(), st.one_of(st.text(), st.booleans(), st.integers(-(2**53), 2**53), st.none())))
def test_unknown_observations_are_kept_as_they_came(observations: dict[str, Any]) -> None:
    case = Case(symptom="lag", observations=observations)
    assert Case.model_validate_json(case.model_dump_json(by_alias=True)).observations == observations
