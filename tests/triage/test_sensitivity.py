"""The span of places under other weights: held against weights drawn, and against every corner."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from survey.triage import rule
from survey.triage.rule import PARTS, Facts, Seen, Weights
from survey.triage.sensitivity import FRONT, WITHIN, Span, can_lead, spans
from tests.triage.test_rule import TODAY, facts_of_any_kind

weight = st.integers(0, 80)
weights_of_any_kind = st.tuples(*[weight] * len(PARTS)).filter(any).map(lambda w: Weights(*w))
# Ten times the department's weights, so that what is drawn between is fine.
FINE = 10


def tie(facts: Facts, index: int):
    return (*rule.place_key(facts, rule.score(facts, Weights()))[1:], index)


def places(rows: list[Facts], weights: Weights) -> list[int]:
    """By the rule itself: the place of each row."""
    order = sorted(
        range(len(rows)),
        key=lambda row: (*rule.place_key(rows[row], rule.score(rows[row], weights)), row),
    )
    return [order.index(row) + 1 for row in range(len(rows))]


def spans_of(rows: list[Facts], weights: Weights) -> list[Span]:
    scores = [rule.score(facts, weights) for facts in rows]
    return spans(scores, [tie(facts, row) for row, facts in enumerate(rows)], weights)


def near(weights: Weights, shares: list[float]) -> Weights:
    """Whole weights as near to these shares of FINE times the weights as the box allows."""
    drawn = {}
    for part, share in zip(PARTS, shares, strict=True):
        own = FINE * getattr(weights, part)
        low, high = int(np.ceil(own * (1 - WITHIN))), int(np.floor(own * (1 + WITHIN)))
        drawn[part] = min(max(round(own * share), low), high)
    return Weights(**drawn)


share = st.floats(1 - WITHIN, 1 + WITHIN)


@given(
    st.lists(facts_of_any_kind, min_size=1, max_size=7),
    weights_of_any_kind,
    st.lists(st.lists(share, min_size=5, max_size=5), min_size=1, max_size=4),
)
def test_no_weights_of_the_box_take_a_row_out_of_its_span(rows, weights, drawn):
    found = spans_of(rows, weights)
    for shares in drawn:
        for place, span in zip(places(rows, near(weights, shares)), found, strict=True):
            assert span.best <= place <= span.worst
    for place, span in zip(places(rows, weights), found, strict=True):
        assert span.best <= place <= span.worst


def test_thousands_of_weights_drawn_keep_every_row_of_a_long_queue_in_its_span():
    random = np.random.default_rng(1931)
    rows = some_rows(random, 24)
    weights = Weights()
    found = spans_of(rows, weights)
    measures = np.array(
        [[float(line.measure) for line in rule.score(f, weights).lines] for f in rows]
    )
    firm = [row for row, span in enumerate(found) if span.worst <= FRONT]
    assert firm and any(not span.is_firm for span in found)
    own = np.array([getattr(weights, part) for part in PARTS])
    reached = np.array([places(rows, weights)] * 2)
    for _ in range(4000):
        # At the corners as often as between them: there the places are reached.
        shares = random.uniform(1 - WITHIN, 1 + WITHIN, 5)
        if random.random() < 0.5:
            shares = random.choice([1 - WITHIN, 1 + WITHIN], 5)
        exact = measures @ (own * shares / (own * shares).sum())
        order = np.argsort(-exact, kind="stable")
        place = np.empty(len(rows), dtype=int)
        place[order] = np.arange(1, len(rows) + 1)
        reached = np.array([np.minimum(reached[0], place), np.maximum(reached[1], place)])
    for row, span in enumerate(found):
        assert span.best <= reached[0][row] and reached[1][row] <= span.worst
    for shares in product((1 - WITHIN, 1 + WITHIN), repeat=5):
        for row, place in enumerate(places(rows, near(weights, list(shares)))):
            assert found[row].best <= place <= found[row].worst
    # It is a bound, but no idle one: mostly the place next to the one reached.
    too_wide = [
        (reached[0][row] - span.best) + (span.worst - reached[1][row])
        for row, span in enumerate(found)
    ]
    assert np.median(too_wide) <= 2


@given(st.lists(st.floats(-1, 1), min_size=5, max_size=5), weights_of_any_kind, st.integers(0, 1))
@settings(max_examples=200)
def test_solved_weight_by_weight_it_is_the_best_of_all_corners(difference, weights, need):
    own = np.array([getattr(weights, part) for part in PARTS], dtype=float)
    d = np.array(difference)
    slack = np.abs(d - np.median(d)).sum() + (d != 0).sum() if d.any() else 0.0
    corners = [
        1000 * (d * own * shares).sum() / (own * shares).sum() + slack - need
        for shares in (np.array(corner) for corner in product((0.8, 1.2), repeat=5))
    ]
    if abs(max(corners)) > 1e-3:
        assert can_lead(d[np.newaxis], np.array([need]), weights)[0] == (max(corners) >= 0)


@given(st.lists(facts_of_any_kind, max_size=6), weights_of_any_kind, st.randoms())
def test_the_order_in_which_rows_come_changes_no_span(rows, weights, random):
    order = list(range(len(rows)))
    random.shuffle(order)
    scores = [rule.score(facts, weights) for facts in rows]
    ties = [tie(facts, row) for row, facts in enumerate(rows)]
    straight = spans(scores, ties, weights)
    shuffled = spans([scores[i] for i in order], [ties[i] for i in order], weights)
    assert [straight[i] for i in order] == shuffled


def test_rows_alike_in_all_that_counts_never_change_places():
    rows = [Facts(TODAY, accession_number=number, grade="poor") for number in "ABC"]
    assert [(one.best, one.worst) for one in spans_of(rows, Weights())] == [(1, 1), (2, 2), (3, 3)]


def test_a_row_that_is_worse_in_every_part_always_stands_before():
    fair = Facts(TODAY, accession_number="A", grade="good", significance="low")
    tear = Seen("t", "Tear", "support-structure", "damage", "overall", "severe")
    poor = replace(fair, accession_number="B", grade="poor", seen=(tear,), significance="high")
    assert [(one.best, one.worst) for one in spans_of([poor, fair], Weights())] == [(1, 1), (2, 2)]


def test_rows_that_weights_can_exchange_are_said_to_depend_on_them():
    worn = Facts(TODAY, accession_number="A", grade="unstable", significance="low")
    dear = Facts(TODAY, accession_number="B", grade="good", significance="exceptional")
    weights = Weights(risk=40, loss=0, significance=48, need=0, readiness=0)
    for span in spans_of([worn, dear], weights):
        assert (span.best, span.worst) == (1, 2)
        assert span.sentence == (
            "Depends on the weights: between place 1 and 2 of 2 under any weights within ±20 %."
        )


@pytest.mark.parametrize(
    ("span", "is_firm", "words"),
    [
        (Span(1, 1, 30), True, "Firm: place 1 under any weights within ±20 %."),
        (
            Span(2, 10, 30),
            True,
            "Firm: would still be among the first 10 under any weights within ±20 %"
            " (between place 2 and 10).",
        ),
        (
            Span(11, 14, 30),
            True,
            "Firm: would not be among the first 10 under any weights within ±20 %"
            " (between place 11 and 14).",
        ),
        (
            Span(4, 14, 30),
            False,
            "Depends on the weights: between place 4 and 14 of 30 under any weights within ±20 %.",
        ),
        (
            Span(2, 5, 9),
            False,
            "Depends on the weights: between place 2 and 5 of 9 under any weights within ±20 %.",
        ),
    ],
)
def test_a_span_is_said_in_words(span, is_firm, words):
    assert span.is_firm == is_firm
    assert span.sentence == words


def test_no_rows_have_no_spans_and_weights_of_zero_are_refused():
    assert spans([], [], Weights()) == []
    with pytest.raises(ValueError, match="All weights are zero"):
        spans([], [], Weights(0, 0, 0, 0, 0))


def some_rows(random: np.random.Generator, number: int) -> list[Facts]:
    return [
        Facts(
            TODAY,
            accession_number=f"{row:03d}",
            grade=str(random.choice(sorted(rule.GRADE))),
            seen=tuple(
                Seen(
                    f"{row}-{one}",
                    "Tear",
                    str(random.choice(sorted(rule.TENDENCY))),
                    extent=str(random.choice(sorted(rule.EXTENT))),
                    severity=str(random.choice(sorted(rule.SEVERITY))),
                )
                for one in range(int(random.integers(0, 4)))
            ),
            significance=str(random.choice(sorted(rule.SIGNIFICANCE))),
            needs=(rule.Needed("loan", "Coasts", TODAY + days(random)),)
            if random.random() < 0.4
            else (),
            lights=frozenset(random.choice(rule.LIGHTS, 3).tolist()),
            space=bool(random.random() < 0.3),
        )
        for row in range(number)
    ]


def days(random: np.random.Generator) -> timedelta:
    return timedelta(days=int(random.integers(-10, 200)))
