"""Writes the two looks of every demo that is made here: run `python -m demos.make_demos` in `tests/`.

The stories, answers and logs are written by hand in `resources/demo/NAME/scenario.toml`; the puppet theatre's looks,
too, were made elsewhere and are left alone.
"""

import json
from collections.abc import Callable
from pathlib import Path

from demos import bench, booth, loggers, pier

from wizard.bus.model import Snapshot

HOME = Path(__file__).parents[2] / "resources" / "demo"

SCENES: dict[str, tuple[Callable[[], Snapshot], Callable[[], Snapshot]]] = {
    "radio-booth": (booth.before, booth.after),
    "repair-cafe": (bench.before, bench.after),
    "variety-library": (loggers.before, loggers.after),
    "village-observatory": (pier.before, pier.after),
}


def written(snapshot: Snapshot) -> str:
    """A look as it stands in its file."""
    return json.dumps(snapshot.model_dump(mode="json", by_alias=True, exclude_none=True), indent=1) + "\n"


def main() -> None:
    """Write them all."""
    for name, (before, after) in SCENES.items():
        (HOME / name).mkdir(parents=True, exist_ok=True)
        (HOME / name / "before.json").write_text(written(before()), "utf-8")
        (HOME / name / "after.json").write_text(written(after()), "utf-8")


if __name__ == "__main__":
    main()
