"""What happens to one tablet's changes: applied, refused with reasons, or seen before."""

import dataclasses
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from survey.examination.models import Observation, Visit
from survey.sync import log, registry, services
from survey.sync.clock import Stamp
from survey.sync.models import Change
from tests.factories import DeviceFactory, ExaminationFactory, ObjectFactory, TermFactory
from tests.sync.wire import NEW_VISIT, START_MS, Tablet

pytestmark = pytest.mark.django_db


def test_the_first_change_to_an_unknown_record_makes_it() -> None:
    tablet = Tablet()
    change = tablet.push(NEW_VISIT)
    visit = tablet.visit()
    assert change.outcome == "applied"
    assert (visit.name, visit.revision) == ("Morning round", change.number)


def test_the_signed_in_person_is_the_visits_person() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    assert tablet.visit().person == tablet.device.person


def test_a_later_change_touches_only_its_own_fields() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    tablet.push({"note": "Cold room, 12 °C."})
    assert (tablet.visit().name, tablet.visit().note) == ("Morning round", "Cold room, 12 °C.")


def test_changes_of_a_batch_apply_in_order() -> None:
    tablet = Tablet()
    batch = [tablet.change(NEW_VISIT), *(tablet.change({"note": word}) for word in "abc")]
    taken, _ = services.push(batch)
    assert [change.number for change in taken] == list(
        range(taken[0].number or 0, (taken[0].number or 0) + 4)
    )
    assert tablet.visit().note == "c"


def test_a_refused_change_hinders_no_other_and_takes_no_number() -> None:
    tablet = Tablet()
    batch = [
        tablet.change(NEW_VISIT),
        tablet.change({"purpose": "picnic"}),
        tablet.change({"note": "still here"}),
    ]
    first, refused, last = services.push(batch)[0]
    assert [first.outcome, refused.outcome, last.outcome] == ["applied", "refused", "applied"]
    assert (refused.number, last.number) == (None, (first.number or 0) + 1)
    assert tablet.visit().note == "still here"


def test_a_refused_change_is_kept_with_its_reasons() -> None:
    tablet = Tablet()
    change = tablet.push({"purpose": "picnic", "name": ""})
    kept = Change.objects.get(pk=change.pk)
    assert (kept.outcome, kept.fields["purpose"]) == ("refused", "picnic")
    assert set(kept.reasons) == {"purpose", "name"}
    assert all(reason.endswith(".") for reason in kept.reasons.values())
    assert not Visit.objects.exists()


@pytest.mark.parametrize(
    ("other", "field", "said"),
    [
        ({"entity": "mummy"}, "", "keeps no records called “mummy”"),
        ({"entity": "object"}, "", "cannot change this kind of record"),
        ({"entity_id": "shelf-nine"}, "", "cannot be the key of a record"),
        ({"fields": {"colour": "red"}}, "colour", "There is no field called “colour”"),
        ({"fields": {"person_name": "Me"}}, "person_name", "There is no field"),
        ({"fields": {"revision": 9}}, "revision", "There is no field"),
        ({"fields": {"deleted": "perhaps"}}, "deleted", "true or false"),
        ({"at": "teatime"}, "", "not a time"),
        ({"fields": NEW_VISIT | {"location": str(uuid.uuid4())}}, "location", "send that record"),
    ],
)
def test_it_says_why_it_refuses(other: dict[str, Any], field: str, said: str) -> None:
    change = Tablet().push(**({"fields": NEW_VISIT} | other))
    assert change.outcome == "refused"
    assert said in change.reasons[field]


def alter_visits(monkeypatch: pytest.MonkeyPatch, **how: Any) -> None:
    """Register visits otherwise, for one test."""
    altered = dataclasses.replace(registry._entities["visit"], **how)
    monkeypatch.setitem(registry._entities, "visit", altered)


def test_a_field_that_only_the_desk_sets_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    alter_visits(monkeypatch, writable=frozenset({"purpose", "name"}))
    change = Tablet().push(NEW_VISIT | {"note": "x"})
    assert change.reasons == {"note": "A tablet cannot set “note”."}


def test_a_part_whose_whole_was_refused_is_refused_with_a_sentence() -> None:
    tablet = Tablet()
    whole = tablet.change({"purpose": "picnic"})
    part = tablet.change(
        {"visit": whole.entity_id, "object": str(ObjectFactory().pk)},
        entity="examination",
        entity_id=str(uuid.uuid4()),
    )
    assert [change.outcome for change in services.push([whole, part])[0]] == ["refused"] * 2
    assert "send that record first" in part.reasons["visit"]


def test_a_signed_examination_takes_nothing_more() -> None:
    examination = ExaminationFactory(signed=True)
    tablet = Tablet()
    tear = {"examination": str(examination.pk), "term": str(TermFactory().pk)}
    late = tablet.push(tear, entity="observation", entity_id=str(uuid.uuid4()))
    assert "amendment" in late.reasons["term"]
    assert not Observation.objects.exists()


def test_what_follows_a_change_is_logged_too() -> None:
    moved = ObjectFactory()
    change = Tablet().push(
        {"object": str(moved.pk), "to_place": "Crate room"},
        entity="move",
        entity_id=str(uuid.uuid4()),
    )
    moved.refresh_from_db()
    assert (change.outcome, moved.off_site_place) == ("applied", "Crate room")
    assert moved.revision == (change.number or 0) + 1


def test_deletion_leaves_a_tombstone() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    change = tablet.push({"deleted": True})
    assert tablet.visit().deleted_at is not None
    assert tablet.visit().revision == change.number


def test_a_deleted_record_takes_changes_again_once_restored() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    tablet.push({"deleted": True})
    assert "Restore it" in tablet.push({"note": "x"}).reasons[""]
    tablet.push({"deleted": False})
    assert tablet.push({"note": "x"}).outcome == "applied"
    assert tablet.visit().deleted_at is None


def test_deleting_what_never_arrived_is_no_trouble() -> None:
    change = Tablet().push({"deleted": True})
    assert (change.outcome, change.number) == ("applied", None)


def test_a_replay_gets_the_same_result_and_alters_nothing() -> None:
    tablet = Tablet()
    good, bad = tablet.change(NEW_VISIT), tablet.change({"purpose": "picnic"})
    before = services.push([good, bad])[0]
    tablet.push({"name": "Renamed since"})
    again = services.push(
        [tablet.change(NEW_VISIT, id=good.pk), tablet.change({"purpose": "picnic"}, id=bad.pk)]
    )[0]
    for one, other in zip(before, again, strict=True):
        assert (one.outcome, one.number, one.reasons) == (
            other.outcome,
            other.number,
            other.reasons,
        )
    assert tablet.visit().name == "Renamed since"


def test_an_id_used_twice_for_different_contents_is_refused_and_loses_nothing() -> None:
    tablet = Tablet()
    first = tablet.push(NEW_VISIT)
    second = tablet.push({"name": "Typed after it was sent"}, id=first.pk)
    assert "under a new id" in second.reasons[""]
    assert Change.objects.get(pk=first.pk).outcome == "applied"


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.integers(0, 5), min_size=1, max_size=12))
def test_however_often_and_in_whatever_pieces_it_is_sent_again(resent: list[int]) -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    written = [({"note": f"note {number}"}, uuid.uuid4()) for number in range(6)]
    for fields, key in written:
        tablet.push(fields, id=key)
    state = (tablet.visit().note, tablet.visit().revision, Change.objects.count())
    for number in resent:
        fields, key = written[number]
        tablet.push(fields, id=key)
    assert (tablet.visit().note, tablet.visit().revision, Change.objects.count()) == state


def test_a_clock_far_ahead_is_set_to_the_servers_and_noted() -> None:
    tablet = Tablet()
    change = tablet.push(NEW_VISIT, second=3600)
    assert change.clock_clamped
    assert Stamp.parse(change.at).ms <= log.wall_clock_ms() < START_MS + 3600 * 1000
    assert change.at.endswith(str(tablet.device.pk))


def test_clamped_changes_keep_their_order() -> None:
    tablet = Tablet()
    batch = [tablet.change(NEW_VISIT, 200), *(tablet.change({"note": "x"}, 9000) for _ in range(3))]
    times = [change.at for change in services.push(batch)[0]]
    assert times == sorted(set(times))
    assert [change.clock_clamped for change in batch] == [False, True, True, True]


def test_a_busy_database_fails_the_whole_batch_so_that_it_can_be_sent_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tablet = Tablet()
    batch = [tablet.change(NEW_VISIT), tablet.change({"note": "second"})]
    apply = services.apply_from_tablet

    def fail_on_second(change: Change) -> None:
        if change.fields == {"note": "second"}:
            raise OperationalError("database is locked")
        apply(change)

    with monkeypatch.context() as patch, pytest.raises(OperationalError):
        patch.setattr(services, "apply_from_tablet", fail_on_second)
        services.push(batch)
    assert not Change.objects.exists()
    again = [tablet.change(one.fields, id=one.pk) for one in batch]
    assert [change.outcome for change in services.push(again)[0]] == ["applied", "applied"]


def test_a_fault_in_one_change_does_not_hold_up_those_behind_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def stumble(row: Any, fields: Any, author: Any) -> None:
        if fields.get("note") == "stumble":
            raise ZeroDivisionError

    alter_visits(monkeypatch, follow=stumble)
    tablet = Tablet()
    words = [NEW_VISIT, {"note": "stumble"}, {"name": "Behind it"}]
    taken, _ = services.push([tablet.change(fields) for fields in words])
    assert [change.outcome for change in taken] == ["applied", "refused", "applied"]
    assert "Nothing is lost" in taken[1].reasons[""]
    assert (tablet.visit().note, tablet.visit().name) == ("", "Behind it")


# Through the interface.


def send(client: Client, changes: list[dict[str, Any]], token: str = "known") -> Any:
    return client.post(
        "/api/sync/push",
        {"changes": changes},
        "application/json",
        headers={"Authorization": f"Device {token}"},
    )


def on_the_wire(**other: Any) -> dict[str, Any]:
    return {
        "id": str(uuid.uuid4()),
        "entity": "visit",
        "entity_id": str(uuid.uuid4()),
        "fields": NEW_VISIT,
        "base": 0,
        "at": f"{START_MS}-0000-slate",
    } | other


def test_it_answers_with_outcomes_and_its_clock(client: Client) -> None:
    device = DeviceFactory(token="known")
    good, bad = on_the_wire(), on_the_wire(fields={"purpose": "picnic"})
    answer = send(client, [good, bad]).json()
    assert [result["id"] for result in answer["results"]] == [good["id"], bad["id"]]
    assert answer["results"][0] == {
        "id": good["id"],
        "outcome": "applied",
        "number": 1,
        "reasons": {},
        "clock_clamped": False,
    }
    assert answer["results"][1]["outcome"] == "refused"
    assert answer["clock"] > good["at"]
    change = Change.objects.get(pk=good["id"])
    assert (change.device, change.person) == (device, device.person)


def test_it_wants_a_sign_in(client: Client) -> None:
    answer = send(client, [on_the_wire()], token="unheard-of")
    assert answer.status_code == 401
    assert not Change.objects.exists()


def test_it_takes_at_most_500_changes_at_once(client: Client) -> None:
    DeviceFactory(token="known")
    answer = send(client, [on_the_wire()] * 501)
    assert answer.status_code == 400
    assert "500" in str(answer.json()["changes"])


@pytest.mark.parametrize("broken", [{"id": "one"}, {"fields": "none"}, {"base": -1}, {"at": None}])
def test_it_says_which_change_is_malformed(client: Client, broken: dict[str, Any]) -> None:
    DeviceFactory(token="known")
    answer = send(client, [on_the_wire(), on_the_wire(**broken)])
    assert answer.status_code == 400
    assert next(iter(broken)) in str(answer.json()["changes"])
    assert not Change.objects.exists()


def test_half_characters_are_kept_as_a_visible_mark(client: Client) -> None:
    DeviceFactory(token="known")
    wire = on_the_wire(fields=NEW_VISIT | {"note": "foxing \ud83d at\0 edge"})
    assert send(client, [wire]).json()["results"][0]["outcome"] == "applied"
    assert Visit.objects.get().note == "foxing � at� edge"


def test_an_expired_sign_in_sends_later_under_the_same_ids(client: Client) -> None:
    device = DeviceFactory(token="known")
    wire = on_the_wire()
    until = device.expires_at
    device.expires_at -= timedelta(days=60)
    device.save()
    assert send(client, [wire]).status_code == 401
    device.expires_at = until
    device.save()
    assert send(client, [wire]).json()["results"][0]["outcome"] == "applied"


def test_a_record_deleted_once_more_went_when_it_first_did() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    tablet.push({"deleted": True}, 1)
    first = tablet.visit().deleted_at
    tablet.push({"deleted": True}, 2)
    assert tablet.visit().deleted_at == first is not None
