"""Kernel events are read for what they say of USB, and only if they are the kernel's."""

import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.observe.watch_uevents import BusNews, KernelEvents, read_news

# As Linux sends them (lib/kobject_uevent.c): `action@path`, then KEY=value, each ended by a zero byte.
PATH = "/devices/pci0000:00/0000:00:14.0/usb1/1-4/1-4.2"


def message(action: str, path: str, **told: str) -> bytes:
    told = {"ACTION": action, "DEVPATH": path, "SUBSYSTEM": "usb", "SEQNUM": "4711", **told}
    return b"\0".join([f"{action}@{path}".encode(), *(f"{k}={v}".encode() for k, v in told.items()), b""])


@pytest.mark.parametrize(("action", "kind"), [("add", "connect"), ("remove", "disconnect")])
def test_coming_and_going_is_told_with_place_and_address(action: str, kind: str) -> None:
    news = read_news(message(action, PATH, DEVTYPE="usb_device", BUSNUM="001", DEVNUM="007"))
    assert news == BusNews(kind, "1-4.2", 7)


def test_too_much_current_is_told_with_the_socket_and_its_count() -> None:
    """drivers/usb/core/port.c: a change of the hub's interface that names the port."""
    hub = f"{PATH}/1-4.2:1.0"
    news = read_news(message("change", hub, OVER_CURRENT_PORT=f"{hub}/1-4.2-port3", OVER_CURRENT_COUNT="2"))
    assert news == BusNews("over_current", "1-4.2.3", count=2)
    root = read_news(message("change", "/x", OVER_CURRENT_PORT="/devices/usb1/1-0:1.0/usb1-port4"))
    assert root == BusNews("over_current", "1-4")


@pytest.mark.parametrize(
    "other",
    [
        message("add", f"{PATH}/1-4.2:1.0", DEVTYPE="usb_interface"),
        message("bind", PATH, DEVTYPE="usb_device"),
        message("add", PATH, DEVTYPE="usb_device", SUBSYSTEM="block"),
        message("add", "/devices/../1-4; rm", DEVTYPE="usb_device"),
        message("change", "/x", OVER_CURRENT_PORT="/devices/evil-port3"),
        b"libudev\0\xfe\xed\xca\xfe",
        b"",
        b"add@",
    ],
)
def test_everything_else_is_passed_over(other: bytes) -> None:
    assert read_news(other) is None


@given(st.binary(max_size=400))
def test_any_bytes_are_taken(junk: bytes) -> None:
    read_news(junk)
    read_news(b"add@/x\0SUBSYSTEM=usb\0" + junk)


@pytest.mark.skipif(not hasattr(socket, "AF_NETLINK"), reason="netlink is Linux's")
def test_the_ear_hears_nothing_where_nothing_happens_and_needs_no_rights() -> None:
    events = KernelEvents()
    try:
        assert events.fileno() >= 0
        assert all(news.kind for news in events.waiting())
    finally:
        events.close()
