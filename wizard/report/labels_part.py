"""Labels for sockets in words, as a table that can be printed and cut up."""

from collections.abc import Sequence

from wizard.bus.tree import BusTree
from wizard.diagnosis.texts import Texts
from wizard.plan.labels import Label
from wizard.report.blocks import Para, Row, Section, Table
from wizard.report.words import device_words


def labels_section(labels: Sequence[Label], tree: BusTree, texts: Texts) -> Section | None:
    """All labels; None where there is no socket to label."""
    if not labels:
        return None
    rows = tuple(Row((place_name(one, tree, texts), label_words(one, texts), one.socket)) for one in labels)
    head = (texts["arrange.label.place"], texts["arrange.label.says"], texts["arrange.label.socket"])
    return Section("labels", texts["arrange.label.title"], (Para(texts["arrange.label.intro"]), Table(head, rows)))


def place_name(label: Label, tree: BusTree, texts: Texts) -> str:
    """`rear 3`; of a hub its name and the number of the socket."""
    if label.hub is None:
        return f"{label.side or texts['arrange.label.pc']} {label.number}"
    known = tree.devices.get(label.hub)
    name = device_words(known) if known is not None else texts["arrange.label.new_hub"]
    return f"{name}, {label.number}"


def label_words(label: Label, texts: Texts) -> str:
    """What stands on the label: `sound only`, `leave free`."""
    if label.kind is None:
        return texts[f"arrange.label.advice.{label.advice}"]
    kind = texts[f"arrange.label.kind.{label.kind}"]
    return texts[f"arrange.label.advice.{label.advice}"].format(kind=kind)
