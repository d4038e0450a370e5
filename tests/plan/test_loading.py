"""Misspelt remedies are refused with their place; what does not fit the rulebook is a gap with its place."""

import pytest

from wizard.bus.errors import RulebookError
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.lint import lint_remedies
from wizard.plan.loading import load_remedies
from wizard.plan.steps import Remedy

GOOD = {"id": "a", "cures": ["cable_fault"], "effort_min": 1, "spend": "none", "risk": "low"}


def problems_of(row: dict[str, object], rulebook: Rulebook, texts: Texts) -> list[str]:
    remedy = Remedy.model_validate({**GOOD, **row})
    return [p.text for p in lint_remedies((remedy,), rulebook, texts) if p.place == f"remedy {remedy.id}"]


def test_all_misspellings_are_reported_at_once_with_place_and_nearest_word() -> None:
    tables = {
        "one.toml": {"remedy": [{**GOOD, "onlyif": []}]},
        "two.toml": {"remedy": [{**GOOD, "id": "b", "spend": "lots"}, {**GOOD, "id": "c"}, {**GOOD, "id": "c"}]},
    }
    with pytest.raises(RulebookError) as caught:
        load_remedies(tables)
    first, second, third = caught.value.problems
    assert first == "one.toml, remedy a, onlyif: unknown word 'onlyif' (did you mean 'only_if'?)"
    assert second.startswith("two.toml, remedy b, spend: ")
    assert third == "two.toml, remedy c: the id is taken already, by two.toml, remedy c"


def test_remedies_keep_the_order_of_the_data() -> None:
    tables = {"one.toml": {"remedy": [{**GOOD, "id": "b"}, GOOD]}}
    assert [r.id for r in load_remedies(tables)] == ["b", "a"]


@pytest.mark.parametrize(
    "row",
    [{"cures": []}, {"last_resort": True}, {"may_cure": ["cable_fault"]}, {"effort_min": 0}],
    ids=["cures nothing", "last resort that cures", "cause twice", "no effort"],
)
def test_a_remedy_that_contradicts_itself_is_refused(row: dict[str, object]) -> None:
    with pytest.raises(RulebookError):
        load_remedies({"one.toml": {"remedy": [{**GOOD, **row}]}})


@pytest.mark.parametrize(
    ("row", "text"),
    [
        ({"cures": ["cable_falt"]}, "unknown cause 'cable_falt' (did you mean 'cable_fault'?)"),
        (
            {"only_if": [{"observation": "hub_betwen", "any_of": ["one"]}]},
            "only_if.0: unknown observation 'hub_betwen' (did you mean 'hub_between'?)",
        ),
        (
            {"surely_if": [{"observation": "hub_between", "any_of": ["chains"]}]},
            "surely_if.0: 'hub_between' has no value 'chains' (did you mean 'chain'?)",
        ),
        ({"tried_as": "hub_between"}, "tried_as: 'hub_between' is no test"),
        ({"touches": ["drive"]}, "it lacks the cautions eject_drive"),
        ({"touches": ["motor"]}, "it lacks the cautions motor_safe"),
        (
            {"touches": ["firmware"]},
            "it lacks the cautions eject_drive, firmware_power, makers_manual, motor_safe, save_work",
        ),
        (
            {"touches": ["board_setup"]},
            "it lacks the cautions eject_drive, makers_manual, motor_safe, save_work, way_back",
        ),
        ({"touches": ["driver"]}, "it lacks the cautions eject_drive, motor_safe, save_work"),
        (
            {"touches": ["case"], "opens_case": True},
            "it lacks the cautions card_edge, discharge_button, eject_drive, esd_strap, laptop_battery, "
            "mains_unplugged, motor_safe, never_open_supply, note_plugs, power_off, save_work, warranty",
        ),
        ({"touches": ["case"], "cautions": ["power_off"]}, "opens_case and touching the case go together"),
        ({"risk": "data"}, "it risks data without copy_first or eject_drive"),
        ({"risk": "injury"}, "it risks injury without any caution"),
    ],
)
def test_a_remedy_that_does_not_fit_is_a_gap(
    row: dict[str, object], text: str, rulebook: Rulebook, prose: Texts
) -> None:
    assert text in problems_of(row, rulebook, prose)


def test_a_good_remedy_has_no_gap(rulebook: Rulebook, prose: Texts) -> None:
    assert problems_of({}, rulebook, prose) == []


def test_a_cause_without_remedy_and_a_plan_without_end_are_gaps(rulebook: Rulebook, prose: Texts) -> None:
    gaps = {(p.place, p.text) for p in lint_remedies((Remedy.model_validate(GOOD),), rulebook, prose)}
    assert ("cause hub_supply", "no remedy cures it") in gaps
    assert ("cause cable_fault", "no remedy cures it") not in gaps
    assert ("remedies", "there is no last_resort: a plan could be empty") in gaps


def test_missing_stray_and_misspelt_texts_are_gaps(rulebook: Rulebook) -> None:
    texts = Texts("en", {"step.a.do": "take {amp}", "step.gone.do": "x", "step.a.why": "{", "step.a.do_linux": "x"})
    gaps = {p.text for p in lint_remedies((Remedy.model_validate(GOOD),), rulebook, texts)}
    assert "step.a.undo is missing" in gaps
    assert "caution.eject_drive.text is missing" in gaps
    assert "step.gone.do belongs to no remedy" in gaps
    assert "step.a.do_linux belongs to no remedy" not in gaps
    assert "step.a.do: there is no gap 'amp' here" in gaps
    assert any(g.startswith("step.a.why: its gaps can't be read") for g in gaps)
