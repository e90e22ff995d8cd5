"""What changed is accepted after the signature: as an amendment, beside what was signed."""

from typing import Any

import pytest
from django.urls import reverse

from survey.desk.accepting import accept
from survey.desk.readings import Shown
from survey.desk.suggestions import suggestions
from survey.examination.models import Amendment, Examination, Observation
from survey.loans.verifying import verify_check
from survey.reading.models import Reading
from survey.reports.dossier import dossier_of
from survey.reports.words import moment_in_words
from survey.sync.models import Change
from survey.sync.services import Refused
from survey.vocabulary.models import Term
from tests.desk.conftest import text_of
from tests.desk.test_changes import GROWTH, LINE, compared, page_of, send, twice
from tests.factories import LoanCheckFactory, PersonFactory, TermFactory
from tests.loans.museum import signed as with_signatures

__all__ = ["twice"]
pytestmark = pytest.mark.django_db

SAID = {"nature": "damage", "severity": "moderate", "sentence": "It runs into the image."}


@pytest.fixture
def tear() -> Term:
    return TermFactory(name="Tear", lights=["normal"])


@pytest.fixture
def signed(twice: tuple[Examination, Examination]) -> Reading:
    """What changed on an examination that was signed before anybody compared it."""
    _, now = twice
    now.signed_at, now.signed_name = now.started_at, "Tobias Fell"
    now.save()
    return compared(twice, LINE | {"growth": GROWTH})


def suggested(reading: Reading) -> tuple[Shown, Any]:
    read = Shown("changes", reading.side, reading, "", "", is_outdated=False)
    return read, suggestions(read, dossier_of(reading.examination))[0]


def test_the_amendment_says_what_where_how_large_and_on_which_photographs(
    signed: Reading, tear: Term
) -> None:
    person = PersonFactory(first_name="Wren", last_name="Halloway")
    read, one = suggested(signed)
    made = accept(signed.examination, read, one, {"term": tear, **SAID}, person)
    when = [
        moment_in_words(photograph.taken_at)
        for examination in Examination.objects.order_by("started_at")
        for photograph in examination.photographs.filter(light="normal")
    ]
    assert made.reason.splitlines() == [
        "It runs into the image.",
        "Tear, damage, moderate; recto, about 32 mm wide and 3 mm high, 30 mm from the left and "
        "20 mm from the top of the sheet.",
        "Earlier 12.4 ± 0.3 mm, later 18.1 ± 0.4 mm: 5.7 ± 0.4 mm longer. ± is one standard "
        "uncertainty.",
        f"Seen on two photographs, normal light, recto: of {when[0]}, and of {when[1]}.",
    ]
    assert (made.signed_name, made.subject, made.field) == ("Wren Halloway", "examination", "")
    added = made.after["observation"]
    assert added["region"] == {"kind": "polygon", "points": LINE["points"]}
    assert added["photographs"] == [signed.result[name] for name in ("earlier", "later")]
    change = Change.objects.get(entity="amendment", entity_id=str(made.pk))
    assert change.number and change.person == person
    assert not Observation.objects.exists()


def test_a_change_that_was_not_measured_says_how_far_the_photographs_differ(
    twice: Any, tear: Term, signed: Reading
) -> None:
    reading = compared(twice, LINE | {"growth": {"sentence": "Its ends were not found."}})
    read, one = suggested(reading)
    said = {"term": tear, **SAID, "nature": "feature"}
    made = accept(reading.examination, read, one, said, PersonFactory())
    assert "What differs between the photographs is 32 ± 1 mm long, 32 ± 10 mm²; " in made.reason
    # A feature of making has no severity.
    assert "Tear, feature, not damage; recto" in made.reason
    assert made.after["observation"]["severity"] == ""


def test_of_two_who_accept_it_at_once_the_second_is_told(signed: Reading, tear: Term) -> None:
    read, one = suggested(signed)
    first = PersonFactory(first_name="Wren", last_name="Halloway")
    accept(signed.examination, read, one, {"term": tear, **SAID}, first)
    with pytest.raises(Refused, match="Wren Halloway accepted this"):
        accept(signed.examination, read, one, {"term": tear, **SAID}, PersonFactory())
    assert Amendment.objects.count() == 1


def test_an_examination_that_is_not_signed_is_not_amended(twice: Any, tear: Term) -> None:
    reading = compared(twice, LINE)
    read, one = suggested(reading)
    with pytest.raises(Refused, match="not signed yet"):
        accept(reading.examination, read, one, {"term": tear, **SAID}, PersonFactory())


def test_it_is_accepted_on_the_page_and_the_suggestion_leads_to_it(
    desk: Any, signed: Reading, tear: Term
) -> None:
    page = text_of(page_of(desk, signed.examination))
    assert "What you accept is added to it as an amendment, with your name and the time." in page
    assert "Accept as an amendment" in page and "Make an observation" not in page
    answer = send(desk, "accept", signed, 0, term=tear.pk, **SAID)
    made = Amendment.objects.get()
    page = text_of(answer)
    assert "Added to the signed examination as an amendment: Tear." in page
    assert "Accepted as an amendment by Wren Halloway, " in page
    # Settled: nothing more is asked of it.
    assert "Dismiss" not in page and "Why it is nothing" not in page
    examination = reverse("desk:examination", args=[signed.examination.pk])
    assert f'href="{examination}#amendment-{made.pk}"' in answer.content.decode()
    told = desk.get(examination)
    assert f'id="amendment-{made.pk}"' in told.content.decode()
    assert "Amended: observation added, Tear It runs into the image." in text_of(told)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"term": ""}, "Choose what it is."),
        ({"term": "nothing"}, "Choose one of those that are offered"),
        ({"sentence": "  "}, "Say in a sentence what you see"),
        ({"place": 7}, "read again meanwhile"),
        ({"place": "x"}, "read again meanwhile"),
        ({"nature": "spell"}, "Choose one of those that are offered"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_added(
    desk: Any, signed: Reading, tear: Term, fields: dict[str, Any], words: str
) -> None:
    given = {"term": tear.pk, **SAID, **fields}
    place = given.pop("place", 0)
    assert words in text_of(send(desk, "accept", signed, place, **given))
    assert not Amendment.objects.exists()


def test_a_place_of_a_comparison_made_anew_is_not_taken_for_another(
    desk: Any, twice: Any, signed: Reading, tear: Term
) -> None:
    compared(twice, LINE | {"points": [[1.0, 1.0], [9.0, 1.0], [9.0, 3.0]]})
    page = text_of(send(desk, "accept", signed, 0, term=tear.pk, **SAID))
    assert "read again meanwhile" in page and not Amendment.objects.exists()


def test_accepted_twice_on_the_page_it_is_one_amendment(
    desk: Any, signed: Reading, tear: Term
) -> None:
    send(desk, "accept", signed, 0, term=tear.pk, **SAID)
    again = text_of(send(desk, "accept", signed, 0, term=tear.pk, **SAID))
    assert "settled this before: Accepted as an amendment by Wren Halloway" in again
    assert Amendment.objects.count() == 1


def test_what_was_dismissed_is_brought_back_before_it_is_accepted(
    desk: Any, signed: Reading, tear: Term
) -> None:
    page = text_of(send(desk, "dismiss", signed, 0, reason="a shadow"))
    assert "Dismissed: a shadow" in page and "Accept as an amendment" not in page
    refused = text_of(send(desk, "accept", signed, 0, term=tear.pk, **SAID))
    assert "settled this before: Dismissed: a shadow" in refused
    assert "Accept as an amendment" in text_of(send(desk, "dismiss", signed, 0, back="yes"))


def test_a_courier_accepts_nothing(courier_desk: Any, signed: Reading, tear: Term) -> None:
    page = text_of(page_of(courier_desk, signed.examination))
    assert "Accept as an amendment" not in page and "What you accept" not in page
    assert send(courier_desk, "accept", signed, 0, term=tear.pk, **SAID).status_code == 403
    assert not Amendment.objects.exists()


def test_what_was_signed_still_verifies_and_names_the_amendment(
    desk: Any, twice: Any, tear: Term
) -> None:
    before, now = twice
    now.nothing_seen = True
    now.save()
    before.signed_at, before.signed_name = before.started_at, "Wren Halloway"
    before.save()
    check = with_signatures(LoanCheckFactory(examination=now, earlier=before))
    statement = check.statement
    reading = compared(twice, LINE | {"growth": GROWTH})
    send(desk, "accept", reading, 0, term=tear.pk, **SAID)
    check.refresh_from_db()
    verdict = verify_check(check)
    assert check.statement == statement and verdict.is_verified, verdict.faults
    [later] = verdict.later
    assert "Amended by Wren Halloway, " in later and "It runs into the image." in later
    page = text_of(desk.get(reverse("desk:loan-check", args=[check.pk])))
    assert "Amended: observation added, Tear It runs into the image." in page
