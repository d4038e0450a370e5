"""The whole job, wired together: from a look to the advice, the check afterwards and the report."""

import json
from pathlib import Path

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.case.model import Case, Recheck

CAPTURES = Path(__file__).parent / "reference" / "captures"


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def test_the_shipped_rulebook_has_no_gap(services: wiring.Services) -> None:
    assert wiring.lint(services) == ()


@pytest.mark.parametrize("name", wiring.demo_names())
def test_a_demo_runs_from_its_trouble_to_solved(services: wiring.Services, name: str) -> None:
    demo = wiring.load_demo(name)
    case = wiring.demo_case(demo)
    for _ in range(12):
        question = wiring.advise(services, case).next_question
        if question is None:
            break
        case = case.answered(question.observation, demo.answers.get(question.observation, "unknown"))
    assert wiring.advise(services, case).next_question is None
    before, after = wiring.look_demo(demo, "before"), wiring.look_demo(demo, "after")
    checked = case.model_copy(update={"rechecks": (Recheck(snapshot=demo.after, outcome=demo.outcome),)})
    assert wiring.verdict(checked, before, after).verdict == "solved"


def test_the_theatres_overdrawn_translator_is_found_with_its_number(services: wiring.Services) -> None:
    advice = wiring.advise(services, wiring.demo_case(wiring.load_demo("puppet-theatre")))
    first = advice.causes[0]
    assert first.id == "translator_bandwidth"
    assert any(e.on == "periodic_time_active@1-3/tt" and "of 900 us/frame" in e.why for e in first.for_)
    assert any("no_bandwidth" in e.on or "stream_no_space" in e.on for e in first.for_)


def test_advice_has_the_published_shape(services: wiring.Services) -> None:
    case = Case(symptom="dropout", observations={"when": ["touched_or_moved"]})
    document = json.loads(wiring.advise(services, case).model_dump_json(by_alias=True))
    assert document["schema"] == "portmend/advice/1"
    assert sum(c["share"] for c in document["causes"]) == pytest.approx(1, abs=0.001)
    assert {"id", "share", "for", "against"} <= set(document["causes"][0])
    assert document["next_question"] is None or "unknown" in document["next_question"]["values"]
    assert {"id", "do", "why", "cures", "cautions", "undo", "check"} <= set(document["plan"]["steps"][0])


def test_what_the_reader_does_not_know_is_kept_and_said(services: wiring.Services) -> None:
    case = Case(symptom="lag", subject=("9-9",), observations={"phase_of_moon": "full"})
    notes = " ".join(wiring.advise(services, case).notes)
    assert "phase_of_moon" in notes
    assert "9-9" in notes or case.snapshot is None
    assert case.observations["phase_of_moon"] == "full"


def test_a_symptom_never_heard_of_still_gets_advice(services: wiring.Services) -> None:
    advice = wiring.advise(services, Case(symptom="haunted"))
    assert advice.plan.steps
    assert any("haunted" in note for note in advice.notes)


def test_a_look_at_a_capture_brings_its_ledger_and_its_signs() -> None:
    look = wiring.look_captured(CAPTURES / "deep.tar.gz", log="usb 1-1.1: device descriptor read/64, error -71\n")
    assert {e.budget for e in look.ledger} >= {"port_current", "periodic_time", "slots", "hub_depth"}
    assert [(s.kind, s.where) for s in look.signs] == [("descriptor_read_failed", "1-1.1")]


def test_two_saved_documents_can_be_compared(tmp_path: Path) -> None:
    demo = wiring.load_demo("puppet-theatre")
    paths = []
    for stage in ("before", "after"):
        path = tmp_path / f"{stage}.json"
        path.write_text(wiring.look_demo(demo, stage).model_dump_json(by_alias=True))  # type: ignore[arg-type]  # a loop over literals
        paths.append(path)
    found = wiring.compare_files(*paths)
    assert [(d.was, d.now) for d in found.moved] == [("1-3.1", "1-2")]
    assert ("periodic_time_active", "1-3/tt") in {(b.budget, b.where) for b in found.relieved}


def test_a_report_in_a_form_that_does_not_exist_is_refused(services: wiring.Services, tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match=r"Use \.html, \.pdf, \.txt or \.json"):
        wiring.write_report(services, Case(symptom="lag"), tmp_path / "report.docx")


@pytest.mark.parametrize("form", [".html", ".txt", ".json"])
def test_a_report_leaves_serial_numbers_out(services: wiring.Services, tmp_path: Path, form: str) -> None:
    case = wiring.demo_case(wiring.load_demo("puppet-theatre"))
    assert "OSW-000271" in case.model_dump_json()
    text = wiring.write_report(services, case, tmp_path / f"report{form}").read_text()
    assert "OSW-000271" not in text
    assert "Cue sound interface" in text


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("hub_between", "seventeen"),
        ("cable_m", "x"),
        ("delay_ms", -5),
        ("when", ["random", "full moon"]),
        ("battery", 7),
    ],
)
def test_an_answer_that_is_none_is_told_and_not_dropped(services: wiring.Services, name: str, value: object) -> None:
    case = Case.model_validate({"schema": "portmend/case/1", "symptom": "lag", "observations": {name: value}})
    notes = wiring.advise(services, case).notes
    assert any(name in note and "no answer" in note for note in notes)


@pytest.mark.parametrize(
    ("name", "value"),
    [("hub_between", "one"), ("cable_m", 2), ("other_port", "helps"), ("when", ["random"]), ("light", "unknown")],
)
def test_an_answer_that_is_one_needs_no_note(services: wiring.Services, name: str, value: object) -> None:
    case = Case.model_validate({"schema": "portmend/case/1", "symptom": "lag", "observations": {name: value}})
    assert wiring.advise(services, case).notes == ()
