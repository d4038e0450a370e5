"""Looks closer at each spot a scan found: is it a sign, where, and how often.

One line gives at most one sign: its leftmost. Knows lines and their neighbours (a wrapped line, a
repeated message); the wording stands in the tables of patterns, places in kernel_log_place.
"""

import re
from collections.abc import Callable

from wizard.bus.model import Snapshot
from wizard.bus.sign import LogRead, Sign
from wizard.observe.kernel_log_drive import Drives, read_line
from wizard.observe.kernel_log_fold import Entry, Fold
from wizard.observe.kernel_log_place import PATH, pci_place, refined
from wizard.observe.kernel_log_scan import hits
from wizard.observe.kernel_log_spot import Spot
from wizard.observe.kernel_log_stamps import after_stamp, is_of_a_log
from wizard.observe.kernel_log_window import LONGEST_LINE, Window

_REPEATED = re.compile(rb"message repeated (\d{1,9}) times?\b(?!: \[)")
_STREAMING = re.compile(rb"VIDIOC_\w+|v4l2|uvc|/dev/video|snd_pcm", re.I)
_PROBED = re.compile(rb"probe\sof\s(?:(" + PATH + rb"):\d+\.\d+|(\S+))\sfailed")
_HOST_DRIVER = re.compile(rb"(?:[xeou]hci|dwc\d?|musb|hcd)[\w-]*\s*$")
_POWERED = re.compile(rb"Device\s(usb\d{1,3}|" + PATH + rb")\sfailed")
_VOLTAGE = re.compile(rb"Under-?voltage")
_TTY = re.compile(rb"\btty(?:USB|ACM)\d{1,3}\s*$")
_URB_FAULT = re.compile(
    rb"nonzero\s(?:\w+\s){0,3}status|urb\sstatus:?\s-?\d|usb_submit_urb\sfailed\swith|\burb\s(?:stopped|failed)"
    rb"|failed\s(?:re)?submitting\s|submit\s\w*\s?urb\s(?:failed|err)"
)
_SUBMIT_FAULT = re.compile(rb"usb_submit_urb(?:\([^)\n]{0,20}\))?\sfailed")
_ENDPOINT_FAULT = re.compile(rb"timed out on ep\d|timed out or killed on ep\d")
_DRIVER_FAULT = re.compile(rb"(?i:(?=.*(?:fail|error|status|time|unable|can't|cannot|could)))(?=.*-\d{2,3}(?!\d))")
_ACCESS_NODE = re.compile(
    rb"/dev/(?:bus/usb/|ttyUSB|ttyACM|hidraw|usb/)|LIBUSB_ERROR_ACCESS|\(insufficient permissions|USB device nodes"
)


class Reading:
    """The signs of one log, taken in window by window."""

    def __init__(self, snapshot: Snapshot | None, drive_case: bool) -> None:
        self._fold = Fold()
        self._drives = Drives(snapshot, drive_case)
        self._drive_case = drive_case
        self._last: tuple[int, Entry] | None = None
        self._lines = 0
        self._understood = False
        self._rules: dict[str, Callable[[Spot], None]] = {
            "usb": self._usb,
            "bare": self._bare,
            "any": self._any,
            "stamped": self._stamped,
            "stream": self._stream,
            "probe": self._probe,
            "power": self._power,
            "tty": self._tty,
            "pci": self._pci,
            "urb": self._urb,
            "endpoint": self._endpoint,
            "driver": self._driver,
            "access": self._access,
            "drive": self._drive,
            "repeated": self._repeated,
        }

    def take(self, window: Window) -> None:
        """Read the middle of one window."""
        for hit in hits(window):
            start = window.line_start(hit.at + 1)
            if start is None:
                continue
            spot = Spot(window, hit, start)
            if self._last is None or self._last[0] < spot.number:
                self._rules[hit.rule](spot)
        # The line's end before the first byte is not the log's own; a last line may have none.
        self._lines = window.line_number(window.limit) - (window.data[-1:] == b"\n")
        self._understood = self._understood or _is_log(window)

    def read(self) -> LogRead:
        """How the log was read so far."""
        return LogRead(lines=self._lines, understood=self._understood or bool(self.signs()))

    def signs(self) -> tuple[Sign, ...]:
        """All signs, in the order they first came."""
        entries = (*self._fold.entries(), *self._drives.entries())
        return tuple(entry.sign() for entry in sorted(entries, key=lambda entry: entry.lines[0]))

    def _add(self, spot: Spot, kind: str, where: str, text: bytes) -> None:
        entry = self._fold.add(kind, where, spot.number, spot.stamp(), text, spot.weight())
        self._last = (spot.last_number(), entry)

    def _usb(self, spot: Spot) -> None:
        named = spot.named()
        if named is not None and named.place.origin != "disk":
            self._add(spot, spot.hit.kind, refined(named.place, spot.message), named.text)

    def _bare(self, spot: Spot) -> None:
        # To a drive, "no space" is a full disk.
        if not (self._drive_case and spot.hit.kind == "stream_no_space"):
            self._add(spot, spot.hit.kind, "-", after_stamp(spot.line()))

    def _any(self, spot: Spot) -> None:
        self._add(spot, spot.hit.kind, "-", after_stamp(spot.message))

    def _stamped(self, spot: Spot) -> None:
        if _VOLTAGE.search(spot.message):
            self._any(spot)
        else:
            self._drive(spot)

    def _stream(self, spot: Spot) -> None:
        if _STREAMING.search(spot.head()) or b"VIDIOC" in spot.message:
            self._add(spot, spot.hit.kind, "-", after_stamp(spot.line()))

    def _probe(self, spot: Spot) -> None:
        match = _PROBED.search(spot.message)
        if match is None:
            return
        where = match[1] or (match[2] if _HOST_DRIVER.search(spot.head()) else None)
        if where is not None:
            self._add(spot, spot.hit.kind, where.decode("ascii", "replace"), after_stamp(spot.line()))

    def _power(self, spot: Spot) -> None:
        match = _POWERED.search(spot.message)
        if match is not None:
            self._add(spot, spot.hit.kind, match[1].decode("ascii"), spot.message)

    def _tty(self, spot: Spot) -> None:
        if _TTY.search(spot.head()):
            self._add(spot, spot.hit.kind, "-", after_stamp(spot.line()))

    def _pci(self, spot: Spot) -> None:
        place = next(filter(None, map(pci_place, spot.heads())), None)
        if place is not None:
            self._add(spot, spot.hit.kind, place.where, after_stamp(spot.line()))

    def _urb(self, spot: Spot) -> None:
        line = spot.wide_line()
        if b"shutting down" in line:
            return
        kind = "transfer_error" if _URB_FAULT.search(line) else "driver_failed" if _SUBMIT_FAULT.search(line) else ""
        named = spot.named_early() if kind else None
        # The input layer names no place, and tries again by itself.
        if named is not None and not named.place.driver.startswith(b"hid"):
            self._add(spot, kind, named.place.where, named.text)

    def _endpoint(self, spot: Spot) -> None:
        named = spot.named_early() if _ENDPOINT_FAULT.search(spot.wide_line()) else None
        if named is not None:
            self._add(spot, "transfer_error", named.place.where, named.text)

    def _driver(self, spot: Spot) -> None:
        named, message = spot.named(), spot.message
        if named is None or named.place.where == "-" or not _DRIVER_FAULT.match(message):
            return
        kind = "transfer_error" if _URB_FAULT.search(message) else "driver_failed"
        kind = "port_error" if named.place.driver == b"hub" else kind
        if b"shutting down" not in message:
            self._add(spot, kind, refined(named.place, message), named.text)

    def _access(self, spot: Spot) -> None:
        line = spot.line()
        if _ACCESS_NODE.search(line):
            self._add(spot, spot.hit.kind, "-", after_stamp(line))

    def _drive(self, spot: Spot) -> None:
        if spot.hit.kind == "ata":
            self._drives.note_other_drive()
            return
        line = spot.line()
        said = read_line(line)
        self._drives.learn(line, said)
        if said.kind:
            entry = self._drives.add(said, spot.number, spot.stamp(), after_stamp(line), spot.weight())
            self._last = (spot.last_number(), entry)

    def _repeated(self, spot: Spot) -> None:
        match = _REPEATED.search(spot.line())
        if match is None or self._last is None or self._last[0] != spot.number - 1:
            return
        entry = self._last[1]
        entry.count += int(match[1])
        entry.last = spot.stamp() or entry.last
        self._last = (spot.number, entry)


def _is_log(window: Window) -> bool:
    """Whether any line that begins in the middle of a window looks like one of a log; stops at the first."""
    data, at = window.data, window.data.find(b"\n", window.start, window.limit)
    while at >= 0:
        if is_of_a_log(data[at + 1 : at + 1 + LONGEST_LINE].partition(b"\n")[0]):
            return True
        at = data.find(b"\n", at + 1, window.limit)
    return False
