"""When something stands out, so that a command ends with 1: the published meaning of that exit code."""

from wizard.budget.entry import Entry
from wizard.diagnosis.advice import Finding

DONE = 0
STANDS_OUT = 1
WRONG_INPUT = 2
NO_BUS = 3
OWN_FAULT = 4
INTERRUPTED = 130
"""Ended by Ctrl-C: 128 + 2, as shells have it (POSIX.1-2017, Shell & Utilities, 2.8.2 asks for more than 128)."""


def overdrawn_now(ledger: tuple[Entry, ...]) -> bool:
    """Whether a budget is over as things are used now; bus time at the greatest settings is only what may come."""
    return any(entry.state == "over" and entry.budget != "periodic_time" for entry in ledger)


def one_leads(causes: tuple[Finding, ...]) -> bool:
    """Whether the first cause has at least half of the belief and twice as much as the next."""
    if not causes:
        return False
    second = causes[1].share if len(causes) > 1 else 0.0
    return causes[0].share >= 0.5 and causes[0].share >= 2 * second
