"""`pace`, `drive` and `capture` as called: exit codes, one document on standard output, notes beside it."""

import json
import os
import signal
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.pace import Beat, Gap, PaceDocument

CAPTURES = Path(__file__).parent.parent / "reference" / "captures"
STORAGE = CAPTURES / "storage.tar.gz"

PACE_FIELDS = {"schema", "device", "reports", "promised_ms", "median_ms", "p99_ms", "longest_ms", "gaps", "verdict"}
LINKS = {"enumerated", "driver", "block_device", "size", "partition_table", "file_system", "mounted", "read_only",
         "io_errors"}  # fmt: skip


@pytest.fixture
def measured(monkeypatch: pytest.MonkeyPatch) -> list[PaceDocument]:
    """What the next measurement finds; the last one stays."""
    found = [PaceDocument(device="1-1", reports=900, promised_ms=8.0, median_ms=8.0, p99_ms=8.4, longest_ms=9.0,
                          verdict="steady", words="Reports every 8 ms as promised.")]  # fmt: skip

    def pace(_device: str, _seconds: float, stop: Any, tell: Any) -> PaceDocument:
        tell(Beat(at_s=0.1, reports=1))
        return found[-1]

    monkeypatch.setattr(wiring, "pace", pace)
    return found


def test_a_steady_pace_is_done(call: Any, measured: list[PaceDocument]) -> None:
    code, screen = call("pace", "1-1")
    assert code == 0
    assert "Reports every 8 ms as promised." in screen.text
    assert "without lifting it" in screen.notes


@pytest.mark.parametrize("verdict", ["gaps", "slow", "irregular"])
def test_a_pace_that_stands_out_says_so_by_its_exit_code(call: Any, measured: list[PaceDocument], verdict: str) -> None:
    gap = Gap(at_s=2.5, ms=1900.0)
    measured.append(measured[0].model_copy(update={"verdict": verdict, "gaps": (gap,), "longest_ms": 1900.0}))
    code, screen = call("pace", "1-1")
    assert code == 1
    assert "Gap of 1900 ms after 2.5 s" in screen.text


def test_pace_prints_one_document_and_says_the_rest_beside_it(call: Any, measured: list[PaceDocument]) -> None:
    measured.append(measured[0].model_copy(update={"notes": ("It left after 3 s.",)}))
    code, screen = call("pace", "1-1", "--json")
    assert (code, screen.document["schema"]) == (0, "portmend/pace/1")
    assert screen.document.keys() >= PACE_FIELDS
    assert "It left after 3 s." in screen.notes


def test_a_device_that_is_not_there_still_gets_a_document(call: Any) -> None:
    code, screen = call("pace", "9-9.9", "--json", "--for", "1")
    assert code == 3
    assert (screen.document["reports"], screen.document["gaps"], screen.document["verdict"]) == (0, [], "no_reports")
    assert screen.document["notes"]


@pytest.mark.parametrize(
    "argv",
    [["pace"], ["pace", "mouse"], ["pace", "/dev/null"], ["pace", "1-1", "--for", "soon"],
     ["pace", "1-1", "--for", "0"], ["pace", "1-1", "--for", "nan"], ["drive", "letter"],
     ["drive"], ["capture"], ["capture", "--to", "bus.png"], ["drive", "1-1", "--root", "/nowhere/at/all"]],
)  # fmt: skip
def test_a_wrong_call_is_told_in_one_line(call: Any, argv: list[str]) -> None:
    code, screen = call(*argv)
    assert code == 2
    assert len(screen.notes.strip().splitlines()) == 1
    assert not screen.text


@pytest.mark.skipif(os.name == "nt", reason="signals are sent in another way there")
def test_ctrl_c_ends_a_measurement_and_its_result_still_comes(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def pace(_device: str, _seconds: float, stop: Any, _tell: Any) -> PaceDocument:
        assert not stop()
        os.kill(os.getpid(), signal.SIGINT)
        assert stop()
        return PaceDocument(device="1-1", reports=5, words="Only five reports came.")

    monkeypatch.setattr(wiring, "pace", pace)
    code, screen = call("pace", "1-1")
    assert (code, "Only five reports" in screen.text) == (0, True)


def test_a_drive_is_told_link_by_link(call: Any) -> None:
    code, screen = call("drive", "2-5", "--root", STORAGE)
    assert code == 1  # that one is write-protected
    assert "read only: FAILS. It is write-protected" in screen.text


def test_drive_prints_one_document_with_every_link(call: Any) -> None:
    code, screen = call("drive", "2-6", "--root", STORAGE, "--json")
    assert (code, screen.document["schema"]) == (0, "portmend/drive/1")
    assert {link["link"] for link in screen.document["links"]} == LINKS
    assert {link["state"] for link in screen.document["links"]} <= {"ok", "fails", "unknown"}
    assert all(link["found"] for link in screen.document["links"])
    assert screen.document["observations"]["storage_transport"] == "bulk_only"


def test_a_drive_that_is_not_there_still_gets_a_document(call: Any) -> None:
    code, screen = call("drive", "2-15", "--root", STORAGE, "--json")
    assert (code, screen.document["links"], screen.document["observations"]) == (3, [], {})
    assert "2-15" in screen.document["notes"][0]


def test_a_log_can_be_given_for_a_drive(call: Any, tmp_path: Path) -> None:
    log = tmp_path / "kernel.txt"
    log.write_text(
        "[ 9.1] usb 2-6: new high-speed USB device number 7 using xhci_hcd\n[ 9.9] I/O error, dev sdg, sector 8\n"
    )
    code, screen = call("drive", "2-6", "--root", STORAGE, "--log", log, "--json")
    assert (code, screen.document["links"][-1]["state"]) == (1, "fails")
    assert screen.document["links"][-1]["signs"] == ["storage_io_error"]


def test_a_capture_is_written_and_opens_with_look(call: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from wizard.observe.sysfs.archive import open_archive

    machine = wiring.CaptureMachine(
        tree=open_archive(STORAGE, lambda: None), log=lambda: (None, "No log."), names=lambda: ()
    )
    real = wiring.capture
    monkeypatch.setattr(wiring, "capture", lambda path, replace: real(path, replace, machine=machine))
    code, screen = call("capture", "--to", tmp_path / "bus.tar.gz")
    assert code == 0
    assert "serial numbers" in screen.text
    assert "No log." in screen.notes
    again, refused = call("capture", "--to", tmp_path / "bus.tar.gz")
    assert (again, "already" in refused.notes) == (2, True)
    code, screen = call("look", "--root", tmp_path / "bus.tar.gz", "--json")
    assert len(screen.document["snapshot"]["devices"]) == 10


@pytest.mark.parametrize("name", ["pace", "drive"])
def test_the_schemas_of_the_documents_can_be_had(call: Any, name: str) -> None:
    code, screen = call("schema", name)
    assert code == 0
    assert f"portmend/{name}/1" in json.dumps(screen.document)
