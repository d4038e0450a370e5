"""Writing a file whole or not at all. Knows files and nothing about what is in them."""

import contextlib
import os
import shutil
import tempfile
from pathlib import Path

from wizard.bus.errors import BadInputError


def write_whole(path: Path, data: bytes) -> None:
    """Put `data` into `path` in one move; the folder is made if need be.

    A new file is readable by its owner only (a case may hold serial numbers); an old one keeps its
    permissions. Raises BadInputError if it can't be done; whatever stood there before is still there.
    """
    try:
        target = path.resolve()  # through a link, so that the link stays one
        if target.is_dir():
            raise BadInputError(str(path), "there is a folder of that name", "Choose another name.")
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:60]}.", suffix=".new")
    except (OSError, ValueError) as failure:
        raise _refusal(path, failure) from failure
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, fresh)
        fresh.replace(target)
    except OSError as failure:
        raise _refusal(path, failure) from failure
    finally:
        fresh.unlink(missing_ok=True)
    _settle(target.parent)


def _refusal(path: Path, failure: OSError | ValueError) -> BadInputError:
    reason = failure.strerror if isinstance(failure, OSError) and failure.strerror else "the name is not possible"
    return BadInputError(
        str(path), f"it can't be saved ({reason})", "Choose another folder; what was there before is unchanged."
    )


def _settle(folder: Path) -> None:
    """Make the swap itself survive a power cut, where the system lets a folder be synced (Windows does not)."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
