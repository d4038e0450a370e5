"""What class drivers say about their device, and messages that need no USB head: kind by kind.

From the kernel's own templates (Linux 6.1: sound/usb, drivers/media/usb, drivers/usb/serial, drivers/usb/class,
drivers/net/usb, drivers/hid/usbhid; older wording from memory). Patterns are written as in kernel_log_patterns.
"""

DRIVERS: dict[str, tuple[str, ...]] = {
    "stream_no_space": (
        r"cannot submit (?:datapipe for )?urb \d+, error -28",
        r"cannot submit urb \(err = -28",
        r"Unable to submit urb #\d+: -28",
        r"Failed to submit URB \d+ \(-28",
        r"submit of urb \d+ failed \(error=-28",
        r"usb_submit_urb (?:\[\d+\] |alt \d+ )?err -28",
        r"cannot submit urb\[\d+\] \(-28",
        r"isoc_init\(\) submit_urb \d+ failed with error -28",
    ),
    "stream_error": (
        r"cannot submit (?:datapipe for )?urb",
        r"cannot submit urb\[",
        r"Unable to submit urb #",
        r"Failed to (?:re)?submit (?:video |status )?URB",
        r"submit of urb \d+ failed",
        r"usb_submit_urb (?:\[\d+\] |alt \d+ )?err",
        r"isoc_init\(\) submit_urb",
        r"\d\d*:\d+(?::\d+)?: usb_set_interface failed",
        r"\d\d*:\d+(?::\d+)?: cannot [gs]et ",
        r"\d\d*:\d+(?::\d+)?: failed to get current",
        r"cannot [gs]et (?:freq|min/max|ctl value|current value|connectors)",
        r"failed to get current value for ch",
        r"clock source \d+ is not valid",
        r"current rate \d+ is different from the runtime rate",
        r"timeout: still \d+ active urbs",
        r"frame \d+ active: -\d",
        r"(?:Mismatched sample rate|Incompatible EP setup|Unable to change format on ep)",
        r"Failed to query \(",
        r"Failed to set UVC",
        r"Non-zero status \(-?\d+\) in",
        r"ISOC data error",
        r"Device requested null bandwidth",
    ),
    "transfer_error": (
        r"can't resubmit intr",
        r"can't reset device, ",
        r"input irq status -?\d",
        r"nonzero (?:read |write )bulk status received",
        r"error -\d+ reading (?:from printer|printer status)",
        r"failed reading printer status",
        r"(?:Rx|Tx|intr) status -\d",
        r"Stop submitting intr, status",
        r"Tx timeout",
        r"failed tx_urb",
        r"stat urb: status",
        r"(?:recv )?bulk message failed",
        r"(?:rt2x00usb_)?vendor_request: Error - Vendor Request",
        r"vendor request req:\w+ off:\w+ failed",
        r"Tx URB error",
    ),
    "driver_failed": (
        r"can't add hid device",
        r"probe with driver \S+ failed",
        r"Zero length descriptor references",
        r"failed to set dtr/rts",
        r"This needs exactly 3 endpoints",
        r"No union descriptor, giving up",
        r"Failed to initialize the device",
        r"Failed to reprobe device",
        r"Unable to parse UVC descriptors",
        r"No valid video chain found",
        r"couldn't find an input interrupt endpoint",
        r"(?:required endpoints missing|Expected endpoints are not found|device has no bulk endpoints)",
        r"bind\(\) failure",
        r"unable to init device",
        r"r8152 failed probe",
        r"USB reset failed",
        r"Failed to (?:read|write) reg",
        r"failed (?:set|get) req(?:uest)? 0x",
        r"failed to get (?:modem|comm) status",
        r"failed to set (?:flow control|baud rate|line control|special chars)",
        r"failed to (?:read|write|send|receive) (?:control message|break control|modem status|\[)",
        r"failed to (?:change baud rate|submit interrupt urb)",
        r"error from flowcontrol urb",
        r"error sending break",
        r"ftdi_\w+ (?:FAILED|failed|urb failed)",
        r"pl2303_\w+ - failed",
        r"Unable to (?:read|write) latency timer",
    ),
}
"""Messages of class drivers: sound, video, serial, network, input. They count behind a head about USB."""

BARE: dict[str, tuple[str, ...]] = {
    "no_bandwidth": (r"Not enough bandwidth for ",),
    "no_controller_resources": (r"Not enough host controller resources",),
    "stream_no_space": (r"VIDIOC_STREAMON: No space left on device", r"No space left on device$"),
    "interface_failed": (r"usb_set_interface failed",),
    "enumeration_failed": (r"unable to enumerate USB device",),
    "descriptor_read_failed": (r"device descriptor read/",),
    "address_failed": (r"device not accepting address",),
    "no_bus_power": (r"rejected \d+ configurations? due to insufficient",),
    "cable_suspect": (r"Maybe the USB cable is bad",),
    "controller_died": (r"xHCI host controller not responding, assume dead",),
    "hub_too_deep": (r"Unsupported bus topology",),
    "slower_than_could": (r"not running at top speed",),
    "under_voltage": (r"Under-?voltage detected",),
    "access_refused": (r"LIBUSB_ERROR_ACCESS", r"libusb couldn't open USB device \S+ errno=13"),
}
"""Messages so plain that they count with no head at all, as people quote them."""

SETTLED: dict[str, dict[str, tuple[str, ...]]] = {
    "any": {
        "under_voltage": (r"Under-?voltage detected",),
        "resume_failed": (r"(?:dpm_run_callback|pm_op)\(\): usb_",),
    },
    "stream": {"stream_no_space": (r"VIDIOC_STREAMON: No space left", r"No space left on device")},
    "probe": {"driver_failed": (r"probe of \S+ failed",)},
    "power": {"resume_failed": (r"Device \S+ failed to (?:suspend|resume|freeze|thaw|restore)",)},
    "access": {
        "access_refused": (
            r"Permission denied",
            r"permission denied",
            r"\[Errno 13\]",
            r"Access denied \(insufficient permissions",
            r"(?:error \[\w+\] )?libusb (?:couldn't open USB device \S+ errno=13|requires write access to USB)",
            r"LIBUSB_ERROR_ACCESS",
        )
    },
    "stamped": {
        # Behind `kernel: [ 12.5]`. One pattern, because so many lines begin like that.
        "under_voltage": (
            r"\[\s*\d+\.\d+\] "
            r"(?:Under-?voltage detected|Aborting journal on|attempt to access|lost (?:a?sync )?page write)",
        )
    },
    "tty": {"input_overrun": (r"\d\d* input overrun",)},
    "pci": {"controller_error": (r"(?:E|U|O|x)HCI:? BIOS handoff failed",)},
}
"""Messages whose head need not be a USB place; the key names the rule that settles it (kernel_log_reading)."""
