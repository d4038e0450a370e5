"""The chapter on sleep: what the system may put to sleep, what it did, and whether waking went wrong.

Knows a look; judges nothing beyond what the log and the system themselves call a failure.
"""

from collections.abc import Iterable

from wizard.bus.model import Device, PowerSaving
from wizard.case.documents import Look
from wizard.report.blocks import Block, Item, Listing, Para, Section
from wizard.report.words import device_words

WAKING_SIGNS = ("resume_failed", "link_power_failed")
"""Kinds of signs that tell of sleep gone wrong."""

_LINKS = {"l1": "L1", "u1": "U1", "u2": "U2"}


def sleep_section(look: Look, log_was_read: bool) -> Section | None:
    """What may sleep; None where the system does not tell of anything. Without a log no trouble can show in one."""
    savings = [(d, d.power_saving) for d in look.snapshot.devices if d.power_saving is not None and not d.root]
    troubles = tuple(_troubles(look))
    if not savings and not troubles:
        return None
    sleepers = tuple(Item(_words(device, saving)) for device, saving in savings if _rests(saving))
    others = sum(saving.may_sleep is False and not saving.link_states for _, saving in savings)
    blocks: list[Block] = []
    if sleepers:
        blocks += [Para("To save power the system may put to sleep, when nothing uses it:"), Listing(sleepers)]
    if others:
        blocks.append(
            Para(
                f"{others} more device{'s' if others > 1 else ''}: kept awake."
                if sleepers
                else "Nothing; all is kept awake."
            )
        )
    if troubles:
        blocks += [Para("Sleep that went wrong:"), Listing(troubles)]
    elif sleepers:
        told = "The log tells of no trouble with it." if log_was_read else "No log was read that could tell of trouble."
        blocks.append(Para(told, tone="quiet"))
    return Section("sleep", "What may sleep", tuple(blocks))


def _rests(saving: PowerSaving) -> bool:
    return bool(saving.may_sleep or saving.link_states)


def _words(device: Device, saving: PowerSaving) -> str:
    facts = []
    if saving.may_sleep:
        idle = f" after {saving.delay_ms / 1000:g} s" if saving.delay_ms else ""
        now = {"suspended": "asleep now", "active": "awake now", "error": "it FAILED to sleep or wake"}
        facts.append(f"may sleep{idle}")
        facts.append(now.get(saving.state or "", f"now {saving.state}" if saving.state else "state unknown"))
        if saving.has_slept is not None and saving.state != "suspended":
            facts.append("has slept before" if saving.has_slept else "has not slept so far")
    if saving.link_states:
        facts.append(f"its cable may rest ({', '.join(_LINKS.get(s, s) for s in saving.link_states)})")
    return f"{device.id}, {device_words(device)}: {'; '.join(facts)}"


def _troubles(look: Look) -> Iterable[Item]:
    for device in look.snapshot.devices:
        if device.power_saving is not None and device.power_saving.state == "error":
            yield Item(f"{device.id}: the system says that it failed to sleep or wake")
    for sign in look.signs:
        if sign.kind in WAKING_SIGNS:
            what = "failed to wake" if sign.kind == "resume_failed" else "its cable failed to change its resting state"
            yield Item(f"{sign.where}: {what}, {sign.count} time{'s' if sign.count != 1 else ''} in the log")
