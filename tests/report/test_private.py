"""Secrets are found by their form and, once known, everywhere; evidence is left alone.

All names, numbers and addresses here are invented. The forms of the lines are those of the Linux kernel,
syslog, Windows and macOS (from memory).
"""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.report.private import Secrets

NOTHING_KEPT: frozenset[str] = frozenset()


def without(text: str, keep: frozenset[str] = NOTHING_KEPT) -> str:
    return Secrets(keep).out_of(text)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("usb 1-4: SerialNumber: AB12 34XY", "usb 1-4: SerialNumber: serial-1"),
        ("[ 1.2] usb 3-1.4: SerialNumber: 7", "[ 1.2] usb 3-1.4: SerialNumber: serial-1"),
        ('  "serial_num" : "SN-000123",', '  "serial_num" : "serial-1",'),
        ("  Serial Number: Q8812", "  Serial Number: serial-1"),
        ("<key>serial_num</key>\n  <string>Q8812</string>", "<key>serial_num</key>\n  <string>serial-1</string>"),
        ("SerialNumber=Q8812", "SerialNumber=serial-1"),
        (r"Device USB\VID_0001&PID_0002\Q88123 had a problem", r"Device USB\VID_0001&PID_0002\serial-1 had a problem"),
        (r'"USB\\VID_0001&PID_0002\\Q88123"', r'"USB\\VID_0001&PID_0002\\serial-1"'),
        (r"USBSTOR\DISK&VEN_X&PROD_Y\Q88123&0", r"USBSTOR\DISK&VEN_X&PROD_Y\serial-1&0"),
        ("/dev/disk/by-id/usb-Maker_Disk_Two_Q88123-0:0", "/dev/disk/by-id/usb-Maker_Disk_Two_serial-1-0:0"),
        ("eth0: register, 02:00:5e:10:00:ff", "eth0: register, address-1"),
        ("enx02005e1000ff: link up", "enxaddress-1: link up"),
        ("wwn-0x5000c500deadbeef", "wwn-0xnumber-1"),
        ("volume 01234567-89ab-cdef-0123-456789abcdef", "volume number-1"),
        ("Jan  1 12:00:00 tombola kernel: usb 1-4: reset", "Jan  1 12:00:00 host-1 kernel: usb 1-4: reset"),
        ("2024-01-02T03:04:05+0100 tombola kernel: usb 1-4: x", "2024-01-02T03:04:05+0100 host-1 kernel: usb 1-4: x"),
        (
            "Nov  2 22:47:25 tombola last message repeated 3 times",
            "Nov  2 22:47:25 host-1 last message repeated 3 times",
        ),
        ("Feb 6 15:43:23 tombola usb 4-1: new device", "Feb 6 15:43:23 host-1 usb 4-1: new device"),
        ("Feb 6 15:43:23 tombola.example.org app[12]: hi", "Feb 6 15:43:23 host-1 app[12]: hi"),
        ("systemd[1]: Hostname set to <tombola>.", "systemd[1]: Hostname set to <host-1>."),
        ('"MachineName": "TOMBOLA-7"', '"MachineName": "host-1"'),
        ("<Computer>TOMBOLA-7</Computer>", "<Computer>host-1</Computer>"),
        ("open /home/pat/x.log", "open /home/user-1/x.log"),
        ("/media/pat/STICK", "/media/user-1/STICK"),
        ("on /run/media/pat/STICK", "on /run/media/user-1/STICK"),
        (r"C:\Users\Pat Example\x.log", r"C:\Users\user-1\x.log"),
        (r"in C:\\Users\\pat and then", r"in C:\\Users\\user-1 and then"),
        ("session opened for user pat(uid=1000)", "session opened for user user-1(uid=1000)"),
        ("New session 12 of user pat.", "New session 12 of user user-1."),
        ("sudo: pat : TTY=pts/0 ; USER=root", "sudo: user-1 : TTY=pts/0 ; USER=root"),
        ("S-1-5-21-1-2-3-1001", "user-1"),
        ("mail to pat@example.org now", "mail to mail-1 now"),
    ],
)
def test_a_telling_form_is_replaced(line: str, expected: str) -> None:
    assert without(line) == expected


@pytest.mark.parametrize(
    "line",
    [
        "usb 1-4: New USB device strings: Mfr=1, Product=2, SerialNumber=3",
        "usb usb1: SerialNumber: 0000:00:14.0",
        "usb usb3: SerialNumber: xhci-hcd.5.auto",
        "usb usb3: SerialNumber: dummy_hcd.0",
        r"USB\VID_0001&PID_0002\7&9a60daa&0&3",
        r"USB\ROOT_HUB30\4&2f849cbc&0&0",
        "{36fc9e60-c465-11cf-8056-444553540000}",
        "Nov  2 22:47:23 kernel: hub.c: port 3 over-current change",
        "Feb 6 15:43:23 usb 4-1: new full speed USB device",
        "Feb 6 15:43:23 cdc_acm 1-6.3:1.0: failed to set dtr/rts",
        "Feb 6 15:43:23 scsi host4: uas",
        "xhci_hcd 0000:8a:00.7: Command timeout, USBSTS: 0x00000018 EINT PCD",
        "[   56.3] sd 4:0:0:0: [sdb] No space left on device",
        "usb 1-4: device descriptor read/64, error -71",
        "session opened for user root(uid=0)",
        "WARNING: CPU: 3 PID: 20594 at drivers/media/v4l2-core/videobuf2-core.c:2011",
    ],
)
def test_evidence_is_left_alone(line: str) -> None:
    assert without(line) == line


def test_the_same_secret_gets_the_same_word_everywhere() -> None:
    text = "usb 1-4: SerialNumber: Q88123\nusb 1-5: SerialNumber: R99\nscsi: Disk Q88123 attached, xQ88123 not"
    assert without(text) == (
        "usb 1-4: SerialNumber: serial-1\nusb 1-5: SerialNumber: serial-2\nscsi: Disk serial-1 attached, xQ88123 not"
    )


def test_a_short_serial_goes_only_where_it_stands() -> None:
    assert without("usb 1-4: SerialNumber: 1\nport 1") == "usb 1-4: SerialNumber: serial-1\nport 1"


def test_each_kind_can_be_kept() -> None:
    text = "Jan  1 12:00:00 tombola kernel: usb 1-4: SerialNumber: Q88123"
    assert without(text, frozenset({"serials"})) == "Jan  1 12:00:00 host-1 kernel: usb 1-4: SerialNumber: Q88123"
    assert without(text, frozenset({"names"})) == "Jan  1 12:00:00 tombola kernel: usb 1-4: SerialNumber: serial-1"
    assert without(text, frozenset({"names", "serials"})) == text


def test_protected_words_stay() -> None:
    assert Secrets(NOTHING_KEPT, ["Q88123"]).out_of("SerialNumber: Q88123") == "SerialNumber: Q88123"


def test_cleaning_twice_changes_nothing_more() -> None:
    secrets = Secrets(NOTHING_KEPT)
    once = secrets.out_of("Jan  1 12:00:00 tombola kernel: usb 1-4: SerialNumber: Q88123 /home/pat/x")
    assert secrets.out_of(once) == once
    assert without(once) == once


@pytest.mark.parametrize(
    "piece",
    [
        "a",
        "usb-",
        "usb-a_",
        "@",
        "a@",
        "USB\\",
        "serial num:",
        "/home/",
        "Jan  1 12:00:00 a",
        "C:\\Users\\a ",
        "-",
        ":",
    ],
)
def test_a_hostile_log_takes_no_longer_than_an_honest_one(piece: str) -> None:
    text = piece * (400_000 // len(piece))
    start = time.process_time()
    without(text)
    assert time.process_time() - start < 5


def test_a_log_full_of_serial_numbers_takes_seconds_at_most() -> None:
    text = "".join(f"usb 1-4: SerialNumber: {n:08x}QZ\n" for n in range(20_000))
    start = time.process_time()
    shown = without(text)
    assert time.process_time() - start < 10
    assert "QZ" not in shown


@given(st.text(max_size=300))
def test_any_text_can_be_cleaned(text: str) -> None:
    without(text)
