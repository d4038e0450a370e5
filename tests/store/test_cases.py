"""Cases survive the way to a file and back; whatever else lies in a file is one clear sentence."""

import json
import os
import re
import stat
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wizard.bus.errors import BadInputError, NewerDocumentError, PortmendError
from wizard.bus.model import Controller, Device, Snapshot
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.store import cases
from wizard.store.reading import MAX_BYTES, MAX_DEPTH


def put(folder: Path, content: Any, name: str = "case.json") -> Path:
    path = folder / name
    if isinstance(content, bytes):
        path.write_bytes(content)
    elif isinstance(content, str):
        path.write_text(content, encoding="utf-8")
    else:
        path.write_text(json.dumps(content), encoding="utf-8")
    return path


def case_document(**more: Any) -> dict[str, Any]:
    return {"schema": "portmend/case/1", "symptom": "lag", **more}


FULL = Case(
    symptom="dropout",
    also=("lag",),
    subject=("1-4",),
    platform="linux",
    observations={"when": ("idle_or_resume",), "cable_m": 1.5, "something_newer": {"a": [1, None]}},
    snapshot=Snapshot(
        controllers=(Controller(id="0000:00:14.0", kind="xhci"),),
        devices=(Device(id="usb1", parent="0000:00:14.0", root=True, hub={"ports": 4}, class_code=9),),  # type: ignore[arg-type]  # the validator takes the plain table
    ),
    log="[ 1.0] usb 1-4: reset\n",
)


def test_a_case_comes_back_as_it_was_saved(tmp_path: Path) -> None:
    path = tmp_path / "new" / "folder" / "case.json"
    cases.save_case(FULL, path)
    assert cases.open_case(path).model_dump_json() == FULL.model_dump_json()


def test_a_saved_case_uses_the_published_names(tmp_path: Path) -> None:
    cases.save_case(FULL, tmp_path / "c.json")
    saved = json.loads((tmp_path / "c.json").read_text())
    assert saved["schema"] == "portmend/case/1"
    assert saved["snapshot"]["devices"][0]["class"] == 9


def test_unknown_fields_and_observations_are_kept(tmp_path: Path) -> None:
    path = put(tmp_path, case_document(observations={"moon_phase": "full"}, from_the_future=[1]))
    copy = tmp_path / "copy.json"
    cases.save_case(cases.open_case(path), copy)
    saved = json.loads(copy.read_text())
    assert saved["from_the_future"] == [1]
    assert saved["observations"] == {"moon_phase": "full"}


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "it is empty"),
        (" \n\t", "it is empty"),
        ("not JSON at all", "it is not JSON"),
        ('{"schema": "portmend/case/1",\n "symptom"', "it is not JSON: expecting ':' delimiter in line 2"),
        (b"\x00\x9f\xff\x80PNG", "it is not a text file"),
        (b"\xff\xfe\x00", "it is not a text file"),
        ("[1, 2]", "not a document"),
        ("3", "not a document"),
        ("{}", "no 'schema'"),
        ({"schema": None}, "its schema null is none of Portmend's"),
        ({"schema": "somebody/else/9"}, 'its schema "somebody/else/9" is none'),
        ({"schema": "portmend/case/0"}, "none of Portmend's"),
        ({"schema": "portmend/case/1\n"}, "none of Portmend's"),
        ({"schema": ["portmend/case/1"]}, "none of Portmend's"),
        ({"schema": "portmend/look/1"}, "it is a Portmend look document, not a case"),
        ({"schema": "portmend/advice/1", "causes": []}, "it is a Portmend advice document, not a case"),
        ({"schema": "portmend/case/1"}, "'symptom' is missing"),
        (case_document(symptom=7), "'symptom' can't be used (it should be text)"),
        (case_document(snapshot=[]), "'snapshot' can't be used"),
        (case_document(subject=[1, 2, 3]), "'subject.0' can't be used (it should be text), and 2 more"),
        (
            case_document(snapshot={"devices": [{"id": "1-1"}, {"id": "1-1"}]}),
            "'snapshot' can't be used (two devices have the id '1-1')",
        ),
        ('{"schema": "portmend/case/1", "symptom": "lag", "x": NaN}', "it holds NaN"),
        ('{"schema": "portmend/case/1", "symptom": "lag", "x": -Infinity}', "it holds -Infinity"),
        ('{"schema": "portmend/case/1", "symptom": "lag", "x": 1e999}', "a number too large to be true (1e999)"),
        ('{"schema": "portmend/case/1", "symptom": "lag", "x": 1' + "0" * 9000 + "}", "too large to be true"),
        ("[" * 200_000, "nested far deeper"),
        ('{"a":' * 200_000, "nested far deeper"),
        (
            '{"schema": "portmend/case/1", "symptom": "lag", "x": ' + "[" * 70 + "]" * 70 + "}",
            f"nested deeper than {MAX_DEPTH} levels",
        ),
    ],
)
def test_what_is_no_case_is_one_clear_sentence(tmp_path: Path, content: Any, said: str) -> None:
    path = put(tmp_path, content)
    before = path.read_bytes()
    with pytest.raises(BadInputError) as caught:
        cases.open_case(path)
    sentence = str(caught.value)
    assert said in sentence
    assert sentence.startswith(str(path))
    assert "\n" not in sentence
    assert len(sentence) < 400
    assert path.read_bytes() == before


def test_a_newer_case_says_so_and_stays(tmp_path: Path) -> None:
    path = put(tmp_path, {"schema": "portmend/case/2", "whatever": 1})
    with pytest.raises(NewerDocumentError, match="newer version of Portmend"):
        cases.open_case(path)
    assert json.loads(path.read_text()) == {"schema": "portmend/case/2", "whatever": 1}


def test_a_huge_file_is_refused_without_reading_it(tmp_path: Path) -> None:
    path = tmp_path / "huge.json"
    with path.open("wb") as file:
        file.truncate(50_000_000_000)  # sparse: reading it would take minutes and all memory
    start = time.monotonic()
    with pytest.raises(BadInputError, match="larger than 20 MB"):
        cases.open_case(path)
    assert time.monotonic() - start < 1


def test_a_file_just_over_the_limit_is_refused(tmp_path: Path) -> None:
    path = put(tmp_path, b" " * (MAX_BYTES + 1))
    with pytest.raises(BadInputError, match="larger than 20 MB"):
        cases.open_case(path)


def test_a_folder_and_a_missing_file_are_said(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="it is a folder"):
        cases.open_case(tmp_path)
    with pytest.raises(BadInputError, match="there is no such file"):
        cases.open_case(tmp_path / "none.json")
    with pytest.raises(BadInputError, match="there is no such file"):
        cases.open_case(put(tmp_path, case_document()) / "below.json")


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_an_impossible_name_is_said(name: str) -> None:
    with pytest.raises(BadInputError, match="it can't be read"):
        cases.open_case(Path(name))


def test_a_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(BadInputError, match="not an ordinary file"):
        cases.open_case(tmp_path / "pipe")


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, case_document())

    def refuse(*_args: object, **_more: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # root may read everything, so the refusal is played
    with pytest.raises(BadInputError, match="you may not read it"):
        cases.open_case(path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_as_windows_editors_save_it_opens(tmp_path: Path, encoding: str) -> None:
    path = put(tmp_path, json.dumps(case_document(log="Grüße"), ensure_ascii=False).encode(encoding))
    assert cases.open_case(path).log == "Grüße"


def test_half_characters_do_not_stop_a_case_from_being_saved(tmp_path: Path) -> None:
    path = put(tmp_path, '{"schema": "portmend/case/1", "symptom": "lag", "log": "a\\ud800b", "\\udc00": ["\\udfff"]}')
    case = cases.open_case(path)
    assert case.log == "a\ufffdb"
    cases.save_case(case, tmp_path / "copy.json")


def test_whole_pairs_stay_whole(tmp_path: Path) -> None:
    path = put(tmp_path, '{"schema": "portmend/case/1", "symptom": "lag", "log": "\\ud83d\\ude00"}')
    assert cases.open_case(path).log == "\U0001f600"


def test_a_look_opens_for_comparing(tmp_path: Path) -> None:
    look = Look(snapshot=FULL.snapshot or Snapshot(), notes=("a note",))
    path = put(tmp_path, look.model_dump_json(by_alias=True))
    assert cases.open_case_or_look(path) == look
    path = put(tmp_path, case_document())
    assert cases.open_case_or_look(path) == Case(symptom="lag")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ({"schema": "portmend/watch/1"}, "it is a Portmend watch document, neither a case nor a look"),
        ({"schema": "portmend/look/9"}, "newer version"),
        ({"schema": "portmend/look/1", "ledger": 3}, "'ledger' can't be used"),
    ],
)
def test_what_can_not_be_compared_is_said(tmp_path: Path, content: Any, said: str) -> None:
    with pytest.raises(BadInputError, match=said):
        cases.open_case_or_look(put(tmp_path, content))


def test_saving_replaces_in_one_move_and_leaves_nothing_behind(tmp_path: Path) -> None:
    path = tmp_path / "c.json"
    cases.save_case(FULL, path)
    cases.save_case(FULL.answered("light", "on"), path)
    assert cases.open_case(path).observations["light"] == "on"
    assert [p.name for p in tmp_path.iterdir()] == ["c.json"]


def test_a_failed_save_keeps_the_old_case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "c.json"
    cases.save_case(FULL, path)
    old = path.read_bytes()

    def disk_is_full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", disk_is_full)
    with pytest.raises(BadInputError, match=r"it can't be saved \(No space left on device\)"):
        cases.save_case(FULL.answered("light", "on"), path)
    assert path.read_bytes() == old
    assert [p.name for p in tmp_path.iterdir()] == ["c.json"]


def test_a_new_case_is_for_its_owner_only_and_an_old_one_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "c.json"
    cases.save_case(FULL, path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    path.chmod(0o644)
    cases.save_case(FULL, path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o644


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    cases.save_case(FULL, tmp_path / "real.json")
    (tmp_path / "link.json").symlink_to("real.json")
    cases.save_case(FULL.answered("light", "on"), tmp_path / "link.json")
    assert (tmp_path / "link.json").is_symlink()
    assert cases.open_case(tmp_path / "real.json").observations["light"] == "on"


@pytest.mark.parametrize("name", ["", "a\0b", "x" * 5000])
def test_where_nothing_can_be_saved_is_said(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInputError):
        cases.save_case(FULL, tmp_path / name)


def test_below_a_file_nothing_can_be_saved(tmp_path: Path) -> None:
    path = put(tmp_path, "x")
    with pytest.raises(BadInputError, match="it can't be saved"):
        cases.save_case(FULL, path / "c.json")


@pytest.mark.parametrize("line", ["a line of a log\n", "\x01\x02\x03\n", "é\ufffd\n"])
def test_a_case_with_an_enormous_log_still_opens_again(tmp_path: Path, line: str) -> None:
    log = line * (24_000_000 // len(line.encode())) + "the last line\n"
    cases.save_case(Case(symptom="lag", log=log), tmp_path / "c.json")
    kept = cases.open_case(tmp_path / "c.json").log or ""
    assert kept.startswith(cases.LOG_CUT + line)
    assert kept.endswith("the last line\n")


def test_saved_cases_come_latest_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cases, "cases_dir", lambda: tmp_path / "cases")
    assert cases.saved_cases() == ()
    for stamp, age in (("1", 50), ("2", 10), ("3", 90)):
        path = cases.new_case_path("lag", stamp)
        cases.save_case(FULL, path)
        os.utime(path, (1_000_000 - age, 1_000_000 - age))
    assert [p.name for p in cases.saved_cases()] == ["2-lag.json", "1-lag.json", "3-lag.json"]


def test_two_cases_begun_at_the_same_moment_keep_apart() -> None:
    first = cases.new_case_path("lag", "2024")
    cases.save_case(FULL, first)
    second = cases.new_case_path("lag", "2024")
    cases.save_case(FULL, second)
    assert [p.name for p in (first, second, cases.new_case_path("lag", "2024"))] == [
        "2024-lag.json",
        "2024-lag-2.json",
        "2024-lag-3.json",
    ]


@pytest.mark.parametrize("symptom", ["../../etc/passwd", "a/b", "\0", "x" * 999, "CON:", "…"])
def test_a_foreign_symptom_never_leads_out_of_the_folder(symptom: str) -> None:
    path = cases.new_case_path(symptom, "2024-01-01-120000")
    assert path.parent == cases.cases_dir()
    assert re.fullmatch(r"2024-01-01-120000-[a-z0-9_-]{1,40}\.json", path.name)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
fields = st.sampled_from([*Case.model_fields, "schema"])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.dictionaries(fields, json_values, max_size=6))
def test_any_json_opens_and_can_be_saved_again_or_is_refused(tmp_path: Path, content: dict[str, Any]) -> None:
    path = put(tmp_path, {"schema": "portmend/case/1", "symptom": "lag", **content})
    try:
        case = cases.open_case(path)
    except PortmendError:
        return
    cases.save_case(case, tmp_path / "again.json")
    assert cases.open_case(tmp_path / "again.json").model_dump_json() == case.model_dump_json()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_open_or_are_one_sentence(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(PortmendError):
        cases.open_case(put(tmp_path, content))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"also": 5}, "'also' can't be used (it should be a list)"),
        ({"symptom": 5}, "'symptom' can't be used (it should be text)"),
        ({"observations": []}, "'observations' can't be used (it should be a group of fields in braces)"),
        ({"snapshot": "x"}, "'snapshot' can't be used (it should be a group of fields in braces)"),
        ({"source": "dream"}, "'source' can't be used (it should be one of 'live', 'captured', 'described', 'demo')"),
        ({"setup": {"supplies_ma": {"1-1": -1}}}, "'setup.supplies_ma.1-1' can't be used (it should be at least 0"),
        ({"setup": {"supplies_ma": {"1-1": "x"}}}, "'setup.supplies_ma.1-1' can't be used (it should be a number)"),
        ({"setup": {"apart": [["1-1"]]}}, "'setup.apart.0.1' is missing"),
    ],
)
def test_a_wrong_field_is_told_in_plain_words(tmp_path: Path, fields: dict[str, object], said: str) -> None:
    path = tmp_path / "case.json"
    path.write_text(json.dumps({"schema": "portmend/case/1", "symptom": "lag", **fields}), encoding="utf-8")
    with pytest.raises(BadInputError) as refused:
        cases.open_case(path)
    assert said in str(refused.value)
    for library_word in ("Input", "valid", "tuple", "dictionary", "instance"):
        assert library_word not in str(refused.value)
