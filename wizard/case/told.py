"""What a user's answers tell of the set-up: figures that belong to a place, put where the ledger looks for them."""

from wizard.budget.setup import Cable, Setup
from wizard.bus.tree import BusTree
from wizard.case.model import Case


def told_setup(case: Case) -> Setup:
    """The set-up of a case with the answers about the subject's hub and cable in it. What was told of a place by
    name stands before an answer."""
    if case.snapshot is None:
        return case.setup
    tree = BusTree(case.snapshot)
    subject = next((s for s in case.subject if s in tree.devices), None)
    setup = case.setup
    supply = _number(case, "hub_supply_ma")
    hub = _hub_above(tree, subject)
    if supply is not None and hub is not None and hub not in setup.supplies_ma:
        setup = setup.model_copy(update={"supplies_ma": {**setup.supplies_ma, hub: supply}})
    metres = _number(case, "cable_m")
    if metres is not None and subject is not None and subject not in setup.cables:
        setup = setup.model_copy(update={"cables": {**setup.cables, subject: Cable(m=metres)}})
    fed = case.observations.get("hub_power")
    if fed in ("bus", "self") and hub is not None and hub not in setup.hub_power:
        setup = setup.model_copy(update={"hub_power": {**setup.hub_power, hub: fed}})
    return _with_age(case, tree, subject, setup)


_AGES = {"old_chipset": "old", "recent_chipset": "recent"}
"""Answers to whose the controller is that tell how many endpoints it may keep."""


def _with_age(case: Case, tree: BusTree, subject: str | None, setup: Setup) -> Setup:
    """The age of the subject's controller, or of the only one there is."""
    answer = case.observations.get("controller_kind")
    age = _AGES.get(answer) if isinstance(answer, str) else None
    above = tree.controller_of(subject) if subject is not None else None
    only = tree.snapshot.controllers[0] if len(tree.snapshot.controllers) == 1 else None
    controller = above or (only if subject is None else None)
    if age is None or controller is None or controller.id in setup.controller_age:
        return setup
    return setup.model_copy(update={"controller_age": {**setup.controller_age, controller.id: age}})


def _number(case: Case, observation: str) -> float | None:
    value = case.observations.get(observation)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if 0 <= value < float("inf") else None


def _hub_above(tree: BusTree, subject: str | None) -> str | None:
    """The nearest external hub above the subject; without a subject the only external hub there is."""
    if subject is not None:
        return next((d.id for d in tree.path(subject)[1:] if not d.root), None)
    hubs = [d.id for d in tree.snapshot.devices if d.hub is not None and not d.root]
    return hubs[0] if len(hubs) == 1 else None
