"""Places as the contract of signs writes them, from the heads the kernel prints."""

import pytest

from wizard.observe.kernel_log_place import find_place, refined


@pytest.mark.parametrize(
    ("head", "where"),
    [
        ("usb 1-4.2", "1-4.2"),
        ("usb usb1-port4", "1-4"),
        ("usb 2-1-port3", "2-1.3"),
        ("usb 1-1.1-port12", "1-1.1.12"),
        ("usb usb12", "usb12"),
        ("hub 3-0:1.0", "usb3"),
        ("hub 1-4.2:1.0", "1-4.2"),
        ("cdc_acm 1-6.3:1.0", "1-6.3"),
        ("r8152 6-1.4.4:1.0 (unnamed net_device) (uninitialized)", "6-1.4.4"),
        ("cdc_ether 1-6.2:1.0 usb0", "1-6.2"),
        ("r8152-cfgselector 4-1.2", "4-1.2"),
        ("usbcore: usb 3-1.8-port2", "3-1.8.2"),
        ("bcm5974: bcm5974 3-1.8.2:1.2", "3-1.8.2"),
        ("usb 5-4.4.4: 12:3", "5-4.4.4"),
        ("usb 1-1: PM", "1-1"),
        ("xhci_hcd 0000:00:14.0", "0000:00:14.0"),
        ("xhci-hcd xhci-hcd.2.auto", "xhci-hcd.2.auto"),
        ("dwc2 ffb40000.usb", "ffb40000.usb"),
        ("musb-hdrc musb-hdrc.1.auto", "musb-hdrc.1.auto"),
        ("ehci_hcd 00:1d.7", "00:1d.7"),
        ("sd 6:0:0:0", "6:0:0:0"),
        ("scsi host6", "host6"),
        ("uvcvideo", "-"),
        ("ftdi_sio ttyUSB0", "-"),
        ("Dec 16 12:54:10 1-3 kernel: usb 2-1", "2-1"),
        ("2024-01-02 host kernel: usb 2-1", "2-1"),
        ("<6>[309412.1][T16132] usb 1-1", "1-1"),
    ],
)
def test_the_place_of_a_head(head: str, where: str) -> None:
    place = find_place(head.encode())
    assert place is not None
    assert place.where == where


@pytest.mark.parametrize(
    "head",
    [
        "",
        "systemd[1]",
        "i2c i2c-1",
        "lm75 1-0048",
        "thunderbolt 0-1",
        "w1_slave_driver 28-000005e2fdc3",
        "ata1.00",
        "Bluetooth: hci0",
        "nvme nvme0",
        "usb 1-2: Product: usb 1-1",
        "input: usb 1-1",
        "scsi 4:0:0:0: Direct-Access     usb 1-1",
    ],
)
def test_no_place_is_read_into_other_buses_or_into_what_a_device_calls_itself(head: str) -> None:
    assert find_place(head.encode()) is None


@pytest.mark.parametrize(
    ("head", "message", "where"),
    [
        ("hub 1-0:1.0", "unable to enumerate USB device on port 4", "1-4"),
        ("hub 1-4.2:1.0", "port 7 disabled by hub (EMI?), re-enabling...", "1-4.2.7"),
        ("hub 4-0:1.0", "hub_ext_port_status failed (err = -71)", "usb4"),
        ("hub.c", "port 3 over-current change", "?-3"),
        ("hub.c", "new USB device 00:1d.0-1.2, assigned address 2", "?-1.2"),
        ("hub.c", "USB new device connect on bus1/2/4, assigned device number 3", "1-2.4"),
        ("usb 1-1", "port 3 is mentioned", "1-1"),
    ],
)
def test_a_message_may_name_the_port_or_an_old_path(head: str, message: str, where: str) -> None:
    place = find_place(head.encode())
    assert place is not None
    assert refined(place, message.encode()) == where
