"""The foot of the strip map: details of a place, and beside them what is tried or what the planner would do."""

from PySide6.QtWidgets import QHBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.strip_details import LINES as DETAILS_HIGH
from wizard.desktop.widgets.strip_details import StripDetails
from wizard.desktop.widgets.strip_panels import HIGH as PANEL_HIGH
from wizard.desktop.widgets.strip_panels import StagePanel, TrialPanel
from wizard.diagnosis.texts import Texts

SMALLER = 1.7
"""Lines of text that the foot of a small map does without."""
MOST_DETAILS, MOST_PANEL = 0.24, 0.42
"""Shares of the height of the map that the foot may take, without and with a panel."""
LEAST = 2.6
"""Lines of text below which nothing could be read there."""


class StripFoot(QWidget):
    """Details and panels side by side."""

    def __init__(self, texts: Texts, small: bool) -> None:
        super().__init__()
        self._less = SMALLER if small else 0.0
        self.details = StripDetails(texts)
        self.trial = TrialPanel()
        self.stage = StagePanel()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.px(0.35))
        row.addWidget(self.details, 3)
        row.addWidget(self.trial, 3)
        row.addWidget(self.stage, 3)

    def fit(self, height: int) -> None:
        """Take what is needed of a map so many pixels high: more while a panel stands here, never too much."""
        panels = any(not panel.isHidden() for panel in (self.trial, self.stage))
        wanted, share = (PANEL_HIGH, MOST_PANEL) if panels else (DETAILS_HIGH, MOST_DETAILS)
        high = min(theme.px(wanted - self._less), round(height * share))
        self.setFixedHeight(max(high, theme.px(LEAST)))
