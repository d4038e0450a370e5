"""The bus as a tree: what hangs on what, in plain words, with a tick for what misbehaves."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTreeWidget, QTreeWidgetItem, QWidget

from wizard.bus.model import Device, Snapshot
from wizard.bus.tree import BusTree
from wizard.desktop import theme
from wizard.report.clean import one_line
from wizard.report.words import controller_words, device_words, speed_words


class BusView(QTreeWidget):
    """A snapshot as a tree. Emits the ids of the ticked devices when the user changes one."""

    ticked = Signal(tuple)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setColumnCount(3)
        self.setHeaderLabels([self.tr("What hangs where"), self.tr("Speed"), self.tr("Current")])
        self.setAccessibleName(self.tr("What hangs where; tick what misbehaves"))
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setUniformRowHeights(True)
        self.setIndentation(theme.px(1.1))
        self.setAlternatingRowColors(True)
        head = self.header()
        head.setStretchLastSection(False)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(2, QHeaderView.ResizeMode.ResizeToContents)
        self._items: dict[str, QTreeWidgetItem] = {}
        self._tickable: dict[str, QTreeWidgetItem] = {}
        self.itemChanged.connect(self._changed)

    def show_snapshot(self, snapshot: Snapshot) -> None:
        """Show another snapshot."""
        self.blockSignals(True)
        self.clear()
        self._items, self._tickable = {}, {}
        tree = BusTree(snapshot)
        for controller in snapshot.controllers:
            words = controller_words(controller)
            item = QTreeWidgetItem([one_line(words[0].upper() + words[1:]), "", ""])
            self.addTopLevelItem(item)
            self._add_below(item, controller.id, tree)
        for device in snapshot.devices:
            if device.id not in self._items:
                self.addTopLevelItem(self._item(device, tree))
                self._add_below(self._items[device.id], device.id, tree)
        self.expandAll()
        self.blockSignals(False)

    def _add_below(self, top: QTreeWidgetItem, place: str, tree: BusTree) -> None:
        waiting = [(top, place)]
        while waiting:
            item, parent = waiting.pop()
            for device in tree.children(parent):
                if device.id not in self._items:
                    below = self._item(device, tree)
                    item.addChild(below)
                    waiting.append((below, device.id))
            self._add_free(item, parent, tree)

    def _add_free(self, item: QTreeWidgetItem, place: str, tree: BusTree) -> None:
        """One quiet line below a hub: the sockets in which nothing is plugged."""
        hub = tree.devices.get(place)
        if hub is None or hub.hub is None:
            return
        free, doubtful = free_sockets(hub, tree)
        parts = (
            self.tr("free: %1").replace("%1", ", ".join(free)) if free else "",
            self.tr("free, if led out at all: %1").replace("%1", ", ".join(doubtful)) if doubtful else "",
        )
        told = bool(tree.sockets_of(place)) or hub.hub.ports is not None
        words = "; ".join(part for part in parts if part) or (
            self.tr("free: none") if told else self.tr("free: unknown")
        )
        line = QTreeWidgetItem([words, "", ""])
        line.setFlags(Qt.ItemFlag.ItemIsEnabled)
        line.setForeground(0, self.palette().color(QPalette.ColorRole.PlaceholderText))
        line.setFont(0, theme.sized(self.font(), theme.SMALL))
        line.setToolTip(0, words)
        item.insertChild(0, line)
        line.setFirstColumnSpanned(True)

    def _item(self, device: Device, tree: BusTree) -> QTreeWidgetItem:
        if device.root:
            item = QTreeWidgetItem([self.tr("Bus %1").replace("%1", device.id.removeprefix("usb")), _rate(device), ""])
        else:
            socket = tree.sockets.get(device.id)
            place = f", {socket.place}" if socket is not None and socket.place else ""
            name = one_line(f"{device_words(device)} ({device.id}{place})")
            item = QTreeWidgetItem([name, _rate(device), self._current(device)])
            item.setCheckState(0, Qt.CheckState.Unchecked)
            self._tickable[device.id] = item
        self._items[device.id] = item
        return item

    def _current(self, device: Device) -> str:
        if device.max_power_ma is None:
            return self.tr("unknown")
        amount = f"{device.max_power_ma} mA"
        return self.tr("%1, own supply").replace("%1", amount) if device.self_powered else amount

    def show_ticks(self, devices: tuple[str, ...]) -> None:
        """Tick exactly these devices."""
        self.blockSignals(True)
        for name, item in self._tickable.items():
            item.setCheckState(0, Qt.CheckState.Checked if name in devices else Qt.CheckState.Unchecked)
        self.blockSignals(False)

    def _changed(self, item: QTreeWidgetItem, column: int) -> None:
        on = Qt.CheckState.Checked
        self.ticked.emit(tuple(name for name, item in self._tickable.items() if item.checkState(0) == on))


def free_sockets(hub: Device, tree: BusTree) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Numbers of the sockets of a hub that are free, and of those of a root hub that may not be led out of the
    computer: no system tells of every one. A socket is taken if either of its halves is."""
    known = tree.sockets_of(hub.id)
    if not known:
        ports = hub.hub.ports or 0 if hub.hub is not None else 0
        taken = {_number(d.id) for d in tree.children(hub.id)}
        numbers = tuple(str(n) for n in range(1, ports + 1) if str(n) not in taken)
        return ((), numbers) if hub.root else (numbers, ())
    empty = [s for s in known if not s.built_in and s.usable is not False]
    empty = [s for s in empty if s.id not in tree.devices and (s.peer is None or s.peer not in tree.devices)]
    sure = tuple(_number(s.id) for s in empty if s.usable or not hub.root)
    return sure, tuple(_number(s.id) for s in empty if not s.usable and hub.root)


def _number(socket: str) -> str:
    return socket.replace("-", ".").rsplit(".", 1)[-1]


def _rate(device: Device) -> str:
    """The figure alone; its name of the standard stands in the report."""
    return speed_words(device).partition(" (")[0]
