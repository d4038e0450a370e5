"""The yardstick itself: what it counts as a hit, and that it does not flatter."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).with_name("score_cases.py")


@pytest.fixture(scope="module")
def bench() -> ModuleType:
    spec = importlib.util.spec_from_file_location("score_cases", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["score_cases"] = module
    spec.loader.exec_module(module)
    return module


def line(number: int, cause: str, symptom: str, accept: tuple[str, ...] = (), **observations: str) -> str:
    case = {"schema": "portmend/case/1", "symptom": symptom, "observations": observations}
    return json.dumps({"id": f"t{number}", "cause": cause, "accept": accept, "before": case, "full": case})


def test_a_cause_that_is_accepted_counts_as_right(bench: ModuleType) -> None:
    (trouble,) = bench.read_troubles([line(1, "cable_fault", "dropout", ("cable_length",))])
    result = bench.Result(trouble, (("cable_length", 0.6), ("cable_fault", 0.3), ("hub_fault", 0.1)))
    assert result.place == 1
    assert not result.strict


def test_situations_of_our_own_are_read_as_cases_before_and_with_the_test(bench: ModuleType) -> None:
    text = """
        [[situation]]
        set = "own"
        symptom = "dropout"
        right = ["cable_fault", "cable_length"]
        told = { when = "random" }
        tested = { other_cable = "cures" }
    """
    (trouble,) = bench.read_situations(text)
    assert trouble.id == "own-0"
    assert trouble.right == ("cable_fault", "cable_length")
    assert trouble.before.observations == {"when": "random"}
    assert trouble.full.observations == {"when": "random", "other_cable": "cures"}


def test_a_right_cause_in_third_place_is_in_third_place(bench: ModuleType) -> None:
    (trouble,) = bench.read_troubles([line(1, "hub_fault", "dropout")])
    result = bench.Result(trouble, (("cable_length", 0.6), ("cable_fault", 0.3), ("hub_fault", 0.1)))
    assert result.place == 3


def test_the_guesser_names_each_symptoms_most_common_causes(bench: ModuleType) -> None:
    causes = ["cable_fault"] * 3 + ["hub_fault"] * 2 + ["port_power", "power_saving"]
    troubles = bench.read_troubles(line(i, cause, "dropout") for i, cause in enumerate(causes))
    assert bench.guess_by_symptom(troubles, "before") == (3, 6)


@pytest.mark.parametrize(
    ("leads", "figure"),
    [
        ((True,), 0),
        ((True, True, True), 0),
        ((False, True, True), 1),
        ((True, False, True), 2),
        ((False, False, False), 13),
        ((True, True, False), 13),
    ],
)
def test_the_figure_is_the_first_question_after_which_the_right_cause_stays_first(
    bench: ModuleType, leads: tuple[bool, ...], figure: int
) -> None:
    (trouble,) = bench.read_troubles([line(1, "hub_fault", "dropout")])
    assert bench.Played(trouble, leads, True, 0).figure == figure


def test_a_dialogue_begins_with_nothing_but_the_symptom_and_ends_with_what_is_known(bench: ModuleType) -> None:
    services = bench.wiring.load_services()
    known = {"when": "idle_or_resume", "power_saving_off": "cures", "device_speed": "full", "light": "on"}
    (trouble,) = bench.read_troubles([line(1, "power_saving", "dropout", **known)])
    played = bench.dialogue(services, trouble)
    assert not played.leads[0], "the prior alone would do: this tests nothing"
    assert 0 < played.figure <= played.put <= bench.LONGEST_DIALOGUE
    assert played.in_three
    assert 0 < played.answered <= len(known)


def test_judged_apart_a_trouble_does_not_profit_from_rules_it_alone_supports(bench: ModuleType) -> None:
    services = bench.wiring.load_services()
    alone = bench.read_troubles([line(1, "electrical_noise", "dropout", machine_off="cures")])
    twice = bench.read_troubles([line(i, "electrical_noise", "dropout", machine_off="cures") for i in (1, 2)])
    assert [r.place for r in bench.score(services, alone, "full")] == [1]
    assert bench.score_apart(services, alone, "full")[0].place > 1
    assert [r.place for r in bench.score_apart(services, twice, "full")] == [1, 1]


def test_a_file_that_is_no_cases_is_refused_with_one_line(
    bench: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "cases.jsonl"
    broken.write_text("{}\n")
    assert bench.main([str(broken)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
