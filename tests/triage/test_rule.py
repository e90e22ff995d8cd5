"""The rule by itself: no database, no Django."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.triage.rule import (
    EXTENT,
    GRADE,
    LIGHTS,
    NATURE,
    NEED,
    PARTS,
    SEVERITY,
    SIGNIFICANCE,
    TENDENCY,
    Facts,
    Needed,
    Score,
    Seen,
    Weights,
    check_weights,
    hazards_now,
    place_key,
    score,
)

TODAY = date(2026, 3, 2)
SAID_SEVERITIES = ["slight", "moderate", "severe"]
SAID_EXTENTS = ["spot", "several", "edge", "area", "overall"]
GRADES = ["good", "fair", "poor", "unstable"]

seen_things = st.builds(
    Seen,
    id=st.uuids().map(str),
    term=st.sampled_from(["Tear", "Foxing", "Flaking", "Hinge"]),
    group=st.sampled_from(sorted(TENDENCY)),
    nature=st.sampled_from(sorted(NATURE)),
    extent=st.sampled_from(sorted(EXTENT)),
    severity=st.sampled_from(sorted(SEVERITY)),
    side=st.sampled_from(["recto", "verso"]),
    hazards=st.sampled_from([(), (), ("flaking-media",), ("active-mould", "wet")]),
)
dates = st.dates(TODAY - timedelta(days=90), TODAY + timedelta(days=900))
needs = st.builds(
    Needed,
    kind=st.sampled_from(sorted(NEED)),
    title=st.sampled_from(["Ink and water", "Northern coasts"]),
    due=st.none() | dates,
)
facts_of_any_kind = st.builds(
    Facts,
    today=st.just(TODAY),
    accession_number=st.sampled_from(["1990.1", "1990.2", "2001.17"]),
    grade=st.sampled_from(sorted(GRADE)),
    seen=st.lists(seen_things, max_size=8).map(tuple),
    raised=st.frozensets(st.sampled_from(["wet", "loose-parts"])),
    significance=st.sampled_from(sorted(SIGNIFICANCE)),
    needs=st.lists(needs, max_size=3).map(tuple),
    lights=st.frozensets(st.sampled_from(LIGHTS)),
    space=st.booleans(),
    materials=st.booleans(),
)
weight = st.integers(0, 100)
weights_of_any_kind = st.builds(
    Weights, risk=weight, loss=weight, significance=weight, need=weight, readiness=weight
).filter(lambda weights: any(getattr(weights, part) for part in PARTS))


def line_of(scored: Score, part: str):
    return next(line for line in scored.lines if line.part == part)


@given(facts_of_any_kind, weights_of_any_kind)
def test_the_score_lies_between_0_and_100_and_its_lines_add_up_to_it(facts, weights):
    scored = score(facts, weights)
    assert 0 <= scored.points <= 100
    assert scored.tenths == sum(line.tenths for line in scored.lines)
    assert sum(line.maximum_tenths for line in scored.lines) == 1000
    assert [line.part for line in scored.lines] == list(PARTS)


@given(facts_of_any_kind, weights_of_any_kind)
def test_no_line_passes_its_maximum_and_its_causes_add_up_to_it(facts, weights):
    for line in score(facts, weights).lines:
        assert 0 <= line.tenths <= line.maximum_tenths
        assert line.sentence.endswith(".")
        if line.causes:
            assert sum(cause.tenths for cause in line.causes) == line.tenths
        else:
            assert line.tenths == 0


@given(facts_of_any_kind, seen_things, weights_of_any_kind, st.data())
def test_a_severer_or_wider_damage_never_lowers_the_score(facts, seen, weights, data):
    low, high = sorted(data.draw(st.tuples(st.integers(0, 2), st.integers(0, 2))))
    narrow, wide = sorted(data.draw(st.tuples(st.integers(0, 4), st.integers(0, 4))))
    milder = replace(seen, severity=SAID_SEVERITIES[low], extent=SAID_EXTENTS[narrow])
    worse = replace(seen, severity=SAID_SEVERITIES[high], extent=SAID_EXTENTS[wide])
    before = score(replace(facts, seen=(*facts.seen, milder)), weights)
    after = score(replace(facts, seen=(*facts.seen, worse)), weights)
    assert after.tenths >= before.tenths


@given(facts_of_any_kind, seen_things, weights_of_any_kind)
def test_one_more_observation_never_lowers_the_score(facts, seen, weights):
    more = score(replace(facts, seen=(*facts.seen, seen)), weights)
    assert more.tenths >= score(facts, weights).tenths


@given(facts_of_any_kind, weights_of_any_kind, st.data())
def test_a_worse_grade_never_lowers_the_score(facts, weights, data):
    better, worse = sorted(data.draw(st.tuples(st.integers(0, 3), st.integers(0, 3))))
    before = score(replace(facts, grade=GRADES[better]), weights)
    assert score(replace(facts, grade=GRADES[worse]), weights).tenths >= before.tenths


@given(facts_of_any_kind, weights_of_any_kind, dates, st.integers(0, 400))
def test_a_nearer_date_never_lowers_the_score(facts, weights, due, days):
    far = Needed("loan", "Northern coasts", due)
    near = replace(far, due=due - timedelta(days=days))
    before = score(replace(facts, needs=(far,)), weights)
    assert score(replace(facts, needs=(near,)), weights).tenths >= before.tenths


@given(facts_of_any_kind, weights_of_any_kind, st.randoms())
def test_the_order_of_observations_and_needs_changes_nothing(facts, weights, random):
    seen, wanted = list(facts.seen), list(facts.needs)
    random.shuffle(seen)
    random.shuffle(wanted)
    shuffled = replace(facts, seen=tuple(seen), needs=tuple(wanted))
    assert score(shuffled, weights) == score(facts, weights)
    assert hazards_now(shuffled) == hazards_now(facts)


def test_of_two_needs_alike_but_in_kind_the_same_one_is_named_in_any_order():
    loan, shown = (Needed(kind, "Northern coasts") for kind in ("loan", "exhibition"))
    facts = Facts(today=date(2026, 3, 2))
    one, other = (
        score(replace(facts, needs=both), Weights()) for both in ((loan, shown), (shown, loan))
    )
    assert one == other


@given(st.lists(facts_of_any_kind, max_size=6), weights_of_any_kind, st.randoms())
def test_the_order_in_which_rows_come_changes_no_place(rows, weights, random):
    def ordered(facts_list):
        return sorted(place_key(facts, score(facts, weights)) for facts in facts_list)

    shuffled = list(rows)
    random.shuffle(shuffled)
    assert ordered(shuffled) == ordered(rows)


@given(facts_of_any_kind, seen_things)
def test_a_hazard_cannot_wait_unless_it_is_a_feature_of_making(facts, seen):
    now = {alarm.hazard for alarm in hazards_now(replace(facts, seen=(*facts.seen, seen)))}
    assert now >= facts.raised
    if seen.nature != "feature":
        assert now >= set(seen.hazards)


@given(facts_of_any_kind, weights_of_any_kind, st.integers(2, 9))
def test_only_the_proportion_of_weights_matters(facts, weights, times):
    scaled = Weights(**{part: times * getattr(weights, part) for part in PARTS})
    assert score(facts, scaled) == score(facts, weights)


def test_a_slight_hazard_in_one_place_is_still_act_now():
    mould = Seen("7", "Active mould", "biological", "damage", "spot", "slight", "verso",
                 ("active-mould",))  # fmt: skip
    (alarm,) = hazards_now(Facts(TODAY, seen=(mould,)))
    assert alarm.hazard == "active-mould"
    assert alarm.observation == "7"
    assert alarm.sentence == "Active mould, slight, one place, verso."


def test_a_hazard_both_seen_and_raised_is_told_once_with_its_observation():
    wet = Seen("7", "Wet", "support-structure", hazards=("wet",))
    alarms = hazards_now(Facts(TODAY, seen=(wet,), raised=frozenset({"wet", "loose-parts"})))
    assert [(alarm.hazard, alarm.observation) for alarm in alarms] == [
        ("loose-parts", None),
        ("wet", "7"),
    ]


def test_an_undamaged_well_kept_sheet_with_no_need_scores_only_its_significance():
    facts = Facts(TODAY, grade="good", significance="exceptional")
    scored = score(facts, Weights())
    assert scored.points == line_of(scored, "significance").points == 20.0


def test_the_worst_sheet_wanted_now_and_ready_scores_100():
    flaking = Seen("1", "Flaking", "media", "damage", "overall", "severe", "recto",
                   ("flaking-media",))  # fmt: skip
    facts = Facts(
        TODAY,
        grade="unstable",
        seen=(flaking,),
        significance="exceptional",
        needs=(Needed("loan", "Northern coasts", TODAY),),
        lights=frozenset(LIGHTS),
        space=True,
        materials=True,
    )
    assert score(facts, Weights()).points == 100.0


def test_worked_example_of_the_formulas_in_the_docstring():
    tear = Seen("t", "Tear", "support-structure", "damage", "edge", "severe")
    foxing = Seen("f", "Foxing", "discoloration", "unsure", "several", "slight")
    facts = Facts(
        TODAY,
        grade="fair",
        seen=(foxing, tear),
        significance="high",
        needs=(Needed("research", "Catalogue", TODAY + timedelta(days=98)),),
        lights=frozenset({"normal", "raking"}),
        space=True,
    )
    points = {line.part: line.points for line in score(facts, Weights()).lines}
    assert points == {
        "risk": 16.8,  # 35 × 3/5 × 1 × (1/2 + 3/10)
        "loss": 12.5,  # 20 × (1 − 2/5 × 15/16)
        "significance": 15.0,  # 20 × 3/4
        "need": 5.0,  # 15 × 3/5 × (1 − 84/168 × 9/10) = 4.95, shown to a tenth
        "readiness": 4.7,  # 10 × (1 + 2/5) / 3
    }


def test_equal_scores_stand_by_the_nearest_date_then_by_accession_number():
    base = Facts(TODAY, grade="poor")
    only_risk = Weights(risk=1, loss=0, significance=0, need=0, readiness=0)
    later = replace(base, accession_number="1", needs=(Needed("loan", "A", date(2026, 9, 1)),))
    sooner = replace(base, accession_number="9", needs=(Needed("loan", "B", date(2026, 5, 1)),))
    undated = replace(base, accession_number="2")
    last = replace(base, accession_number="3")
    rows = sorted([last, undated, later, sooner], key=lambda f: place_key(f, score(f, only_risk)))
    assert [facts.accession_number for facts in rows] == ["9", "1", "2", "3"]


def test_a_line_names_the_observation_the_need_and_the_date_that_caused_it():
    tear = Seen("t", "Tear", "support-structure", "damage", "edge", "severe", "verso")
    facts = Facts(
        TODAY, seen=(tear,), needs=(Needed("loan", "Northern coasts", date(2026, 4, 20)),)
    )
    scored = score(facts, Weights())
    assert line_of(scored, "risk").causes[0].observation == "t"
    assert (
        line_of(scored, "risk").sentence
        == "Tear, severe, along an edge, verso: would go on if left."
    )
    assert line_of(scored, "need").sentence == "Loan “Northern coasts”: 20 April 2026, in 7 weeks."


def test_a_date_that_has_passed_is_said_and_still_counts_in_full():
    facts = Facts(TODAY, needs=(Needed("exhibition", "Ink and water", date(2026, 2, 27)),))
    line = line_of(score(facts, Weights()), "need")
    assert line.tenths == line.maximum_tenths
    assert line.sentence == (
        "Exhibition “Ink and water”: 27 February 2026, passed 3 days ago. "
        "Give it a new date or take the need away."
    )


def test_what_was_not_said_is_named_as_such():
    tear = Seen("t", "Tear", "support-structure")
    scored = score(Facts(TODAY, grade="good", seen=(tear,)), Weights())
    assert "severity not said, counted as moderate" in line_of(scored, "risk").sentence
    assert "not assessed: counted as medium" in line_of(scored, "significance").sentence
    assert line_of(score(Facts(TODAY), Weights()), "risk").sentence == (
        "No overall grade was given: counted as fair."
    )


def test_an_amendments_remark_stands_with_the_cause():
    tear = Seen("t", "Tear", "support-structure", remark="Severity amended from slight.")
    scored = score(Facts(TODAY, grade="good", seen=(tear,)), Weights())
    assert (
        line_of(scored, "loss").causes[0].sentence.endswith("recto. Severity amended from slight.")
    )


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        (Weights(0, 0, 0, 0, 0), "All weights are zero"),
        (Weights(risk=-1), "cannot be below zero"),
        (Weights(risk=1001), "at most 1000"),
    ],
)
def test_weights_that_say_nothing_are_refused_with_a_sentence(weights, words):
    with pytest.raises(ValueError, match=words):
        check_weights(weights)
    with pytest.raises(ValueError, match=words):
        score(Facts(TODAY), weights)
