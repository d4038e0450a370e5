"""The details of a fault of our own, in a file that a person can attach. Decides nothing about the fault."""

import platform
import sys
import tempfile
import traceback
from datetime import UTC, datetime
from pathlib import Path

import platformdirs
import pydantic

import wizard


def write_details(fault: BaseException) -> Path:
    """Write what happened into the user's log folder, or the temporary one if that fails. Returns the path.

    Raises OSError if there is nowhere to write at all.
    """
    now = datetime.now(UTC)
    lines = [
        f"Portmend {wizard.__version__}, Python {platform.python_version()}, pydantic {pydantic.VERSION}",
        f"{platform.platform()}",
        f"{now:%Y-%m-%d %H:%M:%S} UTC",
        f"command: {' '.join(sys.argv[1:2])}",
        "",
        "".join(traceback.format_exception(fault)),
    ]
    text = "\n".join(lines)
    try:
        folder = platformdirs.user_log_path("portmend", appauthor=False)
        folder.mkdir(parents=True, exist_ok=True)
        return _write(folder, now, text)
    except OSError:
        return _write(Path(tempfile.gettempdir()), now, text)


def _write(folder: Path, now: datetime, text: str) -> Path:
    with tempfile.NamedTemporaryFile(
        "w", encoding="utf-8", errors="backslashreplace", dir=folder, delete=False,
        prefix=f"portmend-fault-{now:%Y%m%d-%H%M%S}-", suffix=".txt",
    ) as file:  # fmt: skip
        file.write(text)
        return Path(file.name)
