"""Events as people paste them: XML, not well formed or cut, and the texts of the event viewer."""

from pathlib import Path

import pytest
from exported import export_of, kinds

PUBLISHED = Path(__file__).parents[2] / "reference" / "exports"
STICK = "USBSTOR\\Disk&Ven_Invented&Prod_Stick\\SER1&0"
XML = f"""<Event xmlns="http://schemas.microsoft.com/win/2004/08/events/event"><System>
<Provider Name="Microsoft-Windows-Kernel-PnP" Guid="{{9c20}}" /><EventID>411</EventID>
<TimeCreated SystemTime="2022-04-01T20:34:03.9208426Z" /></System>
<EventData><Data Name="DeviceInstanceId">{STICK}</Data><Data Name="LowerFilters" />
<Data Name="Problem">0x27</Data><Data Name="Status">0xc0000034</Data></EventData>"""
COPY = """Log Name:      Microsoft-Windows-Kernel-PnP/Configuration
Source:        Microsoft-Windows-Kernel-PnP
Date:          13/04/2020 02.46.10
Event ID:      411
Level:         Error
Description:
Device USB\\VID_1234&PID_5678\\6&1&0&2 had a problem starting.

Driver Name: invented.inf
Problem: 0xA
Problem Status: 0x0
"""


@pytest.mark.parametrize("text", [XML, XML.replace("&", "&amp;"), XML[: XML.index("</EventData>")]])
def test_xml_is_read_with_bare_ampersands_and_without_its_end(text):
    assert {("windows_problem_39", STICK), ("driver_failed", STICK)} <= set(kinds(text.encode()))


def test_an_xml_entity_is_never_expanded():
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaa">]>' + XML.replace("0x27", "&a;")
    assert "aaaa" not in str(export_of(bomb.encode()).signs)


def test_text_copies_are_split_where_each_begins():
    found = kinds((COPY + "\n" + COPY.replace("0xA", "0x1C")).encode())
    where = "USB\\VID_1234&PID_5678\\6&1&0&2"
    assert found["windows_event_411", where] == 2
    assert found["windows_problem_10", where] == found["windows_problem_28", where] == 1


def test_a_copy_in_german_is_read_by_its_numbers():
    german = (
        COPY.replace("Log Name:", "Protokollname:").replace("Event ID:", "Ereignis-ID:").replace("Source:", "Quelle:")
    )
    german = german.replace("had a problem starting", "konnte nicht gestartet werden")
    assert ("windows_problem_10", "USB\\VID_1234&PID_5678\\6&1&0&2") in kinds(german.encode())


def test_the_details_view_is_read():
    text = "- - System\n- [ Name] Microsoft-Windows-Kernel-PnP\n- EventID 219\n- [ SystemTime] 2013-01-06T00:43:49Z\n"
    text += "- - EventData\n- DriverName WpdBusEnumRoot\\UMB\\2&1&0&STORAGE#VOLUME#_??_USBSTOR#DISK&VEN_X#S&0#\n"
    assert {k for k, _ in kinds(text.encode())} == {"windows_event_219", "driver_failed"}


GOLDEN = {
    # Read by hand: 400 and 410 are of a print queue and a card reader service, 20001 of a sound card, none on USB
    "event-xml-kernelpnp-400.xml": set(),
    "event-xml-kernelpnp-410.xml": set(),
    "event-xml-userpnp-20001.xml": set(),
    "event-xml-kernelpnp-430.xml": {"windows_event_430"},
    "event-xml-umdf-2100-fragment.txt": {"windows_event_2100"},
}


@pytest.mark.parametrize("name", GOLDEN)
def test_published_examples_say_what_a_person_reads_in_them(name):
    signs = export_of((PUBLISHED / name).read_bytes()).signs
    assert {s.kind for s in signs} == GOLDEN[name]
    assert all("USBSTOR#" in s.where.upper() for s in signs)
