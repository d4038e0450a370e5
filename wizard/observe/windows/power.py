"""Windows' power plan: whether USB devices may be suspended and whether links may save power. Reads `powercfg` text.

The names in brackets are localised, the numbers are not: 2a737441-… is the sub-group USB, 48e6b7a6-… selective
suspend, d4e98f31-… USB 3 link power (from memory), 501a4d13-… / ee12f906-… PCI Express link state (from memory).
"""

import re
from dataclasses import dataclass

_SETTING = re.compile(r"(?im)\b([0-9a-f]{8})-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\b")
_INDEX = re.compile(r"0x([0-9a-fA-F]{8})\s*$")
_SUSPEND, _LINK, _PCIE = "48e6b7a6", "d4e98f31", "ee12f906"


@dataclass(frozen=True)
class PowerPlan:
    """Index of each setting on mains and on battery, None where not told; 0 is off."""

    suspend_mains: int | None = None
    suspend_battery: int | None = None
    link_mains: int | None = None
    link_battery: int | None = None
    pcie_mains: int | None = None
    pcie_battery: int | None = None

    @property
    def may_suspend(self) -> bool | None:
        """Whether the plan lets USB devices be suspended, on mains or on battery."""
        told = [value for value in (self.suspend_mains, self.suspend_battery) if value is not None]
        return any(told) if told else None


def is_plan(head: str) -> bool:
    """Whether a text is such an answer."""
    return "2a737441-1930-4402-8d77-b2bebba308a3" in head.lower()


def plan_in(text: str) -> PowerPlan:
    """The settings in an answer of `powercfg /query`: the last two numbers of a setting are mains and battery."""
    found: dict[str, list[int]] = {}
    setting = ""
    for line in text.splitlines():
        match = _SETTING.search(line)
        if match:
            setting = match[1].lower()
        index = _INDEX.search(line)
        if index and not match:
            found.setdefault(setting, []).append(int(index[1], 16))
    return PowerPlan(
        *(value for name in (_SUSPEND, _LINK, _PCIE) for value in _pair(found.get(name, []))),
    )


def _pair(values: list[int]) -> tuple[int | None, int | None]:
    return (values[-2], values[-1]) if len(values) >= 2 else (None, None)


def plan_note(plan: PowerPlan) -> str | None:
    """The plan in a sentence; None if it tells nothing."""
    if plan.may_suspend is None:
        return None
    word = {None: "unknown", 0: "not allowed"}
    mains, battery = (word.get(value, "allowed") for value in (plan.suspend_mains, plan.suspend_battery))
    said = f"Power plan: to put idle USB devices to sleep is {mains} on mains, {battery} on battery."
    if plan.link_mains is not None:
        said += f" Saving power on fast USB links is {'off' if plan.link_mains == 0 else 'on'} on mains."
    return said
