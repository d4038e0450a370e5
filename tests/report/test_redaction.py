"""Nothing private leaves in a report unless it is ticked, and what is left still says the same."""

import json
from typing import Any

import pytest
from builders import controller, device, hub, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.model import Device, Snapshot, System, Unreadable
from wizard.bus.sign import Sign
from wizard.case.model import Case, Recheck
from wizard.observe.labels import label
from wizard.report.redaction import redact
from wizard.wiring import read_signs

SECRETS = ("Q88123456", "tombola", "pat", "R7", "Pat's", "deadbeef-0000-4000-8000-00000000beef", "02:00:5e:10:00:ff")

LOG = """\
Jan  1 12:00:00 tombola kernel: usb 1-4: SerialNumber: Q88123456
Jan  1 12:00:01 tombola kernel: usb 1-4: reset high-speed USB device number 5 using xhci_hcd
Jan  1 12:00:02 tombola kernel: cdc_ether 1-4:1.0 eth1: register 'cdc_ether', 02:00:5e:10:00:ff
Jan  1 12:00:03 tombola app[3]: open /home/pat/cap.tar
"""


def private_case() -> Case:
    usb1 = root().model_copy(update={"serial": "0000:00:14.0"})
    seen = snapshot(
        controller(),
        usb1,
        hub("1-3", serial="R7"),
        device(
            "1-4",
            product="Pat's telephone",
            name="Pat's telephone",
            manufacturer="Q88123456 works",
            serial="Q88123456",
            unreadable=(Unreadable(where="1-4/serial", reason="permission", detail="/home/pat/cap/serial"),),
        ),
        system=System(os="linux", board_model="tombola board", hostname="tombola"),  # type: ignore[call-arg]  # unknown fields are kept
    )
    return Case.model_validate(
        {
            "symptom": "dropout",
            "subject": ["1-4"],
            "observations": {"host_kind": "desktop", "note": "on tombola", "when": ["long_run", "on tombola"]},
            "snapshot": seen.model_dump(by_alias=True),
            "log": LOG,
            "rechecks": [
                Recheck(
                    snapshot=seen,
                    signs=(Sign(kind="reset", where="1-4", text="tombola kernel: reset"),),
                    outcome="same",
                ).model_dump(by_alias=True)
            ],
            "owner": "pat",
            "volume_uuid": "x",
            "extra": [{"about": "deadbeef-0000-4000-8000-00000000beef", "tombola": 1, "id": "1-4"}],
        }
    )


def written(case: Case) -> str:
    return case.model_dump_json(by_alias=True)


@pytest.mark.parametrize("secret", SECRETS)
def test_nothing_private_is_left(secret: str) -> None:
    assert f'"{secret}"' not in written(redact(private_case()))
    if len(secret) > 3:
        assert secret not in written(redact(private_case()))


def test_names_go_from_folders_and_titles_too() -> None:
    assert "pat/" not in written(redact(private_case()))
    device_ = redact(private_case()).snapshot
    assert device_ is not None
    assert [d.product for d in device_.devices][-1] == "somebody's telephone"


@pytest.mark.parametrize(
    ("keep", "stays", "goes"),
    [
        ({"serials"}, ["Q88123456", "02:00:5e:10:00:ff", "volume_uuid"], ["tombola", "/home/pat/", "Pat's"]),
        ({"names"}, ["tombola", "/home/pat/", "Pat's", "owner"], ["Q88123456", "02:00:5e:10:00:ff", "volume_uuid"]),
    ],
)
def test_what_is_ticked_stays_and_the_rest_goes(keep: set[str], stays: list[str], goes: list[str]) -> None:
    text = written(redact(private_case(), frozenset(keep)))
    assert [s for s in stays if s not in text] == []
    assert [s for s in goes if s in text] == []


def test_with_all_ticked_nothing_changes() -> None:
    case = private_case()
    assert written(redact(case, frozenset({"serials", "names"}))) == written(case)


def test_ids_and_words_of_the_rulebook_stay() -> None:
    shown = redact(private_case())
    assert shown.subject == ("1-4",)
    assert shown.observations["host_kind"] == "desktop"
    assert shown.observations["when"] == ["long_run", "on host-1"]
    assert shown.snapshot is not None
    assert [d.id for d in shown.snapshot.devices] == ["usb1", "1-3", "1-4"]
    assert shown.snapshot.devices[0].serial == "0000:00:14.0"
    assert shown.rechecks[0].signs[0].kind == "reset"


def test_a_computer_called_like_one_of_our_words_tears_nothing_apart() -> None:
    case = Case(
        symptom="lag",
        observations={"host_kind": "desktop"},
        log="Jan  1 12:00:00 desktop kernel: usb 1-4: reset\nJan  1 12:00:00 lag kernel: x\n",
    )
    shown = redact(case)
    assert shown.symptom == "lag"
    assert shown.observations == {"host_kind": "desktop"}
    assert shown.log == "Jan  1 12:00:00 host-1 kernel: usb 1-4: reset\nJan  1 12:00:00 host-2 kernel: x\n"


def test_a_redacted_log_still_yields_the_same_signs() -> None:
    # Lines after the kernel's own templates, with an invented host and device.
    log = "".join(
        f"Jan  1 12:00:{second:02} tombola kernel: {line}\n"
        for second, line in enumerate(
            (
                "usb 1-4: SerialNumber: Q88123456",
                "usb 1-4: reset high-speed USB device number 5 using xhci_hcd",
                "usb 1-4: device descriptor read/64, error -71",
                "usb usb1-port3: over-current condition",
                "usb usb1: SerialNumber: 0000:00:14.0",
                "xhci_hcd 0000:00:14.0: HC died; cleaning up",
                "scsi host6: usb-storage 1-4:1.0",
                "sd 6:0:0:0: [sdb] Attached SCSI disk",
                "blk_update_request: I/O error, dev sdb, sector 2048 op 0x0:(READ)",
                "usb 1-4: USB disconnect, device number 5",
            )
        )
    )
    signs = read_signs(log)
    assert {"reset", "over_current", "controller_died"} <= {sign.kind for sign in signs}
    shown = redact(Case(symptom="dropout", log=log)).log or ""
    assert "tombola" not in shown
    assert [(s.kind, s.where, s.count, s.lines) for s in read_signs(shown)] == [
        (s.kind, s.where, s.count, s.lines) for s in signs
    ]


def test_two_mentions_of_one_device_stay_two_mentions_of_one_device() -> None:
    shown = redact(private_case())
    assert shown.snapshot is not None
    serial = shown.snapshot.devices[-1].serial
    assert serial is not None
    assert f"SerialNumber: {serial}\n" in (shown.log or "")
    assert shown.rechecks[0].snapshot.devices[-1].serial == serial


def test_what_the_end_betrays_is_gone_from_the_beginning() -> None:
    case = Case.model_validate({"symptom": "lag", "a_note": "tombola stalls", "log": LOG})
    assert "tombola" not in written(redact(case))


def test_a_redacted_case_redacts_to_itself() -> None:
    once = redact(private_case())
    assert written(redact(once)) == written(once)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.text(max_size=8).map(lambda k: f"x_{k}"), json_values, max_size=4), json_values)
def test_any_case_can_be_redacted(extra: dict[str, Any], answer: Any) -> None:
    case = Case.model_validate({"symptom": "lag", "observations": {"when": answer}, **extra})
    shown = json.loads(written(redact(case)))
    assert shown["symptom"] == "lag"


def test_labels_of_our_own_stay_as_they_are() -> None:
    labels = [label(None, code, (), None) for code in range(256)]
    assert any("\u2019" in text or "'" in text for text in labels)
    for text in labels:
        case = Case(symptom="lag", snapshot=Snapshot(devices=(Device(id="1-1", name=text),)))
        shown = redact(case).snapshot
        assert shown is not None
        assert shown.devices[0].name == text
