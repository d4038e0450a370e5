"""Typical devices: whether one more of a kind fits on a bus, and set-ups that are described instead of seen.

For the window's page 'Describe by hand': begin with `describe`, plug with `plug_kind` and `Described.with_hub`, take
out with `Described.without`, and go on as after a look with `look_described`, whose snapshot and set-up make a case.
"""

from collections.abc import Sequence
from pathlib import Path

from wizard.budget.described import Described, Host, HubMade, described
from wizard.budget.fit import MOST as MOST_TO_FIT
from wizard.budget.fit import does_it_fit
from wizard.budget.kinds import DeviceKind
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Cable, Setup
from wizard.budget.what_if import Bench
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.case.documents import FitDocument, KindChoice, Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.report.blocks import Section
from wizard.report.fit_part import fit_section
from wizard.wiring.cases import open_case
from wizard.wiring.services import Services

__all__ = ["MOST_TO_FIT", "Described", "FitDocument", "Host", "HubMade", "KindChoice"]

DESCRIBED_NOTE = "This set-up was described by hand. Its devices are typical ones, and all their figures are assumed"


def kind_choices(services: Services) -> tuple[KindChoice, ...]:
    """All typical devices, in the order of their table."""
    return tuple(_choice(services, kind) for kind in services.kinds)


def fit(services: Services, snapshot: Snapshot, setup: Setup, kind: str, most: int = MOST_TO_FIT) -> FitDocument:
    """How many more of a kind fit on a bus, and where best. Raises BadInputError for a kind that is not there."""
    chosen = known_kind(services, kind)
    choice = _choice(services, chosen)
    found = does_it_fit(Bench.of(snapshot, setup), lambda socket: chosen.to_plug(socket, choice.title), most)
    return FitDocument(kind=choice, fit=found)


def fit_answer_section(services: Services, found: FitDocument, snapshot: Snapshot) -> Section:
    """The answer in words, for window, terminal and report; `snapshot` is the bus that was asked about."""
    return fit_section(found.fit, found.kind.title, found.kind.source, BusTree(snapshot), services.texts)


def describe(hosts: Sequence[Host], os: str | None = None) -> Described:
    """A set-up to begin with: hosts with empty sockets. Raises BadInputError for a host that can't be."""
    return described(hosts, os)


def plug_kind(
    services: Services, at: Described, socket: str, kind: str, name: str | None = None, cable: Cable | None = None
) -> Described:
    """A typical device in a socket, under the name of its kind or one's own. Raises BadInputError."""
    chosen = known_kind(services, kind)
    return at.with_device(socket, chosen, name or _choice(services, chosen).title, cable)


def described_of(case: Case) -> Described | None:
    """The described set-up that a case holds, to go on with; None if its snapshot was seen, or it has none."""
    roots = [d for d in case.snapshot.devices if d.root] if case.snapshot is not None else []
    if case.snapshot is None or not roots or any(d.typical is None for d in roots):
        return None
    return Described(snapshot=case.snapshot, setup=case.setup)


def look_described(at: Described) -> Look:
    """The look of a described set-up: its ledger, and a note that says what it rests on."""
    return Look(snapshot=at.snapshot, ledger=build_ledger(at.snapshot, at.setup), notes=(DESCRIBED_NOTE,))


def known_kind(services: Services, wanted: str) -> DeviceKind:
    """The kind with that id. Raises BadInputError if there is none."""
    found = next((k for k in services.kinds if k.id == wanted), None)
    if found is None:
        raise BadInputError(wanted, "there is no such kind of device", "'portmend fit' lists the kinds.")
    return found


def _choice(services: Services, kind: DeviceKind) -> KindChoice:
    title = services.texts.get(f"kind.{kind.id}.title") or kind.id
    return KindChoice(id=kind.id, title=title, means=kind.means, source=kind.source)


def bus_of_case(path: Path) -> tuple[Snapshot, Setup]:
    """Snapshot and set-up of a saved case. Raises BadInputError if it can't be read or holds no bus."""
    case = open_case(path)
    if case.snapshot is None:
        raise BadInputError(str(path), "the case holds no look at a bus", "Look first, or use --root.")
    return case.snapshot, told_setup(case)
