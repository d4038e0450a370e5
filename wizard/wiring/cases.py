"""Cases begun, opened and saved, on a bus or on a demo."""

import sys
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Literal

from wizard.case.documents import Look
from wizard.case.model import Case, Platform
from wizard.store import cases as case_store
from wizard.store import demos as demo_store
from wizard.store.demos import Demo

Source = Literal["live", "captured", "described", "demo"]


def demo_names() -> tuple[str, ...]:
    """Names of all demo scenarios."""
    return demo_store.demo_names()


def load_demo(name: str) -> Demo:
    """One demo scenario. Raises BadInputError for an unknown name."""
    return demo_store.load_demo(name)


def demo_case(demo: Demo) -> Case:
    """A case begun on a demo's first look; its answers are left for whoever plays it."""
    return Case(
        symptom=demo.symptom,
        also=demo.also,
        subject=demo.subject,
        platform=demo.platform,
        snapshot=demo.before,
        log=demo.log,
        setup=demo.setup,
        source="demo",
        demo=demo.name,
    )


def this_platform() -> Platform:
    """The system this program runs on, in the words of a case."""
    if sys.platform.startswith("linux"):
        return "linux"
    return {"win32": "windows", "darwin": "macos"}.get(sys.platform, "other")


def new_case(
    symptom: str,
    also: Iterable[str] = (),
    look: Look | None = None,
    subject: Iterable[str] = (),
    source: Source | None = None,
) -> Case:
    """A case begun on this machine, or without a look."""
    platform = this_platform() if source in (None, "live") else None
    if look is not None and platform is None and look.snapshot.system.os == "linux":
        platform = "linux"
    return Case(
        symptom=symptom,
        also=tuple(also),
        subject=tuple(subject),
        platform=platform,
        snapshot=None if look is None else look.snapshot,
        source=source,
    )


def save_case(case: Case, path: Path | None = None) -> Path:
    """Save a case where it was, or under a new name among the saved cases; returns where. Raises BadInputError."""
    home = path or case_store.new_case_path(case.symptom, datetime.now().strftime("%Y-%m-%d-%H%M%S"))
    case_store.save_case(case, home)
    return home


def open_case(path: Path) -> Case:
    """The case in a file. Raises BadInputError, or NewerDocumentError, with one sentence."""
    return case_store.open_case(path)


def last_case() -> Path | None:
    """The saved case that changed last, if there is any."""
    saved = case_store.saved_cases()
    return saved[0] if saved else None
