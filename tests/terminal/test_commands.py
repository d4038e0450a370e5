"""Each sub-command prints what it promises, and its exit code says how it went."""

import json
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.errors import CancelledError, RulebookError
from wizard.bus.model import Controller, Device, Snapshot
from wizard.bus.sign import LogRead
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.store.cases import open_case, save_case
from wizard.terminal.judging import one_leads, overdrawn_now


def saved(folder: Path, name: str, **more: Any) -> Path:
    path = folder / name
    save_case(Case(symptom="lag", **more), path)
    return path


@pytest.fixture
def lonely_bus(monkeypatch: pytest.MonkeyPatch) -> Look:
    """What a look at this machine finds, instead of its real bus: one device with telling strings."""
    look = Look(snapshot=Snapshot(devices=(Device(id="1-1", product="Ca\x1b[31mmera", serial="Q88123"),)))
    monkeypatch.setattr(wiring, "look_live", lambda **_more: look)
    return look


def test_help_lists_what_there_is_and_nothing_that_comes_later(call: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = call("--help")
    shown = capsys.readouterr().out
    assert code == 0
    for name in (
        "look",
        "watch",
        "pace",
        "drive",
        "capture",
        "ask",
        "advise",
        "compare",
        "report",
        "fit",
        "demo",
        "schema",
        "paths",
        "check",
    ):
        assert f"    {name}" in shown


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["frobnicate"], "invalid choice: 'frobnicate'"),
        ([""], "invalid choice: ''"),
        (["look", "--jso"], "unrecognized arguments: --jso"),
        (["look", "x\x1b[2J\ny"], "unrecognized arguments: x\\x1b[2J y"),
        (["advise"], "the following arguments are required: CASE.json"),
        (["compare", "one.json"], "the following arguments are required: AFTER.json"),
        (["report", "case.json"], "the following arguments are required: --to"),
        (
            ["report", "case.json", "--to", "x.txt", "--with", "serials,secrets"],
            "'secrets' is not one of names, serials",
        ),
        (["schema", "nothing"], "invalid choice: 'nothing'"),
        (["paths", "--depth", "0"], "'0' is not a number from 1 to 6"),
        (["paths", "--depth", "many"], "'many' is not a number from 1 to 6"),
        (["demo", "../x"], "there is no demo of that name"),
        (["ask"], "there is no terminal to ask in"),
        (["look", "--log", "none.log"], "there is no such file"),
        (["look", "--root", "none"], "none"),
        (["advise", "none.json"], "there is no such file"),
        (["advise", "."], "it is a folder"),
        (["compare", "none.json", "none.json"], "there is no such file"),
    ],
)
def test_a_wrong_call_is_one_line_and_2(
    call: Any, argv: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, screen = call(*argv)
    assert code == 2
    assert screen.text == ""
    assert screen.notes.count("\n") == 1
    assert said in screen.notes


def test_look_json_is_one_document_and_says_that_it_is_not_redacted(call: Any, lonely_bus: Look) -> None:
    code, screen = call("look", "--json")
    assert code == 0
    assert screen.document["schema"] == "portmend/look/1"
    assert screen.document["snapshot"]["devices"][0]["serial"] == lonely_bus.snapshot.devices[0].serial
    assert set(screen.document) == {"schema", "snapshot", "ledger", "signs", "notes"}
    assert "\x1b" not in screen.text
    assert "not redacted" in screen.notes


def test_look_for_people_neutralises_what_devices_say(call: Any, lonely_bus: Look) -> None:
    code, screen = call("look")
    assert lonely_bus.has_bus
    assert code == 0
    assert "Ca\\x1b[31mmera" in screen.text
    assert "\x1b" not in screen.text
    assert "Q88123" not in screen.text


def test_no_bus_is_3_with_an_empty_document_and_a_note(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wiring, "look_live", lambda **_more: Look())
    code, screen = call("look", "--json")
    assert code == 3
    assert screen.document["snapshot"]["devices"] == []
    assert screen.document["ledger"] == []
    assert screen.document["notes"] == ["No USB bus was found."]
    code, screen = call("look")
    assert code == 3
    assert "No USB bus was found" in screen.notes


def test_a_log_is_read_beside_the_look(call: Any, lonely_bus: Look, tmp_path: Path) -> None:
    assert lonely_bus.has_bus
    read = lonely_bus.model_copy(update={"log": LogRead(lines=2)})
    (tmp_path / "log").write_bytes(b"[ 1.0] usb 1-1: reset high-speed USB device number 2 using xhci_hcd\n\xff\n")
    seen: dict[str, Any] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wiring, "look_live", lambda log: seen.update(log=b"".join(log)) or read)
        code, screen = call("look", "--log", tmp_path / "log")
    assert code == 0
    assert seen["log"].splitlines()[1] == b"\xff"
    assert "What the log says" in screen.text


def test_an_overdrawn_budget_in_use_stands_out(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    demo = wiring.load_demo(wiring.demo_names()[0])
    before = wiring.look_demo(demo, "before")
    assert overdrawn_now(before.ledger)
    monkeypatch.setattr(wiring, "look_live", lambda **_more: before)
    code, screen = call("look")
    assert code == 1
    assert "OVERDRAWN" in screen.text


def test_what_may_only_come_does_not_stand_out() -> None:
    demo = wiring.load_demo(wiring.demo_names()[0])
    over = [e for e in wiring.look_demo(demo, "before").ledger if e.state == "over" and e.budget == "periodic_time"]
    assert over
    assert not overdrawn_now(tuple(over))


def test_advise_answers_as_the_contract_has_it(call: Any, demo_file: Path) -> None:
    code, screen = call("advise", demo_file, "--json")
    document = screen.document
    assert screen.notes == ""
    assert document["schema"] == "portmend/advice/1"
    assert {"causes", "together", "next_question", "plan"} <= set(document)
    assert sum(cause["share"] for cause in document["causes"]) == pytest.approx(1, abs=0.001)
    assert {"id", "share", "for", "against"} <= set(document["causes"][0])
    assert {"on", "weight", "why", "source"} <= set(document["causes"][0]["for"][0])
    assert set(document["plan"]) >= {"steps", "options"}
    first, second = (cause["share"] for cause in document["causes"][:2])
    assert code == (1 if first >= 0.5 and first >= 2 * second else 0)


def test_advise_for_people_holds_findings_and_plan(call: Any, demo_file: Path) -> None:
    code, screen = call("advise", demo_file)
    assert code in (0, 1)
    for title in ("What was found", "What stays unknown", "What to do", "Step 1"):
        assert title in screen.text


def test_a_bare_case_is_enough_to_advise(call: Any, tmp_path: Path) -> None:
    path = tmp_path / "bare.json"
    path.write_text('{"schema": "portmend/case/1", "symptom": "other"}', encoding="utf-8")
    code, screen = call("advise", path, "--json")
    assert code in (0, 1)
    assert screen.document["next_question"]["observation"]


def test_nothing_leads_without_half_of_the_belief_or_twice_the_next(services: wiring.Services) -> None:
    causes = wiring.advise(services, Case(symptom="other")).causes
    assert not one_leads(())
    assert not one_leads(tuple(c.model_copy(update={"share": s}) for c, s in zip(causes, (0.49, 0.1), strict=False)))
    assert not one_leads(tuple(c.model_copy(update={"share": s}) for c, s in zip(causes, (0.6, 0.4), strict=False)))
    assert one_leads(tuple(c.model_copy(update={"share": s}) for c, s in zip(causes, (0.5, 0.25), strict=False)))


def test_compare_takes_cases_and_looks(call: Any, tmp_path: Path) -> None:
    before = saved(tmp_path, "before.json", snapshot=Snapshot(devices=(Device(id="1-1", product="Camera\x07"),)))
    after = tmp_path / "after.json"
    after.write_text(Look(snapshot=Snapshot()).model_dump_json(by_alias=True), encoding="utf-8")
    code, screen = call("compare", before, after, "--json")
    assert code == 0
    assert screen.document["schema"] == "portmend/compare/1"
    assert [d["was"] for d in screen.document["gone"]] == ["1-1"]
    assert {"new", "moved", "faster", "slower", "budgets", "new_signs"} <= set(screen.document)
    code, screen = call("compare", before, after)
    assert code == 0
    assert "gone: Camera\\x07 (was 1-1)" in screen.text
    assert "No difference was seen." in call("compare", before, before)[1].text


def test_a_case_without_a_look_is_not_compared(call: Any, tmp_path: Path, demo_file: Path) -> None:
    bare = saved(tmp_path, "bare.json")
    for pair in ((bare, bare), (bare, demo_file), (demo_file, bare)):
        code, screen = call("compare", *pair)
        assert code == 2
        assert screen.text == ""
        assert "bare.json: this case holds no look, so there is nothing to compare" in screen.notes


def test_what_is_overdrawn_as_before_is_said(call: Any, demo_file: Path) -> None:
    _, screen = call("compare", demo_file, demo_file)
    assert "No difference was seen." in screen.text
    assert "still overdrawn: " in screen.text


def test_two_computers_are_called_so(call: Any, tmp_path: Path, demo_file: Path) -> None:
    other = Snapshot(controllers=(Controller(id="0000:09:00.0"),))
    path = saved(tmp_path, "other.json", snapshot=other)
    _, screen = call("compare", demo_file, path)
    assert "two different computers" in " ".join(screen.text.split())
    _, screen = call("compare", demo_file, path, "--json")
    assert any("two different computers" in note for note in screen.document["notes"])
    _, screen = call("compare", demo_file, demo_file, "--json")
    assert screen.document["notes"] == []


@pytest.mark.parametrize("ending", [".html", ".txt", ".json", ".HTML"])
def test_report_writes_the_form_that_the_ending_names(call: Any, demo_file: Path, ending: str) -> None:
    target = demo_file.with_name(f"report{ending}")
    code, screen = call("report", demo_file, "--to", target)
    assert code == 0
    assert f"Written: {target}" in screen.text
    text = target.read_text(encoding="utf-8")
    if ending == ".json":
        assert json.loads(text)["schema"] == "portmend/case/1"
    elif ending == ".txt":
        assert text.startswith("Portmend report: ")
    else:
        assert text.startswith("<!DOCTYPE html>")


def test_report_leaves_out_what_was_not_ticked(call: Any, tmp_path: Path) -> None:
    log = "Jan  1 12:00:00 tombola kernel: usb 1-1: SerialNumber: Q88123\n"
    case = saved(tmp_path, "c.json", log=log, snapshot=Snapshot(devices=(Device(id="1-1", serial="Q88123"),)))
    for keep, serial, name in (("", False, False), ("serials", True, False), ("names,serials", True, True)):
        call("report", case, "--to", tmp_path / "r.json", "--with", keep)
        text = (tmp_path / "r.json").read_text(encoding="utf-8")
        assert ("Q88123" in text, "tombola" in text) == (serial, name)


def test_report_never_overwrites_its_own_case(call: Any, demo_file: Path) -> None:
    before = demo_file.read_bytes()
    code, screen = call("report", demo_file, "--to", demo_file)
    assert code == 2
    assert "would overwrite the case itself" in screen.notes
    assert demo_file.read_bytes() == before


@pytest.mark.parametrize("name", ["report.odt", "report", "none/such/deep\0er.txt"])
def test_a_report_that_can_not_be_written_is_one_line(call: Any, demo_file: Path, name: str) -> None:
    code, screen = call("report", demo_file, "--to", demo_file.with_name("x").parent / name)
    assert code == 2
    assert screen.notes.count("\n") == 1


def test_a_report_makes_no_folder(call: Any, demo_file: Path) -> None:
    folder = demo_file.with_name("misspelt")
    code, screen = call("report", demo_file, "--to", folder / "r.txt")
    assert code == 2
    assert "there is no folder" in screen.notes
    assert not folder.exists()


def test_demos_are_listed_and_played_to_the_verdict(call: Any) -> None:
    code, screen = call("demo")
    assert code == 0
    for name in wiring.demo_names():
        assert name in screen.text
    name = wiring.demo_names()[0]
    code, screen = call("demo", name)
    assert code == 0
    for title in ("Questions and what this user answers", "What was found", "What to do", "After the fix", "Verdict"):
        assert title in screen.text


@pytest.mark.parametrize("name", ["look", "case", "advice", "compare", "snapshot"])
def test_schemas_use_the_names_of_the_files(call: Any, name: str) -> None:
    code, screen = call("schema", name)
    assert code == 0
    assert screen.document["$schema"].endswith("2020-12/schema")
    for ours in ("class_code", "schema_", "for_"):
        assert f'"{ours}"' not in screen.text


def test_paths_prints_a_question_for_every_main_symptom(call: Any, services: wiring.Services) -> None:
    code, screen = call("paths", "--depth", "1")
    assert code == 0
    for symptom in services.rulebook.symptoms:
        title = services.texts[f"symptom.{symptom.id}.title"]
        assert (f"{title}\n=" in screen.text) == symptom.main
    assert "unknown → " in screen.text


def test_check_passes_and_prints_versions(call: Any) -> None:
    code, screen = call("check")
    assert "FAILED" not in screen.text
    assert code == 0
    for demo in wiring.demo_names():
        assert f"ok: demo {demo}" in screen.text
    assert "Portmend 0." in screen.text
    assert "pydantic 2." in screen.text


def test_check_says_what_failed_and_ends_with_1(call: Any) -> None:
    code, screen = call("check", pages=lambda: ["the ledger page raised an error"])
    assert code == 1
    assert "FAILED: every page of the window\n  the ledger page raised an error\n" in screen.text


def test_check_says_where_a_window_can_not_be(call: Any) -> None:
    def no_qt() -> list[str]:
        raise ImportError("libEGL.so.1")

    code, screen = call("check", pages=no_qt)
    assert code == 1
    assert "the window can't be built here: libEGL.so.1" in screen.text


def test_check_tells_every_problem_of_a_broken_rulebook(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> wiring.Services:
        raise RulebookError(("a.toml, line 3: slip", "b.toml, line 4: slip"))

    monkeypatch.setattr(wiring, "load_services", broken)
    code, screen = call("check")
    assert code == 1
    assert "  a.toml, line 3: slip\n  b.toml, line 4: slip\n" in screen.text


def test_check_start_is_the_windows_business(call: Any) -> None:
    code, screen = call("check", "--start")
    assert (code, screen.text) == (0, "started\n")


def test_a_fault_of_our_own_is_one_line_with_a_file(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def fault(**_more: object) -> Look:
        raise KeyError("nobody thought of this\n")

    monkeypatch.setattr(wiring, "look_live", fault)
    code, screen = call("look", "--json")
    assert code == 4
    assert screen.text == ""
    assert screen.notes.count("\n") == 1
    details = Path(screen.notes.rsplit(" in ", 1)[1].strip())
    assert "nobody thought of this" in details.read_text(encoding="utf-8")


def test_a_broken_installation_is_a_fault_of_our_own(
    call: Any, monkeypatch: pytest.MonkeyPatch, demo_file: Path
) -> None:
    def broken() -> wiring.Services:
        raise RulebookError(("a.toml, line 3: slip",))

    monkeypatch.setattr(wiring, "load_services", broken)
    code, screen = call("advise", demo_file)
    assert code == 4
    assert screen.notes.count("\n") == 1


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), CancelledError("looking")])
def test_being_stopped_is_no_fault(call: Any, monkeypatch: pytest.MonkeyPatch, stop: BaseException) -> None:
    def stopped(**_more: object) -> Look:
        raise stop

    monkeypatch.setattr(wiring, "look_live", stopped)
    code, screen = call("look")
    assert code == 130
    assert screen.notes == "Stopped.\n"


def test_nothing_a_command_does_changes_the_case(call: Any, demo_file: Path) -> None:
    before = demo_file.read_bytes()
    call("advise", demo_file)
    call("compare", demo_file, demo_file)
    call("report", demo_file, "--to", demo_file.with_name("r.txt"))
    assert demo_file.read_bytes() == before
    assert open_case(demo_file).symptom
