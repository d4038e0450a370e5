"""Labels for sockets: what belongs where once the plan is carried out, and the same as a section to show or print."""

from wizard.bus.tree import BusTree
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.plan.arrange.options import Option
from wizard.plan.labels import Label
from wizard.plan.labels import socket_labels as labels_of
from wizard.report.blocks import Section
from wizard.report.labels_part import labels_section
from wizard.wiring.services import Services

__all__ = ["Label", "label_section", "socket_labels"]


def socket_labels(case: Case, option: Option | None = None) -> tuple[Label, ...]:
    """A label for every socket of a case's look, once an option of the planner is carried out; empty without a look."""
    return () if case.snapshot is None else labels_of(case.snapshot, told_setup(case), option)


def label_section(services: Services, case: Case, option: Option | None = None) -> Section | None:
    """The labels as a table for window, terminal and paper; None where there is nothing to label."""
    if case.snapshot is None:
        return None
    return labels_section(socket_labels(case, option), BusTree(case.snapshot), services.texts)
