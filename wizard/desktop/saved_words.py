"""A saved case in words: what it is about and when it was begun, instead of the name of its file. Knows no Qt."""

import re
from datetime import datetime
from pathlib import Path

from wizard.bus.errors import PortmendError
from wizard.desktop.engine import Engine

_STAMP = re.compile(r"\d{4}-\d\d-\d\d-\d{6}")


def case_words(path: Path, title: str = "") -> str:
    """`It drops out, 9 March 2024, 18:15`; the name of the file where it tells no time, as when its user gave it."""
    stamp = _STAMP.match(path.stem)
    try:
        begun = datetime.strptime(stamp[0], "%Y-%m-%d-%H%M%S") if stamp is not None else None
    except ValueError:
        begun = None
    if begun is None:
        return ", ".join(w for w in (title, path.stem) if w)
    return ", ".join(w for w in (title, f"{begun.day} {begun:%B %Y}", f"{begun:%H:%M}") if w)


def last_case(engine: Engine) -> tuple[Path, str] | None:
    """The saved case that changed last, and what to call it; None where there is none that can be opened. Slow."""
    path = engine.last_case()
    if path is None:
        return None
    try:
        symptom = engine.open_case(path).symptom
    except PortmendError:
        return None
    return path, case_words(path, engine.texts.get(f"symptom.{symptom}.title") or "")
