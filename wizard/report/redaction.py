"""A case without serial numbers, user and host names, so that it can be shown to others.

What is replaced keeps its place and its meaning: two mentions of one device stay two mentions of one
device, and the log still yields the same signs.
"""

import re
from collections.abc import Iterator
from typing import Any

from wizard.bus.model import Snapshot
from wizard.case.model import Case
from wizard.report.private import Secrets

KINDS = frozenset({"serials", "names"})
"""What `keep` may name."""

_OWN_WORDS = frozenset(
    {"schema", "symptom", "also", "subject", "platform", "asked", "marks", "source", "demo", "taken_at", "at",
     "outcome", "id", "parent", "hub", "peer", "group", "kind", "speed", "vid", "pid", "usb_version",
     "release", "type", "reason", "driver", "state", "first", "last"}
)  # fmt: skip
"""Fields that hold ids and words of ours, never anything private: they come through as they are."""

_NAME_FIELD = re.compile(r"(?i)host_?name|user|login|owner|computer")
_SERIAL_FIELD = re.compile(r"(?i)serial.|.serial|uuid|mac_?addr")
"""Fields this version does not know whose names promise something private: left out unless kept."""

_SOMEBODYS = re.compile(r"(?<!\w)[^\W\d_][\w.-]*(?: [^\W\d_][\w.-]*)?['’]s(?!\w)")
"""`Somebody's telephone`: what people call their own gear."""

_NOBODYS = frozenset({"the maker's", "maker's"})
"""Owners in labels of our own: `device of the maker's own kind`."""

_VOCABULARY = re.compile(r"[a-z0-9_]+", re.ASCII)


def redact(case: Case, keep: frozenset[str] = frozenset()) -> Case:
    """The case without serial numbers and names; `keep` ("serials", "names") says which may stay."""
    snapshots = [s for s in (case.snapshot, *(recheck.snapshot for recheck in case.rechecks)) if s is not None]
    work = _Redaction(keep, Secrets(keep, _ids(snapshots)))
    for device in (d for snapshot in snapshots for d in snapshot.devices):
        work.serial_of(device.serial, device.root)
    document = case.model_dump(mode="json", by_alias=True)
    # Twice: what the end betrays must be gone from the beginning, too.
    work.cleaned("", document)
    return Case.model_validate(work.cleaned("", document))


def without_owner(text: str) -> str:
    """The text with whose things are is replaced by `somebody's`."""
    return _SOMEBODYS.sub(lambda found: found[0] if found[0].lower() in _NOBODYS else "somebody's", text)


class _Redaction:
    """One walk over a document."""

    def __init__(self, keep: frozenset[str], secrets: Secrets) -> None:
        self._keep = keep
        self._secrets = secrets

    def serial_of(self, serial: str | None, root: bool) -> str | None:
        """What to show for the serial number of a device; a root hub's is the name of its controller."""
        return self._secrets.word_for("serials", "serial", serial) if serial and not root else serial

    def cleaned(self, field: str, value: Any) -> Any:
        """A part of the document without secrets."""
        if field in _OWN_WORDS and not isinstance(value, dict):
            return value
        if isinstance(value, str):
            return self._text(field, value)
        if isinstance(value, list):
            return [self.cleaned(field, part) for part in value]
        if not isinstance(value, dict):
            return value
        if field == "observations":
            return {self._secrets.out_of(name): self._answer(answer) for name, answer in value.items()}
        if "id" in value and "serial" in value:
            value = {**value, "serial": self.serial_of(value["serial"], bool(value.get("root")))}
        return {self._secrets.out_of(k): self.cleaned(k, v) for k, v in value.items() if not self._is_private(k)}

    def _text(self, field: str, text: str) -> str:
        if field in ("name", "product") and "names" not in self._keep:
            text = without_owner(text)
        return self._secrets.out_of(text)

    def _answer(self, answer: Any) -> Any:
        """Words of the rulebook stay, even if somebody's computer is called `desktop`."""
        if isinstance(answer, list):
            return [self._answer(part) for part in answer]
        own = isinstance(answer, str) and _VOCABULARY.fullmatch(answer) is not None
        return answer if own else self.cleaned("", answer)

    def _is_private(self, field: str) -> bool:
        by_name = "names" not in self._keep and _NAME_FIELD.search(field) is not None
        return by_name or ("serials" not in self._keep and _SERIAL_FIELD.search(field) is not None)


def _ids(snapshots: list[Snapshot]) -> Iterator[str]:
    for snapshot in snapshots:
        yield from (controller.id for controller in snapshot.controllers)
        yield from (socket.id for socket in snapshot.sockets)
        yield from (device.id for device in snapshot.devices)
