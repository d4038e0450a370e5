"""The chain from the bus to the files of one drive: where it holds, and where it breaks."""

from typing import Any

from wizard.bus.drive import DriveDocument
from wizard.bus.tree import BusTree
from wizard.desktop.flow import Flow
from wizard.desktop.live_page import LivePage
from wizard.desktop.page import Action
from wizard.desktop.session import Session
from wizard.desktop.widgets.chain import Chain
from wizard.desktop.widgets.pick import Pick
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.report.words import device_words


class DrivePage(LivePage):
    """Choose a drive, read its chain."""

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("From the bus to the files of a drive"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._flow = flow
        self._drives: list[tuple[str, str, str, bool]] = []
        self._opened = False
        self._has_bus = True
        self.pick = Pick()
        self.body.addWidget(self.column, 1)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Offer the drives of the look, the one the case is about first."""
        super().show_session(session, flow)
        look = session.look
        if self.state != "idle" or look is None:
            return
        tree = BusTree(look.snapshot)
        subject = session.case.subject if session.case is not None else ()
        ids = sorted(flow.engine.drive_devices(look.snapshot), key=lambda d: d not in subject)
        self._has_bus = look.has_bus
        self._drives = [(d, device_words(tree.devices[d]), d, True) for d in ids if d in tree.devices]
        self.show_state()

    def show_state(self) -> None:
        """What the page says in each state."""
        self.words.say(
            {
                "idle": self.tr(
                    "Between plugging a drive in and seeing its files lie several links. Portmend looks at each of "
                    "them, reading only; nothing is written to the drive."
                ),
                "running": self.tr("Looking…"),
                "ending": self.tr("Looking…"),
                "ended": self.tr("The first link that breaks is where to look."),
            }[self.state]
        )
        if self.state == "idle":
            self.pick = Pick()
            self.pick.changed.connect(self.acted)
            self.pick.offer(self._drives)
            if self._drives:
                self.column.fill(self.pick)
            elif not self._has_bus:
                self.column.fill(
                    heading(self.tr("There is no USB bus to read here")),
                    Text(self.tr("So nothing can be told of a drive. Answer the questions about it instead.")),
                )
            else:
                self.column.fill(
                    heading(self.tr("No drive was seen")),
                    Text(
                        self.tr(
                            "The look found nothing on this computer's bus that presents itself as a drive. If one is "
                            "plugged in, that is a finding: the chain breaks at its first link."
                        )
                    ),
                )
        elif self.state == "running":
            self.column.fill(Text(self.tr("A drive that answers slowly can take some seconds.")))

    def show_result(self, result: Any) -> None:
        """The chain."""
        assert isinstance(result, DriveDocument)
        self._opened = result.opened
        super().show_result(result)
        if not result.opened:
            self.show_trouble(self.tr("It could not be looked at"), result.notes)
            self.column.fill(Text(result.words))
            return
        self.column.fill(heading(result.words), Chain(result), *(quiet(note) for note in result.notes))

    def can_start(self) -> bool:
        """Whether a drive is picked."""
        return bool(self.pick.picked)

    def wanted(self) -> str:
        """The drive picked."""
        return self.pick.picked

    def can_take(self) -> bool:
        """Whether there is a chain, and it is this PC's."""
        return super().can_take() and self._opened

    def start_words(self) -> str:
        """Look."""
        return self.tr("&Look at this drive")

    def running_action(self) -> Action:
        """It takes no longer for being pressed."""
        return Action(self.tr("Looking…"), False)
