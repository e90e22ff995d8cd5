"""From records to queues: which examination stands, what cannot wait, who stands where."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Observation, Recommendation
from survey.triage import models, queries, rule
from survey.vocabulary.models import Term
from tests.factories import (
    AmendmentFactory,
    LoanedObjectFactory,
    LoanFactory,
    NeedFactory,
    ObjectFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)

pytestmark = pytest.mark.django_db

RISK_ONLY = rule.Weights(risk=1, loss=0, significance=0, need=0, readiness=0)


@pytest.fixture
def mould() -> Term:
    return TermFactory(code="test-mould", name="Growing mould", hazards=["active-mould"])


def the_board() -> queries.Board:
    return queries.board(timezone.localdate())


def objects_in(board: queries.Board, key: queries.QueueKey) -> list[str]:
    return [placed.row.object.accession_number for placed in board.queues.get(key, ())]


def test_there_is_a_queue_for_each_studio_and_kind_of_work():
    paper = RecommendationFactory(examination=examined(), kind_of_work="treat")
    RecommendationFactory(examination=paper.examination, kind_of_work="rehouse")
    photograph = ObjectFactory(studio=Object.Studio.PHOTOGRAPHS)
    RecommendationFactory(examination=examined(object=photograph), kind_of_work="treat")
    assert list(the_board().queues) == [
        ("paper", "treat"),
        ("paper", "rehouse"),
        ("photographs", "treat"),
    ]


def test_a_loan_is_a_need_until_it_has_begun():
    today = timezone.localdate()
    row = RecommendationFactory(examination=examined())
    loan = LoanFactory(reference="L.1", title="Ink", first_day=today + timedelta(days=10))
    lent = LoanedObjectFactory(loan=loan, object=row.examination.object)

    def needs() -> tuple[rule.Needed, ...]:
        return the_board().by_key[row.pk].standing.facts.needs

    wanted = (rule.Needed("loan", "L.1, Ink", today + timedelta(days=10)),)
    assert needs() == wanted
    loan.first_day = today - timedelta(days=1)
    loan.save()
    assert needs() == ()
    loan.first_day = today + timedelta(days=10)
    loan.save()
    assert needs() == wanted
    lent.deleted_at = timezone.now()
    lent.save()
    assert needs() == ()


def test_the_worse_object_stands_first_and_places_count_from_1():
    better = RecommendationFactory(examination=examined(grade="fair"))
    worse = RecommendationFactory(examination=examined(grade="unstable"))
    placed = the_board().queues["paper", "treat"]
    assert [(one.place, one.of, one.row.recommendation) for one in placed] == [
        (1, 2, worse),
        (2, 2, better),
    ]


def test_only_the_latest_signed_examination_speaks_for_an_object():
    item = ObjectFactory()
    RecommendationFactory(examination=examined(30, object=item), kind_of_work="treat")
    RecommendationFactory(examination=examined(2, object=item), kind_of_work="monitor")
    assert list(the_board().queues) == [("paper", "monitor")]


def test_an_unsigned_examination_speaks_where_nothing_is_signed():
    RecommendationFactory(examination=examined(signed=False))
    (placed,) = the_board().queues["paper", "treat"]
    assert not placed.row.standing.examination.is_signed


def test_a_newer_unsigned_examination_does_not_replace_what_was_signed():
    item = ObjectFactory()
    RecommendationFactory(examination=examined(30, object=item), kind_of_work="treat")
    begun = examined(1, object=item, signed=False)
    RecommendationFactory(examination=begun, kind_of_work="monitor")
    board = the_board()
    assert list(board.queues) == [("paper", "treat")]
    assert board.queues["paper", "treat"][0].row.standing.newer == (begun,)


def test_a_hazard_goes_to_act_now_and_its_work_leaves_the_other_queues(mould):
    examination = examined(grade="good")
    work = RecommendationFactory(examination=examination)
    seen = ObservationFactory(examination=examination, term=mould)
    board = the_board()
    (urgent,) = board.act_now
    assert board.queues == {}
    assert urgent.hazards[0].alarm.hazard == "active-mould"
    assert urgent.hazards[0].alarm.observation == str(seen.id)
    assert [row.recommendation for row in urgent.rows] == [work]


def test_a_hazard_in_an_unsigned_examination_is_act_now_as_soon_as_it_comes_in(mould):
    item = ObjectFactory()
    examined(30, object=item)
    begun = examined(0, object=item, signed=False)
    ObservationFactory(examination=begun, term=mould)
    (urgent,) = the_board().act_now
    assert urgent.hazards[0].examination == begun


def test_a_hazard_raised_with_a_recommendation_is_act_now_without_an_observation():
    RecommendationFactory(examination=examined(), hazards=["unsafe-hanging"])
    (urgent,) = the_board().act_now
    assert urgent.hazards[0].alarm.hazard == "unsafe-hanging"
    assert urgent.hazards[0].alarm.observation is None


def test_a_hazardous_term_marked_as_a_feature_of_making_is_not_act_now(mould):
    ObservationFactory(examination=examined(), term=mould, nature=Observation.Nature.FEATURE)
    assert the_board().act_now == ()


def test_a_later_signed_examination_clears_a_hazard_and_says_when(mould):
    item = ObjectFactory()
    first = examined(30, object=item)
    ObservationFactory(examination=first, term=mould)
    later = examined(3, object=item)
    assert the_board().act_now == ()
    (cleared,) = queries.cleared()
    assert (cleared.object, cleared.hazard) == (item, "active-mould")
    assert (cleared.seen_at, cleared.cleared_by) == (first, later)


def test_a_later_unsigned_examination_does_not_clear_a_hazard(mould):
    item = ObjectFactory()
    ObservationFactory(examination=examined(30, object=item), term=mould)
    examined(3, object=item, signed=False)
    assert len(the_board().act_now) == 1
    assert queries.cleared() == []


def test_a_hazard_seen_again_later_is_not_told_as_cleared(mould):
    item = ObjectFactory()
    for days_ago in (30, 3):
        ObservationFactory(examination=examined(days_ago, object=item), term=mould)
    assert len(the_board().act_now) == 1
    assert queries.cleared() == []


def test_the_examination_that_first_did_not_see_the_hazard_is_the_one_that_cleared_it(mould):
    item = ObjectFactory()
    ObservationFactory(examination=examined(30, object=item), term=mould)
    clearing = examined(20, object=item)
    examined(10, object=item)
    (cleared,) = queries.cleared()
    assert cleared.cleared_by == clearing


def test_hazards_cleared_long_ago_are_not_told(mould):
    item = ObjectFactory()
    ObservationFactory(examination=examined(400, object=item), term=mould)
    examined(300, object=item)
    assert queries.cleared() == []
    long_ago = timezone.now() - timedelta(days=1000)
    assert len(queries.cleared(since=long_ago)) == 1


def test_a_hazard_raised_by_hand_is_cleared_too():
    item = ObjectFactory()
    RecommendationFactory(examination=examined(30, object=item), hazards=["wet"])
    examined(3, object=item)
    (cleared,) = queries.cleared(objects=[item.pk])
    assert cleared.hazard == "wet"


def test_work_marked_done_leaves_its_queue():
    work = RecommendationFactory(examination=examined())
    models.Readiness.objects.create(recommendation=work, done_at=timezone.now())
    assert the_board().queues == {}


def test_a_hazard_leaves_act_now_when_all_the_work_asked_for_is_done(mould):
    examination = examined()
    ObservationFactory(examination=examination, term=mould)
    first = RecommendationFactory(examination=examination)
    second = RecommendationFactory(examination=examination, kind_of_work="rehouse")
    models.Readiness.objects.create(recommendation=first, done_at=timezone.now())
    (urgent,) = the_board().act_now
    assert [row.recommendation for row in urgent.rows] == [second]
    models.Readiness.objects.create(recommendation=second, done_at=timezone.now())
    assert the_board().act_now == ()


def test_a_hazard_with_no_work_asked_for_stays_in_act_now(mould):
    ObservationFactory(examination=examined(), term=mould)
    (urgent,) = the_board().act_now
    assert urgent.rows == ()


def test_deleted_rows_count_for_nothing(mould):
    now = timezone.now()
    examination = examined()
    ObservationFactory(examination=examination, term=mould, deleted_at=now)
    RecommendationFactory(examination=examination, deleted_at=now)
    RecommendationFactory(examination=examined(deleted_at=now))
    RecommendationFactory(examination=examined(object=ObjectFactory(deleted_at=now)))
    board = the_board()
    assert (board.act_now, board.queues) == ((), {})


def test_a_signed_amendment_changes_the_score_and_is_named():
    examination = examined(grade="good")
    tear = ObservationFactory(examination=examination, severity="slight", extent="edge")
    RecommendationFactory(examination=examination)
    (before,) = the_board().queues["paper", "treat"]
    AmendmentFactory(
        examination=examination,
        subject=f"observation:{tear.id}",
        field="severity",
        before="slight",
        after="severe",
        signed_name="Ada Fenn",
    )
    (after,) = the_board().queues["paper", "treat"]
    assert after.row.score.tenths > before.row.score.tenths
    loss = after.row.score.lines[1]
    assert "Severity amended from slight to severe by Ada Fenn." in loss.causes[0].sentence


def test_an_amendment_to_a_feature_of_making_takes_the_hazard_away(mould):
    examination = examined()
    seen = ObservationFactory(examination=examination, term=mould)
    AmendmentFactory(
        examination=examination, subject=f"observation:{seen.id}", field="nature", after="feature"
    )
    assert the_board().act_now == ()


def test_a_hazard_that_an_amendment_adds_cannot_wait_either(mould):
    examination = examined(grade="good")
    added = {"term": mould.pk, "nature": "damage", "severity": "severe", "side": "verso"}
    AmendmentFactory(examination=examination, after={"observation": added}, signed_name="Ada Fenn")
    (row,) = the_board().act_now
    assert "Added by amendment by Ada Fenn." in str(row)
    # What a tablet kept as an amendment may hold anything.
    for strange in ({"term": []}, {"term": mould.pk, "nature": [], "side": 7}, "words", None):
        AmendmentFactory(examination=examination, after={"observation": strange})
    assert len(the_board().act_now) == 1


def test_readiness_counts_space_materials_and_the_lights_photographed():
    examination = examined()
    work = RecommendationFactory(examination=examination)
    models.Readiness.objects.create(recommendation=work, space=True)
    PhotographFactory(examination=examination, light="normal")
    PhotographFactory(examination=examination, light="raking", azimuth_deg=90)
    PhotographFactory(examination=examination, light="specular", trouble="It is cut off.")
    (placed,) = the_board().queues["paper", "treat"]
    assert placed.row.score.lines[4].sentence == (
        "Space found. Materials not yet at hand. "
        "Photographed under 2 of 5 lights; missing: transmitted, specular, ultraviolet."
    )


def test_equal_scores_stand_by_the_nearest_date_then_by_accession_number():
    models.Weights.objects.create(risk=1, loss=0, significance=0, need=0, readiness=0)
    today = timezone.localdate()
    for number in ("3", "1", "2"):
        RecommendationFactory(examination=examined(object__accession_number=number))
    NeedFactory(object=Object.objects.get(accession_number="3"), due=today + timedelta(days=60))
    assert objects_in(the_board(), ("paper", "treat")) == ["3", "1", "2"]


def test_the_newest_weights_hold():
    assert queries.current_weights().pk is None
    models.Weights.objects.create(risk=10)
    newest = models.Weights.objects.create(risk=90)
    assert queries.current_weights() == newest


def test_the_preview_tells_who_moves_and_saving_bears_it_out():
    worn = RecommendationFactory(examination=examined(grade="unstable"))
    wanted = RecommendationFactory(examination=examined(grade="good"))
    NeedFactory(object=wanted.examination.object, kind="loan", due=date(2020, 1, 1))
    models.Weights.objects.create(risk=1, loss=0, significance=0, need=0, readiness=0)
    proposed = rule.Weights(risk=0, loss=0, significance=0, need=1, readiness=0)

    shifts = queries.preview(proposed)
    assert {(s.row.recommendation, s.old_place, s.new_place) for s in shifts} == {
        (worn, 1, 2),
        (wanted, 2, 1),
    }
    models.Weights.objects.create(risk=0, loss=0, significance=0, need=1, readiness=0)
    placed = {one.row.recommendation: one for one in the_board().queues["paper", "treat"]}
    for shift in shifts:
        assert placed[shift.row.recommendation].place == shift.new_place
        assert placed[shift.row.recommendation].row.score == shift.new_score


def test_the_preview_of_the_same_weights_moves_nobody():
    for grade in ("good", "poor", "unstable"):
        RecommendationFactory(examination=examined(grade=grade))
    assert queries.preview(queries.shares(queries.current_weights())) == []


def test_weights_of_zero_are_refused_in_the_preview():
    with pytest.raises(ValueError, match="All weights are zero"):
        queries.preview(rule.Weights(0, 0, 0, 0, 0))


@pytest.mark.parametrize("rows", [1, 25])
def test_the_number_of_database_queries_does_not_grow_with_the_rows(
    rows, mould, django_assert_num_queries
):
    for number in range(rows):
        examination = examined()
        RecommendationFactory(examination=examination)
        ObservationFactory(examination=examination)
        PhotographFactory(examination=examination)
        NeedFactory(object=examination.object)
        if number % 2:
            ObservationFactory(examination=examination, term=mould)
        else:
            earlier = examined(30, object=examination.object)
            ObservationFactory(examination=earlier, term=mould)
    with django_assert_num_queries(12):
        the_board()
    with django_assert_num_queries(3):
        queries.cleared()


def test_the_order_in_which_rows_were_saved_changes_nothing():
    grades = ["good", "fair", "poor", "unstable"]
    for number, grade in enumerate([*grades, *reversed(grades)]):
        RecommendationFactory(
            examination=examined(grade=grade, object__accession_number=f"{grade} {number % 4}")
        )
    first = objects_in(the_board(), ("paper", "treat"))
    Recommendation.objects.all().delete()
    for item in Object.objects.order_by("-id"):
        RecommendationFactory(examination=item.examinations.get())
    assert objects_in(the_board(), ("paper", "treat")) == first
