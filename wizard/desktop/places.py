"""The names of the places in the window: the steps of the wizard, in order, and what can be opened beside them.

Knows nothing else, so that the window can stand before anything heavy is loaded.
"""

from typing import Literal

Page = Literal["trouble", "look", "ledger", "questions", "findings", "plan", "again", "report"]
PAGES: tuple[Page, ...] = ("trouble", "look", "ledger", "questions", "findings", "plan", "again", "report")

Aside = Literal["watch", "pace", "drive", "describe", "fit", "labels", "exports"]
ASIDES: tuple[Aside, ...] = ("watch", "pace", "drive", "describe", "fit", "labels", "exports")
"""What stands beside the steps: opened from one, done with or left, and back to where one was."""

Place = Page | Aside
