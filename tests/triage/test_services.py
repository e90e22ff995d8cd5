"""What changes the queues, who may do it, and what the audit trail keeps of it."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import AuditEntry
from survey.triage import models, queries, rule, services
from tests.factories import NeedFactory, ObjectFactory, RecommendationFactory

pytestmark = pytest.mark.django_db


def test_saving_weights_makes_a_new_version_and_keeps_the_old(head):
    services.save_weights(rule.Weights(risk=50), person=head, reason="More for risk")
    services.save_weights(rule.Weights(risk=60), person=head, reason="Still more")
    assert list(models.Weights.objects.values_list("risk", flat=True)) == [60, 50]
    newest = queries.current_weights()
    assert (newest.saved_by, newest.reason) == (head, "Still more")


def test_saving_weights_is_audited_with_all_five_numbers(head):
    saved = services.save_weights(rule.Weights(risk=50), person=head, reason="More for risk")
    entry = AuditEntry.objects.get(action="weights saved")
    assert entry.person == head
    assert entry.subject == f"version {saved.pk}"
    assert entry.detail == {
        "risk": 50, "loss": 20, "significance": 20, "need": 15, "readiness": 10,
    }  # fmt: skip


def test_only_the_head_saves_weights(conservator):
    with pytest.raises(PermissionDenied, match="Only the head"):
        services.save_weights(rule.Weights(), person=conservator, reason="Mine")
    assert not models.Weights.objects.exists()


@pytest.mark.parametrize(
    ("weights", "reason", "field"),
    [
        (rule.Weights(0, 0, 0, 0, 0), "Nothing", "weights"),
        (rule.Weights(), "  ", "reason"),
        (rule.Weights(risk=99_999), "Far too much", "weights"),
    ],
)
def test_weights_that_say_nothing_and_missing_reasons_are_refused(head, weights, reason, field):
    with pytest.raises(ValidationError) as refused:
        services.save_weights(weights, person=head, reason=reason)
    assert field in refused.value.message_dict
    assert not models.Weights.objects.exists()


def test_readiness_is_set_and_set_again(conservator):
    work = RecommendationFactory()
    services.set_readiness(work, person=conservator, space=True, materials=False)
    services.set_readiness(work, person=conservator, space=True, materials=True)
    readiness = models.Readiness.objects.get()
    assert (readiness.space, readiness.materials, readiness.done_at) == (True, True, None)
    assert AuditEntry.objects.filter(action="readiness set").count() == 2


def test_work_is_marked_done_once_and_can_be_taken_back(conservator):
    work = RecommendationFactory()
    first = services.mark_done(work, person=conservator).done_at
    assert services.mark_done(work, person=conservator).done_at == first
    services.mark_not_done(work, person=conservator)
    assert models.Readiness.objects.get().done_at is None
    actions = list(AuditEntry.objects.order_by("id").values_list("action", flat=True))
    assert actions == ["work marked done", "work marked not done"]


def test_setting_readiness_keeps_work_done(conservator):
    work = RecommendationFactory()
    services.mark_done(work, person=conservator)
    services.set_readiness(work, person=conservator, space=True, materials=True)
    assert models.Readiness.objects.get().done_at is not None


def test_a_need_is_added_and_removed_and_the_trail_keeps_it(conservator):
    item = ObjectFactory()
    need = services.add_need(
        item, person=conservator, kind="loan", title=" Northern coasts ", due=date(2026, 9, 1)
    )
    assert (need.title, need.due) == ("Northern coasts", date(2026, 9, 1))
    services.remove_need(need, person=conservator)
    assert not item.needs.exists()
    entry = AuditEntry.objects.get(action="need removed")
    assert entry.detail == {"kind": "loan", "title": "Northern coasts", "due": "2026-09-01"}


def test_a_need_of_an_unknown_kind_or_without_a_title_is_refused(conservator):
    with pytest.raises(ValidationError) as refused:
        services.add_need(ObjectFactory(), person=conservator, kind="party", title=" ", due=None)
    assert set(refused.value.message_dict) == {"kind", "title"}


def test_a_courier_plans_nothing(courier):
    work, need = RecommendationFactory(), NeedFactory()
    attempts = [
        lambda: services.set_readiness(work, person=courier, space=True, materials=True),
        lambda: services.mark_done(work, person=courier),
        lambda: services.mark_not_done(work, person=courier),
        lambda: services.add_need(need.object, person=courier, kind="loan", title="Mine", due=None),
        lambda: services.remove_need(need, person=courier),
    ]
    for attempt in attempts:
        with pytest.raises(PermissionDenied):
            attempt()
    assert not AuditEntry.objects.exists()
