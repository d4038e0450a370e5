"""How the set-up scripts speak: one plain line at a time.

Knows the one exception that means 'told to the user, no traceback'. Knows nothing of what went wrong.
"""

from __future__ import annotations


class PrepareError(Exception):
    """Something outside this checkout is in the way; the text says what it is and how to mend it."""


def say(text: str) -> None:
    """One line about what happens now, shown at once even when the output is a file."""
    print(f"Portmend: {text}", flush=True)
