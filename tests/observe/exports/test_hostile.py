"""Any bytes: an exported file gives an export or one clear sentence, never a traceback, and never takes long."""

import json
import plistlib
import time
from contextlib import suppress

import pytest
from exported import export_of
from hypothesis import given, settings
from hypothesis import strategies as st

from wizard.bus.errors import BadInputError
from wizard.observe.exports import reading
from wizard.observe.exports.reading import peek, read_export
from wizard.observe.exports.records import Record
from wizard.observe.exports.sniffing import sort_of

SORTS = [*reading._READERS, "json", "plist", "mac_log"]
WORDS = [
    "InstanceId", "DeviceID", "Id", "EventID", "ProviderName", "Problem", "Status", "Message", "LocationPaths",
    "Parent", "Address", "ContainerId", "SPUSBDataType", "SPUSBHostDataType", "_items", "_name", "location_id",
    "device_speed",
    "Media", "volumes", "BusType", "PartitionStyle", "Number", "DriveLetter", "KeyName", "Data", "section", "items",
]  # fmt: skip
TEXTS = st.sampled_from(
    [
        "USB\\VID_1234&PID_5678\\1", "USB\\ROOT_HUB30\\4&1", "PCIROOT(0)#PCI(1400)#USBROOT(0)#USB(3)", "0x2b",
        "Microsoft-Windows-Kernel-PnP", "disk", "/Date(1)/", "/Date(99999999999999)/", "0x14100000 / 3",
        "high_speed",
        "Port_#9999.Hub_#1", "43", "-1", "\u202e\x1b[31m", "", "guid_partition_map_type", "10 Gb/s", "0xfffffff",
    ]
)  # fmt: skip
LEAVES = TEXTS | st.integers() | st.floats() | st.booleans() | st.none() | st.text(max_size=12)
TREES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(WORDS), inner, max_size=6),
    max_leaves=30,
)


@given(st.binary(max_size=2000), st.sampled_from(SORTS))
def test_any_bytes_in_any_reader_end_well(data, sort):
    with suppress(BadInputError):
        read_export([data], sort)


@settings(max_examples=40)
@given(st.lists(st.dictionaries(st.sampled_from(WORDS), TREES, min_size=1), min_size=1, max_size=6))
def test_any_records_with_the_right_names_end_well(records):
    read_export([json.dumps(records).encode()], "json")


@settings(max_examples=40)
@given(st.dictionaries(st.sampled_from(WORDS), TREES))
def test_a_record_never_raises_whatever_it_holds(value):
    record = Record(value)
    for name in ("instanceid", "problem", "items"):
        record.text(name), record.texts(name), record.number(name), record.flag(name), record.values(name)


LINES = st.sampled_from(
    [
        "Instance ID:   USB\\VID_1234&PID_5678\\1", "Problem Code: 43 (0x2B)", "+-o A@14100000  <class IOUSBDevice, id",
        '  "locationID" = 4', "    USB 3.1 Bus:", "", "        Hub:", "          Location ID: 0x02100000 / 1",
        "          Speed: Up to 5 Gb/s", "              Media:", "Volumes:", "+ USB Root Hub", "+-+ Hub",
        "| | Location: Port_#0001.Hub_#0001", "USB Devices", "-----------", "[HKEY_LOCAL_MACHINE\\SYSTEM\\X",
        '"ConfigFlags"=dword:zz', '"H"=hex(7):5', ">>>  [Device Install - USB\\VID_1&PID_2\\3]", "!    x(0xe0000228)",
        "Event ID: 411", "Log Name: x", "<System>", "<EventID>9", "<Data Name='x'>&amp;", "------ -----", "A      B",
    ]
)  # fmt: skip


@given(st.lists(LINES, max_size=40), st.sampled_from(SORTS))
def test_any_mixture_of_lines_ends_well(lines, sort):
    try:
        read_export(["\n".join(lines).encode()], sort)
    except BadInputError:
        assert sort in ("json", "plist")


@given(st.binary(max_size=4000))
def test_sniffing_any_bytes_ends_well(data):
    sort_of(data)


def test_a_broken_file_is_named_in_the_sentence():
    with pytest.raises(BadInputError, match=r"^events\.json: .*broken or cut off.*Export it again"):
        read_export([b'[{"Id": '], "json", "events.json")


def test_a_file_far_too_long_is_said_so_before_it_fills_the_memory():
    def endless():
        yield b'[{"a": 1},'
        while True:
            yield b" " * 1_000_000

    with pytest.raises(BadInputError, match="longer than 64 MB"):
        read_export(endless(), "json", "events.json")


def test_ten_megabytes_of_events_take_seconds_not_minutes():
    event = {"Id": 411, "ProviderName": "Microsoft-Windows-Kernel-PnP", "InstanceId": "USB\\VID_1&PID_2\\3",
             "Problem": 10,
             "Message": "x" * 300, "Properties": [{"Value": n} for n in range(8)]}  # fmt: skip
    data = json.dumps([event] * 18_000).encode()
    assert len(data) > 9_000_000
    before = time.process_time()
    assert export_of(data).signs[0].count == 18_000
    assert time.process_time() - before < 20.0


def test_a_property_list_with_entities_is_refused():
    data = b'<?xml version="1.0"?><!DOCTYPE plist [<!ENTITY a "b">]><plist version="1.0"><string>&a;</string></plist>'
    with pytest.raises(BadInputError, match="property list"):
        export_of(data)


def test_the_event_viewers_own_format_says_what_to_save_instead():
    with pytest.raises(BadInputError, match="Save it as XML or text"):
        export_of(b"ElfFile\x00" + bytes(100))


@pytest.mark.parametrize("spoilt", [b"UTF-8", b"<integer>", b"</plist>", b"<dict>"])
def test_a_spoilt_property_list_is_refused(spoilt):
    data = plistlib.dumps({"AllDisksAndPartitions": [{"DeviceIdentifier": "disk4", "Size": 1}]})
    with pytest.raises(BadInputError, match="property list"):
        export_of(data.replace(spoilt, b"UTF08" if spoilt == b"UTF-8" else b"<x>"))


def test_peeking_loses_nothing():
    sort, chunks = peek([b'[{"a"', b": 1}]"])
    assert (sort, b"".join(chunks)) == ("json", b'[{"a": 1}]')


@pytest.mark.parametrize(
    "text", [b"[   12.3] usb 1-1: reset\n", b"", b"Nov 25 host kernel: usb 1-1: x\n", b"\x00\xff" * 9]
)
def test_a_kernel_log_is_left_to_its_own_reader(text):
    assert sort_of(text) is None
