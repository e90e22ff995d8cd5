"""A signature closes an examination: what it needs, what it fixes, and what may still be said."""

from typing import Any

import pytest

from survey.examination.models import Amendment, Observation
from survey.sync.services import Refused, record_change
from tests.examination.round import SHA256, Round, begin
from tests.factories import ExaminationFactory, ObservationFactory, PersonFactory

pytestmark = pytest.mark.django_db


def signed() -> tuple[Round, str]:
    """A signed examination with one observation."""
    on = begin(grade="fair")
    observation = on.part("observation", severity="slight")
    assert on.sign()["outcome"] == "applied"
    return on, observation


def test_it_is_signed_with_a_name_and_a_time() -> None:
    on, _ = signed()
    examination = on.examination()
    assert examination.is_signed
    assert examination.signed_name == "Wren Vale"
    assert examination.signed_at is not None and examination.signed_at.hour == 12


def test_it_refuses_a_signature_without_a_name() -> None:
    on = begin(nothing_seen=True)
    assert on.sign(signed_name=" ")["reasons"] == {"signed_name": "Sign with your name."}
    assert not on.examination().is_signed


def test_it_refuses_a_signature_under_an_empty_form() -> None:
    on = begin()
    said = on.sign()["reasons"]["signed_at"]
    assert said.startswith("Nothing is recorded yet. Tick what you saw, or say outright that")


def test_a_deleted_observation_does_not_count_as_seen() -> None:
    on = begin()
    on.tablet.push("observation", on.part("observation"), deleted=True)
    assert on.sign()["outcome"] == "refused"


def test_nothing_seen_may_be_signed() -> None:
    on = begin()
    assert on.sign(nothing_seen=True)["outcome"] == "applied"


def test_it_refuses_to_sign_that_nothing_was_seen_beside_damage() -> None:
    on = begin(nothing_seen=True)
    on.part("observation", nature="damage")
    assert "Take one of the two back" in on.sign()["reasons"]["nothing_seen"]


def test_a_feature_of_making_is_no_damage() -> None:
    on = begin(nothing_seen=True)
    on.part("observation", term="plate-mark", nature="feature")
    assert on.sign()["outcome"] == "applied"


def test_it_refuses_a_signature_dated_before_the_examination() -> None:
    on = begin(nothing_seen=True)
    said = on.sign(signed_at="2025-04-01T12:00:00Z")["reasons"]["signed_at"]
    assert "more than a day before the examination started" in said


@pytest.mark.parametrize(
    "fields",
    [{"grade": "poor"}, {"signed_name": "Somebody Else"}, {"signed_at": None}, {"deleted": True}],
)
def test_it_refuses_a_change_to_a_signed_examination(fields: dict[str, Any]) -> None:
    on, _ = signed()
    reasons = on.tablet.refusal("examination", on.key, **fields)
    assert reasons == dict.fromkeys(
        fields,
        "Wren Vale signed this examination on 1 May 2025, so it stays as it is. "
        "Add an amendment instead.",
    )
    assert on.examination().grade == "fair"


@pytest.mark.parametrize(
    "entity", ["observation", "photograph", "measurement", "recommendation", "watermark"]
)
def test_it_refuses_a_new_part_of_a_signed_examination(entity: str) -> None:
    on, _ = signed()
    reasons = on.refusal(entity)
    assert all("Add an amendment instead" in sentence for sentence in reasons.values())


@pytest.mark.parametrize("fields", [{"severity": "severe"}, {"deleted": True}])
def test_it_refuses_a_change_to_a_part_of_a_signed_examination(fields: dict[str, Any]) -> None:
    on, observation = signed()
    reasons = on.tablet.refusal("observation", observation, **fields)
    assert "Add an amendment instead" in next(iter(reasons.values()))
    assert Observation.objects.get(pk=observation).severity == "slight"


def test_it_refuses_to_move_a_part_into_a_signed_examination_or_out_of_it() -> None:
    on, observation = signed()
    other = ExaminationFactory()
    stray = ObservationFactory(examination=other)
    assert on.tablet.refusal("observation", observation, examination=str(other.pk))
    assert on.tablet.refusal("observation", str(stray.pk), examination=on.key)


def test_the_desk_cannot_change_a_signed_examination_either() -> None:
    on, _ = signed()
    with pytest.raises(Refused, match="Wren Vale signed this examination"):
        record_change("examination", on.examination(), {"notes": "…"}, PersonFactory())


def test_an_amendment_stands_beside_what_was_signed() -> None:
    on, observation = signed()
    key = on.part(
        "amendment",
        subject=f"observation:{observation}",
        field="severity",
        before="slight",
        after="severe",
        reason="Under the lamp it runs through the sheet.",
    )
    amendment = Amendment.objects.get(pk=key)
    assert (amendment.before, amendment.after) == ("slight", "severe")
    assert Observation.objects.get(pk=observation).severity == "slight"


def test_an_amendment_may_be_words_alone() -> None:
    on, _ = signed()
    on.part("amendment", reason="The verso was seen the day after.")


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"reason": " "}, "reason", "may not stay empty"),
        ({"signed_name": ""}, "signed_name", "may not stay empty"),
        ({"field": "colour", "after": "red"}, "field", "no field called “colour”"),
        ({"field": "grade", "after": "splendid"}, "after", "“splendid” is not a grade"),
        ({"subject": "frame"}, "subject", "not a part of this examination"),
        ({"subject": "observation:nothing"}, "subject", "not a part of this examination"),
    ],
)
def test_it_checks_an_amendment(fields: dict[str, Any], field: str, said: str) -> None:
    on, _ = signed()
    assert said in on.refusal("amendment", **fields)[field]


def test_an_amendment_is_about_a_part_of_its_own_examination() -> None:
    on, _ = signed()
    stray = ObservationFactory()
    reasons = on.refusal("amendment", subject=f"observation:{stray.pk}")
    assert "not a part of this examination" in reasons["subject"]


def test_what_is_not_signed_is_changed_and_not_amended() -> None:
    assert "change it directly" in begin().refusal("amendment")["examination"]


def test_it_refuses_to_rewrite_an_amendment() -> None:
    on, _ = signed()
    key = on.part("amendment")
    assert "add another one" in on.tablet.refusal("amendment", key, reason="No.")[""]


def test_the_signature_comes_last_in_a_batch_and_closes_it() -> None:
    on = begin()
    tablet = on.tablet
    observation = tablet.change(
        "observation", SHA256[:32], {"examination": on.key, "term": "tear"}, 0
    )
    name = {"signed_at": "2025-05-01T12:00:00Z", "signed_name": "Wren Vale"}
    signature = tablet.change("examination", on.key, name, 10**9)
    late = tablet.change("examination", on.key, {"notes": "And another thing."}, 10**9)
    outcomes = [result["outcome"] for result in tablet.push_all(observation, signature, late)]
    assert outcomes == ["applied", "applied", "refused"]
