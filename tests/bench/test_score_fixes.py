"""The map from troubles to remedies names only remedies there are; and what counts as a hit."""

import json
from pathlib import Path

import pytest
from bench.score_fixes import FIRST, Result, lines, main, read_fixes, score

from wizard import wiring


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def test_every_remedy_in_the_map_exists(services: wiring.Services) -> None:
    known = {remedy.id for remedy in services.remedies}
    fixes = read_fixes()
    assert len(fixes) == 50
    assert {remedy for remedies in fixes.values() for remedy in remedies} <= known


def test_no_trouble_counts_as_mended_by_handing_it_on_or_twice_by_one_remedy(services: wiring.Services) -> None:
    cures_nothing = {remedy.id for remedy in services.remedies if remedy.last_resort}
    for remedies in read_fixes().values():
        assert not cures_nothing & set(remedies)
        assert len(set(remedies)) == len(remedies)


def test_a_remedy_counts_up_to_the_fifth_step() -> None:
    steps = ("a", "b", "c", "d", "e", "f")
    assert Result("t1", ("e", "f"), steps).place == FIRST
    assert Result("t1", ("e",), steps).hit
    assert not Result("t2", ("f",), steps).hit
    assert not Result("t3", (), steps).hit


def test_the_plan_is_that_of_the_whole_case_and_a_miss_is_listed(services: wiring.Services) -> None:
    case = {
        "schema": "portmend/case/1",
        "symptom": "dropout",
        "observations": {"when": "idle_or_resume", "power_saving_off": "cures"},
    }
    row = json.dumps({"id": "t1", "full": case})
    (hit,) = score(services, [row], {"t1": ["power_saving_off"]})
    assert hit.place == 1
    (miss,) = score(services, [row], {"t1": ["fresh_battery"]})
    assert "1/2 = 50 %" in next(lines([hit, miss]))
    assert [line for line in lines([hit, miss]) if "fresh_battery not in the plan" in line]


@pytest.mark.parametrize("text", ["{}\n", "no JSON\n", '{"id": "not in the map", "full": {"symptom": "dropout"}}\n'])
def test_a_file_that_is_no_cases_is_refused_with_one_line(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "cases.jsonl"
    broken.write_text(text)
    assert main([str(broken)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
