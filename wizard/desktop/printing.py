"""Labels for sockets on paper: a PDF with one label beside the other, and lines to cut along. Knows no budgets."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPageLayout, QPageSize, QPainter, QPdfWriter, QPen

from wizard.bus.errors import BadInputError
from wizard.report.clean import one_line, shortened

ACROSS, DOWN = 3, 14
"""Labels on a sheet of A4: strips of about 6 by 2 cm, to be wound round a cable or put beside a socket."""

LabelWords = tuple[str, str]
"""Where the socket is, and what belongs there."""


def sheets(labels: Sequence[LabelWords]) -> int:
    """How many sheets they take."""
    return -(-len(labels) // (ACROSS * DOWN))


def write_labels(labels: Sequence[LabelWords], path: Path) -> Path:
    """Write the labels as a PDF; returns where. Raises BadInputError where the file can't be written."""
    paper = QBuffer()
    paper.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(paper)
    writer.setTitle("Portmend")
    writer.setPageLayout(
        QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, QMarginsF(12, 12, 12, 12))
    )
    painter = QPainter(writer)
    wide, high = writer.width() / ACROSS, writer.height() / DOWN
    for number, words in enumerate(labels):
        place = number % (ACROSS * DOWN)
        if number and not place:
            writer.newPage()
        draw_label(painter, QRectF(place % ACROSS * wide, place // ACROSS * high, wide, high), words)
    painter.end()
    try:
        path.write_bytes(paper.data().data())
    except OSError as error:
        raise BadInputError(str(path), "it can't be written", "Choose another folder.") from error
    return path


def draw_label(painter: QPainter, box: QRectF, words: LabelWords) -> None:
    """One label: the place small at the top, what belongs there large below it, dashes to cut along."""
    unit = box.height() / 10
    painter.setPen(QPen(Qt.GlobalColor.gray, unit / 12, Qt.PenStyle.DashLine))
    painter.drawRect(box)
    painter.setPen(Qt.GlobalColor.black)
    inside = box.adjusted(unit, unit, -unit, -unit)
    for text, high, bold, top in ((words[0], 2.2, False, 0.0), (words[1], 3.4, True, 3.2)):
        font = QFont()
        font.setPixelSize(max(1, round(unit * high * 0.8)))
        font.setBold(bold)
        painter.setFont(font)
        row = QRectF(inside.left(), inside.top() + unit * top, inside.width(), unit * high * 1.3)
        fitted = QFontMetricsF(font, painter.device()).elidedText(
            one_line(shortened(text)), Qt.TextElideMode.ElideRight, row.width()
        )
        painter.drawText(row, int(Qt.AlignmentFlag.AlignVCenter), fitted)
