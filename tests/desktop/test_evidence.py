"""The balance of the evidence, and words explained one tap away."""

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QToolButton

from wizard.desktop.widgets.balance import Balance
from wizard.desktop.widgets.finding import finding_card
from wizard.desktop.widgets.terms import MOST, Terms, glossary, terms_in
from wizard.desktop.widgets.unfold import Unfold
from wizard.diagnosis.advice import Evidence, Finding
from wizard.diagnosis.texts import Texts
from wizard.store import resources


@pytest.fixture
def beam(qtbot):
    def make(for_, against):
        balance = Balance([(w, f"for {w}") for w in for_], [(w, f"against {w}") for w in against])
        qtbot.addWidget(balance)
        balance.resize(800, balance.sizeHint().height())
        return balance

    return make


def test_the_beam_leans_to_the_heavier_side_and_is_level_where_both_weigh_the_same(beam):
    assert beam([18, 10], [5]).lean() > 0
    assert beam([5], [18, 10]).lean() < 0
    assert beam([10], [10]).lean() == 0
    assert beam([], []).lean() == 0


def test_a_block_is_as_wide_as_its_weight_and_on_its_own_side(beam):
    balance = beam([18, 10, 5], [10])
    widths = [box.width() + 2 for box in balance.blocks(0)]
    assert widths[0] / widths[1] == pytest.approx(1.8, rel=0.01)
    assert all(box.right() < 0 for box in balance.blocks(0))
    assert all(box.left() > 0 for box in balance.blocks(1))
    assert balance.blocks(1)[0].width() == pytest.approx(balance.blocks(0)[1].width())


@pytest.mark.parametrize("weights", [[18], [18, 18, 18, 18, 18, 18], [500.0]])
def test_no_weight_falls_off_the_beam_or_out_of_the_picture(beam, weights):
    balance = beam(weights, [])
    turned = [balance._turn().mapRect(box) for box in balance.blocks(0)]
    assert all(balance.rect().adjusted(-1, -1, 1, 1).contains(box.toRect()) for box in turned)


def test_pointing_at_a_block_tells_its_reason_and_pointing_beside_it_nothing(beam):
    balance = beam([18, 10], [5])
    place = balance._turn().map(balance.blocks(1)[0].center())
    assert balance.reason_at(place) == "against 5"
    assert balance.reason_at(QPointF(1, 1)) == ""


def test_the_balance_can_be_heard(beam):
    assert beam([18, 10], []).accessibleDescription() == "For: 28 in 2 reasons. Against: 0 in 0 reasons."


def test_the_evidence_of_a_lesser_cause_is_one_tap_away(shown):
    finding = Finding(id="x", share=0.2, for_=(Evidence(on="a", weight=5, why="Because.", source="from memory"),))
    card = shown(finding_card(2, "A cause", "Words.", finding, lambda reason: reason.why, whole=False))
    balance = card.findChild(Balance)
    assert not balance.isVisible()
    card.findChild(Unfold).button.click()
    assert balance.isVisible()


def test_terms_are_found_as_words_and_not_inside_others():
    titles = {"bus": "bus", "hub": "hub", "slot": "slot"}
    assert terms_in("Two hubs on one bus; a business, a github.", titles) == ("hub", "bus")


def test_a_term_is_explained_in_one_tap_and_hostile_titles_stay_plain(shown):
    terms = shown(Terms({"hub": ("hub", "Makes <b>several</b> sockets out of one.")}))
    terms.explain(["A hub."])
    terms.findChild(QToolButton).click()
    assert terms.words.isVisible()
    assert terms.words.text() == "Hub: Makes <b>several</b> sockets out of one."
    assert terms.words.textFormat() == Qt.TextFormat.PlainText
    terms.findChild(QToolButton).click()
    assert not terms.words.isVisible()
    terms.explain(["Nothing of the trade."])
    assert not terms.isVisible()


def test_no_more_words_are_offered_than_a_line_holds(shown):
    known = glossary(Texts("en", resources.texts("en")))
    assert len(known) > MOST
    assert all(words.endswith(".") and len(words) < 260 for _title, words in known.values())
    terms = shown(Terms(known))
    terms.explain([" ".join(title for title, _words in known.values())])
    assert len(terms._shown) == MOST
