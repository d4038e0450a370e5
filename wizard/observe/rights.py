"""What to say when something may not be read: why, and the narrowest way for an administrator to allow it.

Knows Linux's ways of granting rights; grants nothing and asks for nothing. A right is given for exactly one
device, to read only where that is possible, and each sentence says how to take it back.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Refusal:
    """Why something can't be read, and what would change that (None where nothing would)."""

    why: str
    mend: str | None


def reading_refused(
    path: str, subsystem: Literal["input", "hidraw", "block"], vid: str | None, pid: str | None
) -> Refusal:
    """For a device node: the right for this one until it is unplugged, or a rule for this model.

    `setfacl`: POSIX.1e draft 17 access lists. The tag `uaccess` gives the right to whoever sits at the computer; it
    works from rules that sort before 73-seat-late.rules (systemd).
    """
    once = f"sudo setfacl -m u:$USER:r {path}"
    mend = f"An administrator can allow just this one, read-only, until it is unplugged: {once}"
    if subsystem != "block" and vid and pid:
        rule = f'SUBSYSTEM=="{subsystem}", ATTRS{{idVendor}}=="{vid}", ATTRS{{idProduct}}=="{pid}", TAG+="uaccess"'
        file = f"/etc/udev/rules.d/70-portmend-{vid}-{pid}.rules"
        mend += f" — or for good, for this model only: put the line {rule} into {file} and plug the device in again."
        mend += " Deleting that file takes the right back."
    if subsystem == "input":
        mend += " (Joining the group 'input' would do, too, but lets every program of yours read every keyboard.)"
    return Refusal(f"You may not read {path}.", mend)
