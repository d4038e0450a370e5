"""`portmend fit`: the kinds, the answer in words and as a document, and what the exit code says."""

import json
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.model import Snapshot
from wizard.case.documents import FitDocument, Look
from wizard.case.model import Case
from wizard.store.cases import save_case


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


@pytest.fixture
def crowded(tmp_path: Path, services: wiring.Services) -> Path:
    """A described desk: one socket with a hub of two, and a sound interface in the first of them."""
    at = wiring.describe([wiring.Host(usb2=1)])
    at = at.with_hub("1-1", wiring.HubMade(ports=2, supply_ma=1000), "The hub on the desk")
    at = wiring.plug_kind(services, at, "1-1.1", "sound_stereo")
    path = tmp_path / "case.json"
    save_case(Case(symptom="dropout", snapshot=at.snapshot, setup=at.setup, source="described"), path)
    return path


def test_without_a_kind_all_kinds_are_listed_with_their_names(call: Any, services: wiring.Services) -> None:
    code, screen = call("fit")
    assert code == 0
    for choice in wiring.kind_choices(services):
        assert f"- {choice.id}: " in screen.text
    listed = json.loads(call("fit", "--json")[1].text)
    assert [k["id"] for k in listed["kinds"]] == [c.id for c in wiring.kind_choices(services)]


def test_a_second_sound_interface_does_not_fit_through_the_same_translator(call: Any, crowded: Path) -> None:
    """Twice 2 × 294 bytes a frame: 949 of 900 us (USB 2.0 §5.11.3, §11.18)."""
    code, screen = call("fit", "sound_stereo", "--case", str(crowded))
    assert code == 1
    assert "No: not one more fits." in screen.text
    assert "would be used, limit 900 µs a frame" in " ".join(screen.text.split())
    assert screen.text.count("949") == 1


def test_one_stick_fits_and_then_no_socket_is_left(call: Any, crowded: Path) -> None:
    code, screen = call("fit", "stick", "--case", str(crowded))
    words = " ".join(screen.text.split())
    assert code == 0
    assert "Yes: 1 more fits." in words
    assert "- socket 1-1.2 of The hub on the desk (1-1)" in words
    assert "no suitable socket is free then; a hub would add some" in words
    assert "typical device (typical, from memory)" in words


def test_the_document_holds_the_entries_that_block(call: Any, crowded: Path) -> None:
    _, screen = call("fit", "sound_stereo", "--case", str(crowded), "--json")
    document = json.loads(screen.text)
    assert document["schema"] == "portmend/fit/1"
    found = FitDocument.model_validate(document).fit
    assert {(e.budget, e.where) for e in found.certain.blocked_by} == {
        ("periodic_time", "1-1/tt"),
        ("periodic_time_active", "1-1/tt"),
    }


def test_what_hangs_on_an_unknown_limit_is_told_with_what_settles_it(
    call: Any, services: wiring.Services, tmp_path: Path
) -> None:
    """An ssd has 5 endpoints: 12 of them are 60 on the controller, 13 are 65, which is over 64 and under 254."""
    at = wiring.describe([wiring.Host(usb3=15)])
    for port in range(1, 13):
        at = wiring.plug_kind(services, at, f"1-{port}", "ssd")
    path = tmp_path / "case.json"
    save_case(Case(symptom="resource_error", snapshot=at.snapshot, setup=at.setup), path)
    words = " ".join(call("fit", "ssd", "--case", str(path))[1].text.split())
    assert "Perhaps: up to 3 more if a limit that is not known is high enough; for certain none." in words
    assert "fewer fit if this is an older controller, more if it is a later one" in words
    assert "What would settle it: USB controller" in words


def test_no_bus_is_3_and_says_how_to_go_on(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wiring, "look_live", lambda **_more: Look(snapshot=Snapshot()))
    code, screen = call("fit", "mouse")
    assert code == 3
    assert "--root" in screen.notes


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["fit", "teapot"], "there is no such kind of device"),
        (["fit", "mouse", "--most", "0"], "0 is not a number from 1 to 127"),
        (["fit", "mouse", "--case", "none.json"], "there is no such file"),
        (["fit", "mouse", "--case", "x", "--root", "y"], "not allowed with argument"),
    ],
)
def test_a_wrong_call_is_one_line_and_2(
    call: Any, argv: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, screen = call(*argv)
    assert (code, said in screen.notes, screen.text) == (2, True, "")
