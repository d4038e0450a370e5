"""What a Linux tree tells of the machine: board, firmware, kernel, distribution. Knows no USB.

Serial numbers and the host's name stand beside these files and are not read.
"""

from wizard.bus.model import System
from wizard.observe.sysfs.tree import Tree, read_one
from wizard.observe.words import text_of

_BOARD = "sys/class/dmi/id"
_MODEL = ("proc/device-tree/model", "sys/firmware/devicetree/base/model")
_PLACEHOLDERS = frozenset(
    # What firmware says when its maker filled in nothing: common practice (no source)
    {"to be filled by o.e.m.", "default string", "system manufacturer", "system product name", "none", "n/a"}
)


def read_system(tree: Tree) -> System:
    """System facts; whatever the tree does not hold is None. `os` is given only where the tree shows Linux."""
    kernel = _kernel(_text(tree, "proc/version"))
    model = next((text for path in _MODEL if (text := _text(tree, path))), None)
    return System(
        os="linux" if kernel or tree.is_folder("sys/devices") else None,
        version=_distribution(tree),
        kernel=kernel,
        board_maker=_first(tree, "board_vendor", "sys_vendor"),
        board_model=_first(tree, "board_name", "product_name") or model,
        firmware_version=_first(tree, "bios_version"),
        firmware_date=_first(tree, "bios_date"),
    )


def _text(tree: Tree, path: str) -> str | None:
    reading = read_one(tree, path)
    return (text_of(reading) or None) if isinstance(reading, bytes) else None


def _first(tree: Tree, *names: str) -> str | None:
    """The first of these board facts that says something."""
    for name in names:
        text = _text(tree, f"{_BOARD}/{name}")
        if text is not None and text.lower() not in _PLACEHOLDERS:
            return text
    return None


def _kernel(banner: str | None) -> str | None:
    """`6.1.0-13-amd64` from `Linux version 6.1.0-13-amd64 (…) …`."""
    words = (banner or "").split()
    return words[2] if len(words) > 2 and words[:2] == ["Linux", "version"] else None


def _distribution(tree: Tree) -> str | None:
    """PRETTY_NAME of os-release (man 5 os-release)."""
    for path in ("etc/os-release", "usr/lib/os-release"):
        reading = read_one(tree, path)
        if not isinstance(reading, bytes):
            continue
        for line in reading.splitlines():
            name, _, value = line.partition(b"=")
            if name.strip() == b"PRETTY_NAME":
                return text_of(value.strip().strip(b"\"'")) or None
    return None
