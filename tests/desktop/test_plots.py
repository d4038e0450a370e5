"""What the live pictures draw: intervals, threads of places, links of a chain, bars before and now."""

import pytest
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication

from wizard.bus.drive import DriveDocument, DriveLink
from wizard.bus.watching import WatchEvent
from wizard.desktop import theme
from wizard.desktop.widgets.before_after import Bar, BeforeAfter
from wizard.desktop.widgets.chain import Chain
from wizard.desktop.widgets.pace_plot import PacePlot
from wizard.desktop.widgets.text import Text
from wizard.desktop.widgets.time_line import MOST_THREADS, TimeLine, clock_words


def image(widget) -> QImage:
    QApplication.processEvents()
    return widget.grab().toImage()


def dots(picture: QImage, colour: str) -> int:
    """How many dots have about this colour."""
    wanted = QColor(colour)
    found = 0
    for x in range(picture.width()):
        for y in range(picture.height()):
            c = picture.pixelColor(x, y)
            near = abs(c.red() - wanted.red()) + abs(c.green() - wanted.green()) + abs(c.blue() - wanted.blue())
            found += near < 24
    return found


@pytest.fixture
def plot(shown):
    return shown(PacePlot(), 600, 300)


def test_a_longer_interval_stands_higher_and_a_later_one_further_right(plot):
    plot.clear(20)
    assert plot.place(5, 8).y() > plot.place(5, 80).y() > plot.place(5, 1900).y()
    assert plot.place(5, 8).x() < plot.place(6, 8).x()
    per_decade = plot.place(0, 10).y() - plot.place(0, 100).y()
    assert plot.place(0, 100).y() - plot.place(0, 1000).y() == pytest.approx(per_decade)


def test_intervals_beyond_the_scale_stay_inside_the_picture(plot):
    plot.clear(20)
    for ms in (0.0, 0.001, 1e9):
        assert plot.rect().contains(plot.place(10, ms).toPoint())


def test_a_minute_at_one_kilohertz_shows_its_one_long_interval(plot):
    plot.clear(60)
    plot.add(60, [(n / 1000, 900.0 if n == 30_000 else 1.0) for n in range(60_000)])
    assert len(plot.columns()) <= plot.width()
    assert max(high for _low, high in plot.columns().values()) == 900.0


def test_gaps_stand_out_only_once_they_were_judged_and_can_be_heard(plot):
    plot.clear(10)
    plot.add(10, [(1, 8.0), (2, 1900.0)])
    before = dots(image(plot), theme.colours().over)
    plot.judge(8.0, [(2, 1900.0)])
    assert dots(image(plot), theme.colours().over) > before
    assert plot.accessibleDescription() == "1 gaps, the longest 1900 ms"


def test_an_empty_plot_says_what_to_do(plot):
    plot.clear(10)
    empty = image(plot)
    plot.add(1, [(0.5, 8.0)])
    assert image(plot) != empty


@pytest.fixture
def line(shown):
    return shown(TimeLine(), 700, 400)


def test_a_thread_is_cut_while_its_device_is_away(line):
    line.add(
        [
            WatchEvent(t=10, kind="disconnect", where="1-1"),
            WatchEvent(t=15, kind="connect", where="1-1"),
            WatchEvent(t=30, kind="disconnect", where="1-1"),
        ]
    )
    line.move_to(40)
    assert line.away("1-1") == [(10, 15), (30, 40)]
    assert line.away("1-2") == []


def test_the_line_grows_with_time_and_stays_inside(line):
    line.add([WatchEvent(t=5, kind="reset", where="1-1")])
    early = line.x_of(5)
    line.move_to(3600)
    assert line.x_of(5) < early
    assert line.x_of(3600) <= line.width()


def test_a_mark_of_the_user_belongs_to_no_place(line):
    line.add([WatchEvent(t=5, kind="mark", by="user"), WatchEvent(t=6, kind="reset", where="1-1")])
    assert line.places() == ("1-1",)


def test_of_many_places_those_with_the_latest_events_are_drawn(line):
    line.add([WatchEvent(t=n, kind="reset", where=f"1-{n:02d}") for n in range(40)])
    assert len(line.places()) == MOST_THREADS
    assert "1-39" in line.places()
    assert "1-00" not in line.places()
    image(line)


def test_trouble_is_drawn_in_another_colour_than_coming_and_going(line):
    line.add([WatchEvent(t=5, kind="connect", where="1-1")])
    assert dots(image(line), theme.colours().over) == 0
    line.add([WatchEvent(t=6, kind="over_current", where="1-1")])
    assert dots(image(line), theme.colours().over) > 2


@pytest.mark.parametrize(("seconds", "words"), [(0, "0:00"), (65.4, "1:05"), (7265, "2:01:05")])
def test_a_moment_is_told_in_minutes_and_hours(seconds, words):
    assert clock_words(seconds) == words


def test_a_chain_says_each_link_in_words_and_what_follows_from_a_broken_one(shown):
    links = (
        DriveLink(link="driver", state="ok", found="uas.", follows="Not told while it holds."),
        DriveLink(link="file_system", state="fails", found="<b>None</b>.", follows="Copy first.", signs=("io_error",)),
        DriveLink(link="mounted", state="unknown", found="?"),
    )
    chain = shown(Chain(DriveDocument(device="1-1", links=links)))
    told = [t.text() for t in chain.findChildren(Text)]
    assert "A driver takes it: yes" in told
    assert "A file system is known: no, the chain breaks here" in told
    assert "<b>None</b>." in told
    assert "Copy first." in told
    assert "Not told while it holds." not in told
    assert "Its files can be reached: not known" in told
    picture = image(chain)
    assert dots(picture, theme.colours().over) > 2
    assert dots(picture, theme.colours().room) > 2


def test_bars_before_and_now_share_one_scale_and_unknown_ones_are_not_drawn(shown):
    pair = shown(BeforeAfter("Supply", Bar(1300, 900, "over", "overdrawn"), Bar(None, 900, "unknown", "unknown")))
    scale = pair.bars.scale()
    assert 1300 * scale == pytest.approx(pair.bars.width() - 4)
    picture = image(pair.bars)
    assert dots(picture, theme.colours().over) > 12
    assert dots(picture, theme.colours().unknown) == 0
    assert pair.accessibleDescription() == "overdrawn; unknown"


def test_hours_of_events_and_ever_new_places_do_not_fill_the_memory(line):
    from wizard.desktop.widgets.time_line import KEPT, MOST_PLACES

    line.add([WatchEvent(t=n / 10, kind="reset", where="1-1") for n in range(KEPT * 3)])
    line.add([WatchEvent(t=1000 + n, kind="reset", where=f"2-{n}") for n in range(MOST_PLACES * 2)])
    assert len(line._by_place) == MOST_PLACES
    assert max(map(len, line._by_place.values())) <= KEPT
