"""Messages of the kernel, one of each template, must be read as the trouble they stand for, and at the right place.

The lines are the kernel's own templates (Linux 6.1, drivers/usb, drivers/hid, sound/usb, drivers/media/usb,
drivers/net/usb; other versions' wording from memory) filled with invented values.
"""

import tomllib
from pathlib import Path

import pytest

from wizard.observe.kernel_log import read_signs
from wizard.observe.kernel_log_drive_patterns import COMPLAINTS
from wizard.observe.kernel_log_driver_patterns import BARE, DRIVERS, SETTLED
from wizard.observe.kernel_log_patterns import USB

TEMPLATES = """
usb 1-1: device descriptor read/8, error -110 | descriptor_read_failed@1-1
usb 1-1: device descriptor read/all, error -71 | descriptor_read_failed@1-1
usb 1-1: unable to read config index 0 descriptor/start: -71 | descriptor_read_failed@1-1
usb 1-1: can't read configurations, error -71 | descriptor_read_failed@1-1
usb 1-1: string descriptor 0 read error: -71 | descriptor_read_failed@1-1
usb 1-1: unable to get BOS descriptor set | descriptor_read_failed@1-1
usb 1-1: hub failed to enable device, error -62 | address_failed@1-1
usb 1-1: Device not responding to set address. | address_failed@1-1
usb.c: USB device not accepting new address=4 (error=-110) | address_failed@-
usb usb1-port1: unable to enumerate USB device | enumeration_failed@1-1
hub 1-1.3.1:1.0: unable to enumerate USB device on port 4 | enumeration_failed@1-1.3.1.4
usb 1-1-port3: attempt power cycle | port_power_cycled@1-1.3
usb usb3-port1: over-current condition | over_current@3-1
usb 1-1.1-port3: over-current change | over_current@1-1.1.3
usb usb1-port2: over-current change #7 | over_current@1-2
hub 1-0:1.0: over-current change on port 3 | over_current@1-3
hub.c: port 5 over-current change | over_current@?-5
dwc2 ffb40000.usb: Overcurrent change detected | over_current@ffb40000.usb
usb 1-4: new config #1 exceeds power limit by 400mA | no_bus_power@1-4
hub 1-4:1.0: insufficient power available to use all downstream ports | no_bus_power@1-4
usb 1-4-port2: can't connect bus-powered hub to this port | no_bus_power@1-4.2
usb 1-4-port2: 896mA is over 500000uA budget! | no_bus_power@1-4.2
usb 1-1.4: rejected 2 configurations due to insufficient available bus power | no_bus_power@1-1.4
hwmon hwmon2: Undervoltage detected! | under_voltage@-
Under-voltage detected! (0x00050005) | under_voltage@-
usb 3-1: Not enough bandwidth for altsetting 4 | no_bandwidth@3-1
uhci_hcd 0000:00:07.0: bandwidth allocation failed: period 1, phase 0, 800 + 200 us | no_bandwidth@0000:00:07.0
uvcvideo: No fast enough alt setting for requested bandwidth. | no_bandwidth@-
usb 3-1: Busted HC?  Not enough HCD resources for old configuration. | no_controller_resources@3-1
usb 3-1: Not enough host controller resources for new device state. | no_controller_resources@3-1
Not enough host controller resources for new device state | no_controller_resources@-
xhci_hcd 0000:00:14.0: Error while assigning device slot ID: No Slots Available Error | no_slots@0000:00:14.0
xhci_hcd 0000:00:14.0: Max number of devices this xHCI host supports is 64. | no_slots@0000:00:14.0
hub 1-0:1.0: couldn't allocate port 3 usb_device | no_slots@1-3
xhci-hcd f10f8000.usb3: HC died; cleaning up | controller_died@f10f8000.usb3
xhci_hcd 0000:05:00.0: Host controller not accessible, removed? | controller_died@0000:05:00.0
uhci_hcd 0000:00:1d.1: host controller halted, very bad! | controller_died@0000:00:1d.1
xhci_hcd 0000:05:00.0: Command timeout, USBSTS: 0x00000018 EINT PCD | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: xHCI host not responding to stop endpoint command | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: Host halt failed, -110 | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: WARN: xHC restore state timeout | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: xHC error in resume, USBSTS 0x401, Reinit | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: can't setup: -110 | controller_error@0000:05:00.0
xhci_hcd 0000:05:00.0: Unable to change power state from D3cold to D0 | controller_error@0000:05:00.0
ehci_hcd 0000:00:1d.7: force halt; handshake f88f4c14 00004000 00000000 -> -110 | controller_error@0000:00:1d.7
ehci-pci 0000:00:1d.7: fatal error | controller_error@0000:00:1d.7
ohci_hcd 0000:00:02.0: OHCI Unrecoverable Error, disabled | controller_error@0000:00:02.0
uhci_hcd 0000:00:1d.1: Unlink after no-IRQ?  Controller is probably using the wrong IRQ. | controller_error@0000:00:1d.1
pci 0000:00:1d.7: EHCI: BIOS handoff failed (BIOS bug?) 01010001 | controller_error@0000:00:1d.7
tegra-xusb 3610000.usb: Timeout while waiting for evaluate context command | controller_error@3610000.usb
usb usb4: root hub lost power or was reset | power_lost@usb4
usb 2-1: reset SuperSpeed Plus Gen 2x1 USB device number 4 using xhci_hcd | reset@2-1
usb 1-1: reset high speed USB device using ehci_hcd and address 5 | reset@1-1
usb usb2-port5: do warm reset, port only | reset@2-5
usb usb2-port5: not warm reset yet, waiting 50ms | reset@2-5
usb usb1-port1: cannot reset (err = -32) | port_reset_failed@1-1
usb 1-1-port2: cannot disable (err = -71) | port_reset_failed@1-1.2
hub 1-1:1.0: cannot reset port 2 (err = -110) | port_reset_failed@1-1.2
usb usb1-port6: disabled by hub (EMI?), re-enabling... | port_disabled@1-6
hub 1-0:1.0: port 2 disabled by hub (EMI?), re-enabling... | port_disabled@1-2
usb usb3-port1: config error | port_error@3-1
hub 4-1:1.0: hub_ext_port_status failed (err = -71) | port_error@4-1
hub 4-0:1.0: hub_ext_port_status failed (err = -19) | port_error@usb4
usb usb1-port2: connect-debounce failed | port_error@1-2
usb: port power management may be unreliable | port_error@-
hub 1-0:1.0: Cannot enable port 1.  Maybe the USB cable is bad? | cable_suspect@1-1
usb usb4-port1: Cannot enable. Maybe the USB cable is bad? | cable_suspect@4-1
hub.c: Maybe the USB cable is bad? | cable_suspect@-
xhci_hcd 0000:00:14.0: WARN Set TR Deq Ptr cmd failed due to incorrect slot or ep state. | transfer_error@0000:00:14.0
xhci_hcd 0000:00:14.0: ERROR Transfer event TRB DMA ptr not part of current TD ep_index 1 | transfer_error@0000:00:14.0
xhci_hcd 0000:00:14.0: WARN Event TRB for slot 4 ep 6 with no TDs queued? | transfer_error@0000:00:14.0
usb 1-1: usbfs: USBDEVFS_CONTROL failed cmd mtp-probe rqt 128 rq 6 len 1024 ret -110 | transfer_error@1-1
usb 1-1: kworker/u8:2 timed out on ep0in len=0/64 | transfer_error@1-1
usbhid 1-1.2:1.0: can't reset device, ehci-1.2/input0, status -71 | transfer_error@1-1.2
drivers/hid/usbhid/hid-core.c: can't resubmit intr, 0000:00:1d.2-1.4/input0, status -19 | transfer_error@?-1.4
xpad 1-3:1.0: xpad_irq_in - nonzero urb status received: -71 | transfer_error@1-3
bcm5974: bcm5974 3-1.8.2:1.2: trackpad urb status: -71 | transfer_error@3-1.8.2
ftdi_sio ttyUSB0: usb_serial_generic_read_bulk_callback - urb stopped: -32 | transfer_error@-
r8152 2-1:1.0 eth0: Tx status -71 | transfer_error@2-1
mt7921u 2-1:1.3: vendor request req:63 off:d02c failed:-110 | transfer_error@2-1
usblp0: nonzero read bulk status received: -71 | transfer_error@-
ttyUSB0: 1 input overrun(s) | input_overrun@-
tty ttyACM0: 12 input overrun(s) | input_overrun@-
usb 1-1: can't set config #1, error -110 | config_failed@1-1
usb 1-1: can't restore configuration #1 (error=-71) | config_failed@1-1
usb 1-1: failed to restore interface 1 altsetting 2 (error=-71) | interface_failed@1-1
usb_set_interface failed (-28) | interface_failed@-
usbhid 1-2:1.3: can't add hid device: -71 | driver_failed@1-2
usbhid: probe of 3-9.1:1.4 failed with error -71 | driver_failed@3-9.1
usbhid 1-2:1.3: probe with driver usbhid failed with error -71 | driver_failed@1-2
xhci_hcd: probe of 0000:03:00.0 failed with error -110 | driver_failed@0000:03:00.0
cdc_acm 1-2:1.0: Zero length descriptor references | driver_failed@1-2
cdc_acm 1-6.3:1.1: acm_ctrl_irq - usb_submit_urb failed: -19 | driver_failed@1-6.3
ax88179_178a 2-1:1.0 eth1: Failed to read reg index 0x0040: -32 | driver_failed@2-1
cp210x ttyUSB0: failed set request 0x12 status: -110 | driver_failed@-
somedriver 1-5.2:1.0: could not talk to the sensor, error -110 | driver_failed@1-5.2
hub 1-1.1.1.1.1.1:1.0: Unsupported bus topology: hub nested too deep | hub_too_deep@1-1.1.1.1.1.1
hub 1-1:1.0: config failed, can't read hub descriptor (err -22) | hub_config_failed@1-1
hub 1-1:1.0: bad descriptor, ignoring hub | hub_config_failed@1-1
usb 1-1: 2:1: usb_set_interface failed (-28) | stream_error@1-1
usb 1-1: 1:1: cannot get freq at ep 0x84 | stream_error@1-1
usb 1-1: clock source 33 is not valid, cannot use | stream_error@1-1
usb 1-1: 12:3: failed to get current value for ch 0 (-71) | stream_error@1-1
uvcvideo: Failed to query (GET_INFO) UVC control 2 on unit 1: -32 (exp. 1). | stream_error@-
uvcvideo 3-1:1.1: Non-zero status (-71) in video completion handler. | stream_error@3-1
ALSA sound/usb/mixer.c:855: 10:1: cannot get min/max values for control 2 (id 10) | stream_error@-
usb 1-1: cannot submit urb 0, error -28: not enough bandwidth | stream_no_space@1-1
uvcvideo: Failed to submit URB 0 (-28). | stream_no_space@-
VIDIOC_STREAMON: No space left on device | stream_no_space@-
camera[12]: VIDIOC_STREAMON: No space left on device | stream_no_space@-
usb 1-8: Device is not authorized for usage | not_authorised@1-8
usb 1-8: Interface 1 is not authorized for usage | not_authorised@1-8
tool: libusb couldn't open USB device /dev/bus/usb/001/004, errno=13 | access_refused@-
tool: could not open port /dev/ttyACM0: [Errno 13] Permission denied: '/dev/ttyACM0' | access_refused@-
usb 1-1: Failed to suspend device, error -19 | resume_failed@1-1
usb 1-1.3-port2: status 07eb.906e after resume, -19 | resume_failed@1-1.3.2
usb 1-1: can't resume, status -71 | resume_failed@1-1
usb 1-1: PM: failed to resume async: error -71 | resume_failed@1-1
PM: Device 2-1 failed to resume: error -113 | resume_failed@2-1
PM: dpm_run_callback(): usb_dev_resume+0x0/0x20 returns -5 | resume_failed@-
usb 2-3: Disable of device-initiated U1 failed. | link_power_failed@2-3
usb 2-3: Failed to set U2 timeout to 0x4,error code -113 | link_power_failed@2-3
usb 2-3: LPM exit latency is zeroed, disabling LPM. | link_power_failed@2-3
usb 2-3: device firmware changed | firmware_changed@2-3
usb 2-3: not running at top speed; connect to a high speed hub | slower_than_could@2-3
usb 1-5: config 1 interface 0 altsetting 0 endpoint 0x81 has an invalid bInterval 0, changing to 32 | descriptor_odd@1-5
usb 1-5: config 1 has no interface number 1 | descriptor_odd@1-5
usb 1-5: config index 0 descriptor too short (expected 18, got 12) | descriptor_odd@1-5
usb 1-5: ep 0x81 - rounding interval to 64 microframes, ep desc says 80 microframes | descriptor_odd@1-5
usb-storage 1-5:1.0: Max LUN 255 is not valid, using 0 instead | descriptor_odd@1-5
usb 2-1.3: new SuperSpeed Gen 1 USB device number 49 using xhci_hcd | connect@2-1.3
usb 1-2: new low speed USB device using uhci_hcd and address 3 | connect@1-2
cdc_acm 1-6.3:1.0: ttyACM0: USB ACM device | connect@1-6.3
r8152-cfgselector 4-1.2: USB disconnect, device number 3 | disconnect@4-1.2
usb usb6: USB disconnect, device number 1 | disconnect@usb6
"""
CASES = [tuple(part.strip() for part in line.rsplit("|", 1)) for line in TEMPLATES.strip().splitlines()]


@pytest.mark.parametrize(("line", "expected"), CASES)
def test_a_message_is_read_as_the_trouble_it_stands_for(line: str, expected: str) -> None:
    assert [f"{sign.kind}@{sign.where}" for sign in read_signs([line.encode()])] == [expected]


@pytest.mark.parametrize(("line", "expected"), CASES)
def test_a_mail_program_may_break_a_message_between_any_two_words(line: str, expected: str) -> None:
    words = line.split(" ")
    for index in range(1, len(words)):
        broken = " ".join(words[:index]) + "\n" + " ".join(words[index:])
        log = f"[   12.500000] {broken}\n[   13.000000] x: y\n".encode()
        assert [f"{sign.kind}@{sign.where}" for sign in read_signs([log])] == [expected], broken


@pytest.mark.parametrize(
    "line",
    [
        "usb 1-2: New USB device found, idVendor=1209, idProduct=0001, bcdDevice= 1.00",
        "usb 1-2: Manufacturer: reset high-speed USB device",
        "usb 1-2: USB quirks for this device: 2",
        "usb usb2: We don't know the algorithms for LPM for this host, disabling LPM.",
        "usbcore: registered new interface driver uas",
        "usbhid 3-1.8.2:1.0: retrying intr urb",
        "bcm5974 3-1.8.2:1.2: trackpad urb shutting down: -2",
        "r8152 4-1.4:1.0: Direct firmware load for rtl_nic/some.fw failed with error -2",
        "xhci_hcd 0000:00:14.0: hcc params 0x200077c1 hci version 0x100 quirks 0x0000000081109810",
        "hub 1-1:1.0: individual port over-current protection",
        "i2c i2c-1: can't resume, status -5",
        "greybus 1-2.3: USB disconnect",
        "Bluetooth: hci0: urb 00000000e81d049e failed to resubmit (2)",
        "drm: Not enough bandwidth for new device state.",
        "ttyS0: 4 input overrun(s)",
        "PM: Device 0000:01:00.0 failed to resume: error -5",
        "tool: libusb couldn't open USB device /dev/bus/usb/001/004, errno=2",
        "cp: error writing '/mnt/stick/x': No space left on device",
    ],
)
def test_what_only_sounds_like_usb_trouble_is_no_sign(line: str) -> None:
    assert read_signs([line.encode()]) == ()


def kinds() -> set[str]:
    """Every kind that can be read."""
    tables = (USB, DRIVERS, BARE, *SETTLED.values())
    return {kind for table in tables for kind in table} | {kind for kind, _ in COMPLAINTS}


def test_every_kind_that_can_be_read_is_said_in_plain_words() -> None:
    texts = Path(__file__).parents[2] / "resources" / "texts" / "en" / "signs.toml"
    said = tomllib.loads(texts.read_text("utf-8"))["sign"]
    # What Windows and macOS call things stands beside these kinds: tests/observe/exports.
    assert {kind for kind in said if not kind.startswith(("windows_", "macos_"))} == kinds()
    assert all(entry["words"].strip() for entry in said.values())


def test_every_kind_has_an_example_here() -> None:
    drives = {kind for kind, _ in COMPLAINTS}
    assert {expected.partition("@")[0] for _, expected in CASES} == kinds() - drives
