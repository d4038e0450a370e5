"""A recorded tree without what tells whose machine it is: the same files, fewer words.

Serial numbers, names of people and computers, network addresses and ids of volumes become words that stay equal
where they were equal (`serial-1`). Of files that say much, only what the observers read is kept.
"""

import re
from collections.abc import Callable, Iterable, Mapping

from wizard.observe.capture import LISTING, Recorded
from wizard.report.private import Secrets
from wizard.report.redaction import without_owner

_KEPT_NOTES = re.compile(r"E:(?:ID_FS_TYPE|ID_PART_TABLE_TYPE)=[\w.-]{1,40}")
_KEPT_RELEASE = re.compile(r"PRETTY_NAME=.{1,200}")
_COMMAND_LINE = re.compile(r"(?m)^(.{0,80}?(?:Kernel command line|Command line):).*$")


class PrivateTree:
    """Redacts what was recorded, and the log that goes with it, with one set of words.

    `names` are names known to be private: of this computer and of whoever uses it.
    """

    def __init__(self, recorded: Recorded, names: Iterable[tuple[str, str]]) -> None:
        self._recorded = recorded
        snapshot = recorded.snapshot
        ids = [*(c.id for c in snapshot.controllers), *(s.id for s in snapshot.sockets)]
        self._secrets = Secrets(frozenset(), [*ids, *(d.id for d in snapshot.devices)])
        for role, name in names:
            self._secrets.word_for("names", role, name)
        for device in snapshot.devices:
            if device.serial and not device.root:
                self._secrets.word_for("serials", "serial", device.serial)
        self._mounts: dict[str, str] = {}

    def files(self) -> dict[str, bytes]:
        """The files that may leave the machine."""
        found = {path: self._file(path, data) for path, data in self._recorded.files.items()}
        return {path: data for path, data in found.items() if data is not None}

    def log(self, text: str) -> str:
        """A log without secrets, and without the words the system was started with."""
        return self._secrets.out_of(_COMMAND_LINE.sub(r"\1 (left out)", text))

    def _file(self, path: str, data: bytes) -> bytes | None:
        name = path.rpartition("/")[2]
        if name == "descriptors":
            return data  # numbers only: texts are not in it
        text = data.decode("utf-8", errors="replace")
        for matches, clean in self._by_place():
            if matches(path):
                return clean(text).encode()
        clean_name = _BY_NAME.get(name)
        if clean_name is not None:
            return clean_name(self, text).encode()
        return data

    def _by_place(self) -> tuple[tuple[Callable[[str], bool], Callable[[str], str]], ...]:
        return (
            (lambda path: path == "proc/version", _kernel_only),
            (lambda path: path.endswith("os-release"), lambda text: _lines(text, _KEPT_RELEASE)),
            (lambda path: path.startswith("run/udev/data/"), lambda text: _lines(text, _KEPT_NOTES)),
            (lambda path: path.endswith("/mountinfo"), self._mountinfo),
            (lambda path: path == LISTING, self._free_text),
        )

    def _serial(self, text: str) -> str:
        word = text.strip()
        return self._secrets.word_for("serials", "serial", word) + "\n" if word else text

    def _free_text(self, text: str) -> str:
        return self._secrets.out_of(without_owner(text))

    def _uevent(self, text: str) -> str:
        return self._free_text(_lines(text, re.compile(r"HID_NAME=.{0,200}")))

    def _mountinfo(self, text: str) -> str:
        """Only what is mounted from a drive on USB, and where as a word."""
        numbers = {d.decode().strip() for p, d in self._recorded.files.items() if p.endswith("/dev") and len(d) < 20}
        kept = []
        for line in text.splitlines():
            words = line.split(" ")
            if len(words) > 9 and (words[2] in numbers or (words[2].startswith("0:") and "/dev/sd" in line)):
                words[3] = "/"
                words[4] = self._mounts.setdefault(words[4], f"/mount-{len(self._mounts) + 1}")
                kept.append(" ".join([*words[:6], "-", *_after_dash(words)]))
        return "".join(f"{line}\n" for line in kept)


def _after_dash(words: list[str]) -> list[str]:
    """File system, source, and of its options only whether it may be written to."""
    at = words.index("-") if "-" in words else len(words)
    after = words[at + 1 :]
    return [*after[:2], "ro" if len(after) > 2 and "ro" in after[2].split(",") else "rw"]


def _kernel_only(text: str) -> str:
    """`Linux version 6.1.0-13-amd64` without who built it."""
    return " ".join(text.split()[:3]) + "\n"


def _lines(text: str, kept: re.Pattern[str]) -> str:
    return "".join(f"{line}\n" for line in text.splitlines() if kept.fullmatch(line))


_BY_NAME: Mapping[str, Callable[[PrivateTree, str], str]] = {
    "serial": PrivateTree._serial,
    "product": PrivateTree._free_text,
    "manufacturer": PrivateTree._free_text,
    "name": PrivateTree._free_text,
    "uevent": PrivateTree._uevent,
}
