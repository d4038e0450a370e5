"""Tables cut nothing off: every column stays, rows are as high as their text, what is too wide can be scrolled to."""

import pytest
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from wizard.desktop.widgets.table import Head, Row, Table

HEADS = (Head("State", 7), Head("Where", 8, shared=True), Head("Left over", 6), Head("How known", 7))


@pytest.fixture(params=[1.0, 1.5])
def text_size(request, qapp):
    """The user's text, plain and at 150 %."""
    before = QApplication.font()
    font = QFont(before)
    font.setPointSizeF(before.pointSizeF() * request.param)
    QApplication.setFont(font)
    yield request.param
    QApplication.setFont(before)


@pytest.fixture
def table(qtbot, text_size):
    table = Table(HEADS, "Budgets")
    qtbot.addWidget(table)
    table.show_rows(
        [
            Row(
                ("overdrawn", "Bus 1", "419.4 µs a frame too much", "use declared, limit unknown"),
                ("over",) + 3 * (None,),
            ),
            Row(("room", "M" * 90, "12 mA left", "measured"), ("room",) + 3 * (None,)),
            Row(("room", "A name of many words " * 6, "12 mA left", "measured"), ("room",) + 3 * (None,)),
        ]
    )
    table.show()
    return table


@pytest.mark.parametrize("width", [240, 620, 1500])
def test_no_cell_is_cut_whatever_the_width_and_the_size_of_text(table, width):
    table.resize(width, 2000)
    QApplication.processEvents()
    bar = table.horizontalScrollBar()
    for place in (0, bar.maximum()):
        bar.setValue(place)
        for row in range(3):
            # Qt's own reckoning of the height that the columns in sight need at their widths.
            assert table.sizeHintForRow(row) <= table.rowHeight(row)
    words = [
        (c, w) for row in table.rows.rows for c, text in enumerate(row.cells) for w in text.split() if len(w) <= 30
    ]
    assert all(table.fontMetrics().horizontalAdvance(word) < table.columnWidth(column) for column, word in words)
    assert table.fontMetrics().horizontalAdvance("M" * 30) < table.columnWidth(1)  # a longer word is broken there
    assert not any(table.isColumnHidden(column) for column in range(len(HEADS)))
    assert sum(map(table.columnWidth, range(len(HEADS)))) <= table.viewport().width() + bar.maximum()


def test_what_is_short_stands_in_two_lines_at_most(table):
    table.resize(620, 2000)
    QApplication.processEvents()
    assert table.rowHeight(0) < table.rowHeight(1)
    assert table.rowHeight(0) <= 2.5 * table.fontMetrics().height()


def test_where_there_is_room_the_table_does_not_scroll_sideways(table):
    table.resize(1500, 2000)
    QApplication.processEvents()
    assert table.horizontalScrollBar().maximum() == 0
