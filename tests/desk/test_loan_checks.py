"""Checks of loans at the desk: looked at, begun, made, signed, and held to what was signed."""

import json
import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from survey.examination.models import Examination, Observation, Photograph, Visit
from survey.loans import arranging, checking
from survey.loans.models import LoanCheck, PointCheck, Signature
from survey.loans.signed_files import read_content
from survey.loans.verifying import verify
from survey.sync.models import Change
from survey.sync.services import record_change
from tests.desk.conftest import text_of
from tests.desk.readings import read
from tests.factories import AmendmentFactory, ObservationFactory, PersonFactory, examined
from tests.loans.museum import (
    STROKES,
    Lent,
    check_of,
    lent,
    new_loan,
    phone_of,
    signed,
    stored_photograph,
)

pytestmark = pytest.mark.django_db

PLACED = [1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0]
MOST_QUERIES = 60
REGION = {"kind": "polygon", "points": [[40, 30], [90, 30], [90, 70]]}
PACKED = {
    "packing-crate": "Crate 7",
    "packing-seals": "PE 1, PE 2",
    "packing-seals_whole": "yes",
    "packing-glazing": "whole",
    "packing-temperature_c": "20.5",
}
FIRST = {
    "first-role": "conservator",
    "first-name": "Wren Halloway",
    "first-of": "Port Ellery Museum",
    "first-strokes": json.dumps(STROKES),
}
NO_SECOND = {"second-role": "courier", "second-name": "", "second-strokes": ""}
SECOND = {
    "second-role": "courier",
    "second-name": "Ruth Pennarrow",
    "second-of": "",
    "second-by_name": "on",
}


@pytest.fixture
def one() -> Lent:
    return lent(new_loan(driest_percent=45.0, dampest_percent=55.0, coolest_c=18.0))


def page_of(client: Any, check: LoanCheck) -> str:
    return text_of(client.get(reverse("desk:loan-check", args=[check.pk])))


def loaned_of(one: Lent) -> Any:
    return arranging.living_objects(one.loan).get()


# One check.


def test_each_point_tells_how_it_was_found_and_what_is_new(desk: Any, one: Lent) -> None:
    check = check_of(one, answers=False, humidity_percent=58.0, crate="Crate 2", venue="Salt Quay")
    first, second = one.observations
    now = ObservationFactory(
        examination=check.examination, term=first.term, severity="severe", note="It runs on."
    )
    record_change(
        "point_check",
        None,
        {
            "loan_check": check,
            "observation": first,
            "answer": "changed",
            "reason": "Longer by a hand.",
            "now": now,
        },
        None,
    )
    found = ObservationFactory(examination=check.examination, note="Not there before.")
    page = page_of(desk, check)
    assert re.search(rf"1 {first.term.name} Changed Longer by a hand\.", page)
    assert re.search(r"Severity Slight → , now Severe", page)
    assert re.search(rf"2 {second.term.name} Not answered yet", page)
    assert re.search(rf"New findings 3 {found.term.name}", page) and "Not there before." in page
    assert "1 of 2 points answered." in page
    assert "Of 2 points known before: 1 changed, 1 not answered yet." in page
    assert re.search(
        r"Relative humidity 58 % 45 to 55 % Outside 3 percentage points higher than agreed", page
    )
    assert re.search(r"Temperature Not noted At least 18 °C", page)
    assert "Nobody has signed yet." in page and "Take this check out" in page


def test_a_place_on_the_sheet_is_shown_as_it_was_and_as_it_is(desk: Any, one: Lent) -> None:
    check = check_of(one)
    known = one.observations[0]
    point = check.points.get(observation=known)
    Observation.objects.filter(pk__in=[known.pk, point.now_id]).update(region=REGION)
    Photograph.objects.update(homography=PLACED)
    page = desk.get(reverse("desk:loan-check", args=[check.pk])).content.decode()
    address = reverse("api-region", args=[one.photograph.sha256])
    part = re.search(rf'src="{address}\?x=(\d+)&amp;y=(\d+)&amp;width=(\d+)', page)
    assert part is not None
    left, top = int(part[1]), int(part[2])
    assert f'points="{40 - left},{30 - top} {90 - left},{30 - top} {90 - left},{70 - top}"' in page
    assert desk.get(f"{address}?x={left}&y={top}&width={part[3]}&height=20").status_code == 200
    # Nobody said where the other one lies, so nothing is said of photographs of it.
    assert page.count('class="pair"') == 1
    assert '"points": [[40, 30], [90, 30], [90, 70]]' in page


def compared(check: LoanCheck, earlier: Photograph, later: Photograph) -> None:
    """What a reading of changes leaves behind: the later photograph lies 10 px beside."""
    laid = {"matrix": [1, 0, 10, 0, 1, 0, 0, 0, 1], "residual_mm": 0.1}
    result = {"later": str(later.pk), "earlier": str(earlier.pk), "laid": laid, "regions": []}
    read(check.examination, "changes", result=result)


def test_a_photograph_that_was_compared_shows_the_places(desk: Any, one: Lent) -> None:
    check = check_of(one)
    known, hidden = one.observations
    point = check.points.get(observation=known)
    Observation.objects.filter(pk__in=[known.pk, point.now_id]).update(region=REGION)
    # Marked on the earlier photograph, which the copy cannot say.
    mark = {"photograph": str(one.photograph.pk), "x": 0.5, "y": 0.5}
    Observation.objects.filter(pk=hidden.pk).update(mark=mark)
    Photograph.objects.update(homography=PLACED)
    later = stored_photograph(check.examination)
    page = page_of(desk, check)
    sentence = "This place is not found on the photographs of this check, since they are not placed"
    assert page.count(sentence) == 2
    compared(check, one.photograph, later)
    with CaptureQueriesContext(connection) as queries:
        response = desk.get(reverse("desk:loan-check", args=[check.pk]))
    assert len(queries) <= MOST_QUERIES
    page = response.content.decode()
    assert sentence not in page
    now = reverse("api-region", args=[later.sha256])
    parts = re.findall(rf'src="{now}\?x=(\d+)&amp;y=(\d+)', page)
    assert len(parts) == 2
    left, top = map(int, parts[0])
    assert f'points="{30 - left},{30 - top} {80 - left},{30 - top}' in page


def test_a_side_that_was_not_photographed_is_told_as_such(desk: Any, one: Lent) -> None:
    check = check_of(one)
    Observation.objects.filter(pk=one.observations[0].pk).update(region=REGION)
    Photograph.objects.update(homography=PLACED)
    assert "No photograph of the recto was taken at this check." in page_of(desk, check)


def test_a_check_whose_state_could_not_be_seen_before_goes_further_back(
    desk: Any, one: Lent
) -> None:
    before = check_of(one, LoanCheck.Stage.ARRIVAL, answers=False)
    seen, hidden = one.observations
    now = ObservationFactory(examination=before.examination, term=seen.term)
    for known, answer, reason, copy in (
        (seen, "same", "", now), (hidden, "not-visible", "Framed.", None),
    ):  # fmt: skip
        fields = {"observation": known, "answer": answer, "reason": reason, "now": copy}
        record_change("point_check", None, {"loan_check": before} | fields, None)
    signed(before)
    Examination.objects.filter(pk=before.examination_id).update(
        started_at=timezone.now() - timedelta(days=3)
    )
    after = check_of(Lent(one.loan, one.object, before.examination, [], one.photograph, []))
    page = page_of(desk, after)
    assert f"{hidden.term.name} Not answered yet" in page
    assert f"{seen.term.name} Not answered yet" in page
    assert "0 of 2 points answered." in page
    assert "What could not be seen then is compared with the state before" in page


def test_what_was_signed_verifies_and_is_saved(desk: Any, one: Lent) -> None:
    check = signed(check_of(one), "Ruth Pennarrow", "Tobias Fell")
    page = desk.get(reverse("desk:loan-check", args=[check.pk]))
    words = text_of(page)
    assert "Verifies The words are those that were signed" in words
    assert "Ruth Pennarrow , courier, for Gallery of the Salt Quay" in words
    assert "<polyline" in page.content.decode()
    digest = "".join(re.findall(r"<span>([0-9a-f]{4})</span>", page.content.decode()))
    assert digest == check.signatures.first().sha256  # type: ignore[union-attr]
    saved = desk.get(reverse("desk:check-signed", args=[check.pk]))
    assert saved["Content-Disposition"].startswith("attachment;")
    [held] = read_content(saved.content)
    assert verify(held).is_verified


def test_what_the_record_says_otherwise_since_is_told(desk: Any, one: Lent) -> None:
    check = signed(check_of(one, note="Box was wet."))
    LoanCheck.objects.filter(pk=check.pk).update(note="All well.")
    page = page_of(desk, check)
    assert "Does not verify." in page and "Box was wet." in page
    assert "Verifies The words" not in page


def test_amendments_stand_beside_what_was_signed(desk: Any, one: Lent) -> None:
    check = signed(check_of(one))
    assert "None since." in page_of(desk, check)
    AmendmentFactory(
        examination=check.examination, field="notes", after="Seen in better light.", reason="Sun."
    )
    page = page_of(desk, check)
    assert "what was signed stays as it was" in page and "Seen in better light." in page
    assert "Verifies" in page


def test_what_was_added_to_the_earlier_state_is_told(desk: Any, one: Lent) -> None:
    check = check_of(one)
    AmendmentFactory(examination=one.state, reason="A tear was seen on the photographs.")
    page = page_of(desk, check)
    assert "Added since the earlier state was signed" in page
    assert "A tear was seen on the photographs." in page
    assert check.examination.amendments.count() == 0


def test_nothing_is_saved_of_a_check_that_nobody_signed(desk: Any, one: Lent) -> None:
    check = check_of(one)
    assert desk.get(reverse("desk:check-signed", args=[check.pk])).status_code == 404


def test_the_pages_stay_at_a_fixed_number_of_queries(
    desk: Any, django_assert_max_num_queries: Any
) -> None:
    check = check_of(lent(new_loan(), observations=2))
    many = check_of(lent(new_loan(), observations=9))
    with CaptureQueriesContext(connection) as few:
        page_of(desk, check)
    with django_assert_max_num_queries(len(few) + 4):
        page_of(desk, many)


# Begun at the desk.


def test_a_check_is_begun_from_the_last_signed_state(desk: Any, one: Lent) -> None:
    loaned = loaned_of(one)
    answer = desk.post(
        reverse("desk:check-begin", args=[loaned.pk]), {"stage": "arrival", "venue": "Salt Quay"}
    )
    check = LoanCheck.objects.get()
    assert answer["Location"] == reverse("desk:loan-check", args=[check.pk])
    assert (check.stage, check.earlier, check.crate) == ("arrival", one.state, "Crate 2")
    assert check.examination.visit.purpose == Visit.Purpose.LOAN_CHECK
    assert check.examination.sheet_width_mm == one.state.sheet_width_mm
    again = desk.post(
        reverse("desk:check-begin", args=[loaned.pk]), {"stage": "arrival", "venue": "Salt Quay"}
    )
    assert again.status_code == 400 and "began one that is not signed yet" in text_of(again)
    assert LoanCheck.objects.count() == 1


def test_checks_of_a_day_and_stage_are_one_visit(desk: Any) -> None:
    loan = new_loan()
    for one in (lent(loan), lent(loan)):
        loaned = arranging.living_objects(loan).get(object=one.object)
        desk.post(reverse("desk:check-begin", args=[loaned.pk]), {"stage": "arrival"})
    assert Visit.objects.filter(purpose="loan-check").count() == 1
    assert LoanCheck.objects.count() == 2


def test_a_check_begun_by_mistake_is_taken_out_and_a_signed_one_stays(desk: Any, one: Lent) -> None:
    check = check_of(one)
    desk.post(reverse("desk:check-remove", args=[check.pk]))
    check.refresh_from_db()
    assert check.deleted_at is not None
    assert desk.get(reverse("desk:loan-check", args=[check.pk])).status_code == 404
    arranging.remove_object(loaned_of(one), PersonFactory())
    other = signed(check_of(lent(new_loan())))
    answer = desk.post(reverse("desk:check-remove", args=[other.pk]), follow=True)
    assert "This check is signed, so it stays as it is." in text_of(answer)


# The outgoing check.


def check_out(client: Any, one: Lent, **fields: Any) -> Any:
    given = PACKED | FIRST | NO_SECOND | {"state": str(one.state.pk)} | fields
    return client.post(reverse("desk:check-out", args=[loaned_of(one).pk]), given)


def test_the_outgoing_check_is_made_and_signed_in_one_go(desk: Any, one: Lent) -> None:
    page = text_of(desk.get(reverse("desk:check-out", args=[loaned_of(one).pk])))
    assert "20 days old" in page and "2 observation" in page
    answer = check_out(desk, one, **SECOND)
    check = LoanCheck.objects.get()
    assert answer["Location"] == reverse("desk:loan-check", args=[check.pk])
    assert check.is_signed and check.examination == one.state and check.earlier is None
    assert (check.crate, check.temperature_c, check.glazing) == ("Crate 7", 20.5, "whole")
    first, second = check.signatures.order_by("name").reverse()
    assert (first.name, first.role, first.strokes) == ("Wren Halloway", "conservator", STROKES)
    assert (second.name, second.strokes) == ("Ruth Pennarrow", [])
    words = page_of(desk, check)
    assert f"It left in the state of {one.state.started_at:%-d %B %Y}. 2 observations." in words
    assert "Verifies" in words and "Signed with the name alone, without a drawing" in words
    assert {"loan_check", "signature"} <= set(Change.objects.values_list("entity", flat=True))


def test_one_signature_is_enough_and_another_may_come_later(desk: Any, one: Lent) -> None:
    check_out(desk, one)
    check = LoanCheck.objects.get()
    assert check.signatures.count() == 1
    half = "Signed by the conservator only; the courier has not signed."
    words = page_of(desk, check)
    assert half in words and "Verifies" in words
    tag = '<span class="tag open">Signed by the conservator only</span>'
    page = reverse("desk:loan-check", args=[check.pk])
    assert tag in desk.get(page).content.decode()
    loan = text_of(desk.get(reverse("desk:loan", args=[check.loan_id])))
    assert "by Wren Halloway only; the courier has not signed" in loan
    assert half.rstrip(".") in text_of(desk.get(reverse("desk:home")))
    address = reverse("desk:check-sign", args=[check.pk])
    hand = {"hand-role": "courier", "hand-name": "Ruth Pennarrow", "hand-by_name": "on"}
    assert desk.post(address, hand).status_code == 302
    assert half not in page_of(desk, check)
    assert '<span class="tag">Signed</span>' in desk.get(page).content.decode()
    assert "has not signed" not in text_of(desk.get(reverse("desk:loan", args=[check.loan_id])))
    again = desk.post(address, hand)
    assert again.status_code == 400
    assert "Ruth Pennarrow has signed this check already." in text_of(again)
    assert check.signatures.count() == 2 and "Verifies" in page_of(desk, check)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"first-strokes": ""}, "Draw the signature in the field, or tick"),
        ({"first-name": " "}, "Write the name of whoever signs."),
        ({"first-strokes": "[[["}, "did not arrive whole"),
        ({"first-strokes": "[[[5000, 2]]]"}, "This is no drawing of a signature"),
        ({"first-strokes": '{"a": 1}'}, "This is no drawing of a signature"),
        ({"second-strokes": "[[[5, 2]]]"}, "Write the name of whoever signs."),
        ({"packing-temperature_c": "700"}, "700"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_made(
    desk: Any, one: Lent, fields: dict[str, str], sentence: str
) -> None:
    answer = check_out(desk, one, **fields)
    assert answer.status_code == 400
    assert sentence in text_of(answer) or sentence in answer.content.decode()
    assert not LoanCheck.objects.exists() and not Signature.objects.exists()


def test_a_state_that_was_signed_meanwhile_is_looked_at_first(desk: Any, one: Lent) -> None:
    examined(1, object=one.object)
    answer = check_out(desk, one)
    assert answer.status_code == 400 and "signed meanwhile" in text_of(answer)
    assert not LoanCheck.objects.exists()


@pytest.mark.parametrize(
    ("days", "light", "sentences"),
    [
        (31, "normal", ("This state was seen 31 days ago.",)),
        (30, "normal", ()),
        (2, "raking", ("no photograph in normal light",)),
        (90, "raking", ("90 days ago", "no photograph in normal light")),
    ],
)
def test_an_old_or_unphotographed_state_is_warned_of(
    desk: Any, days: int, light: str, sentences: tuple[str, ...]
) -> None:
    one = lent(new_loan(), days_ago=days)
    Photograph.objects.update(light=light)
    page = text_of(desk.get(reverse("desk:check-out", args=[loaned_of(one).pk])))
    for sentence in sentences:
        assert sentence in page
    if not sentences:
        assert "days ago." not in page and "no photograph in normal light" not in page


def test_why_it_cannot_be_made_at_the_desk_is_said(desk: Any, one: Lent) -> None:
    loan = new_loan()
    bare = record_change("object", None, {"accession_number": "PE.2", "title": "New"}, None)
    [loaned] = arranging.add_objects(loan, [bare], PersonFactory())
    page = text_of(desk.get(reverse("desk:check-out", args=[loaned.pk])))
    assert "has no signed examination yet" in page
    check_out(desk, one)
    assert "is signed already" in text_of(
        desk.get(reverse("desk:check-out", args=[loaned_of(one).pk]))
    )
    later = new_loan(first_day=one.loan.last_day + timedelta(days=2),
                     last_day=one.loan.last_day + timedelta(days=9))  # fmt: skip
    [again] = arranging.add_objects(later, [one.object], PersonFactory())
    page = text_of(desk.get(reverse("desk:check-out", args=[again.pk])))
    assert "belongs to that one" in page and str(one.loan) in page


def test_what_was_made_at_the_desk_is_what_the_pass_starts_from(desk: Any, one: Lent) -> None:
    """The courier's phone gets the outgoing check and its state."""
    check_out(desk, one, **SECOND)
    phone = phone_of(one.loan)
    rows = phone.tablet.pull()
    check = LoanCheck.objects.get()
    got = {(row["entity"], row["id"]) for row in rows if not row["deleted"]}
    assert ("loan_check", str(check.pk)) in got and ("examination", str(one.state.pk)) in got
    assert {("observation", str(seen.pk)) for seen in one.observations} <= got
    assert sum(entity == "signature" for entity, _ in got) == 2


def test_couriers_read_checks_and_make_none(courier_desk: Any, one: Lent) -> None:
    check = signed(check_of(one))
    page = page_of(courier_desk, check)
    assert "Verifies" in page and "Add a signature" not in page
    loaned = loaned_of(one)
    for name, key in {
        "check-begin": loaned.pk,
        "check-out": loaned.pk,
        "check-sign": check.pk,
        "check-remove": check.pk,
    }.items():
        given = {"hand-role": "courier", "hand-name": "Me", "hand-by_name": "on"}
        answer = courier_desk.post(reverse(f"desk:{name}", args=[key]), given)
        assert answer.status_code == 403, name
    assert check.signatures.count() == 1
    assert PointCheck.objects.count() == 2


def test_a_hand_is_kept_with_its_moment_as_tablets_write_it(desk: Any, one: Lent) -> None:
    check_out(desk, one)
    signature = Signature.objects.get()
    assert signature.signed_at.microsecond % 1000 == 0
    assert checking.Hand("courier", "Ro").strokes == []
