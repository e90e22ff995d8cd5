"""What is signed: the same words each time, and told as soon as the record says otherwise."""

import itertools
import json
from datetime import timedelta
from typing import Any

import pytest
from django.db import models
from django.utils import timezone

from survey.loans.models import LoanCheck, PointCheck
from survey.loans.stated import differences, statement_of
from survey.loans.statements import FIELDS, CannotRead, read_statement, sha256_of
from survey.sync import services
from tests.factories import (
    AmendmentFactory,
    MeasurementFactory,
    ObservationFactory,
    PhotographFactory,
    TermFactory,
    examined,
)
from tests.loans.museum import check_of, lent, new_loan, signed

pytestmark = pytest.mark.django_db

# The parts that are fixed by the signature; the loan and the catalogue go on.
FIXED = [name for name in FIELDS if name not in ("loan", "object")]
ALTERED = [(part, field) for part in FIXED for field in FIELDS[part] if field != "id"]


@pytest.fixture
def check() -> LoanCheck:
    """Signed, with a photograph, a measurement, and a point each way."""
    one = lent(new_loan(), observations=3)
    made = check_of(one, crate="Crate 2", humidity_percent=48.0)
    PhotographFactory(examination=made.examination)
    MeasurementFactory(examination=made.examination)
    point = made.points.first()
    assert point is not None
    services.record_change(
        "point_check",
        point,
        {"answer": PointCheck.Answer.NOT_VISIBLE, "reason": "Below the mount.", "now": None},
        None,
    )
    return signed(made, "Ruth Pennarrow", "Tobias Fell")


def test_made_twice_it_is_the_same(check: LoanCheck) -> None:
    again = LoanCheck.objects.get(pk=check.pk)
    assert statement_of(again) == statement_of(check) == check.statement
    assert list(differences(again)) == []


def test_it_holds_every_field_it_promises_and_no_other(check: LoanCheck) -> None:
    said = read_statement(check.statement)
    assert set(said) == {*FIELDS, "kind", "version"}
    for part, fields in FIELDS.items():
        rows = said[part] if isinstance(said[part], list) else [said[part]]
        assert rows, part
        for row in rows:
            assert set(row) == set(fields)


def test_it_is_compact_and_sorted_and_keeps_accents() -> None:
    one = lent(new_loan())
    made = check_of(one, venue="Château d’Étang")
    text = statement_of(made)
    assert "Château d’Étang" in text
    assert text == json.dumps(
        json.loads(text), ensure_ascii=False, sort_keys=True, separators=(",", ":")
    )


def rows_of(check: LoanCheck, part: str) -> Any:
    """The rows that a part of the statement tells of."""
    if part == "check":
        return LoanCheck.objects.filter(pk=check.pk)
    if part == "examination":
        return type(check.examination).objects.filter(pk=check.examination_id)
    if part == "points":
        return check.points.all()
    return getattr(check.examination, part).all()


def another(check: LoanCheck, row: Any, name: str) -> Any:
    """A value that the row does not have."""
    field = row._meta.get_field(name)
    value = getattr(row, name)
    if isinstance(field, models.ForeignKey):
        return {
            "term": TermFactory,
            "earlier": lambda: examined(object=check.examination.object),
            "observation": ObservationFactory,
            "photograph": PhotographFactory,
            "now": ObservationFactory,
        }[name]()
    if isinstance(field, models.DateTimeField):
        return value + timedelta(minutes=1)
    if isinstance(field, models.BooleanField):
        return not value
    if isinstance(field, models.FloatField):
        return (value or 0) + 1
    if isinstance(field, models.JSONField):
        return {"lights": ["raking"]}.get(name, {"altered": True})
    choices = [code for code, _ in field.choices or [] if code != value]
    return choices[-1] if choices else "altered"


@pytest.mark.parametrize(("part", "field"), ALTERED)
def test_a_field_altered_after_signing_is_told(check: LoanCheck, part: str, field: str) -> None:
    """Altered behind the back of the log, which would have refused it."""
    rows = rows_of(check, part)
    row = rows.first()
    rows.filter(pk=row.pk).update(**{field: another(check, row, field)})
    told = list(differences(LoanCheck.objects.get(pk=check.pk)))
    assert len(told) == 1, told
    assert told[0].startswith(f"{part} {row.pk}: “{field}” was signed as ")


@pytest.mark.parametrize("part", ["observations", "measurements", "photographs", "points"])
def test_a_part_that_went_or_came_is_told(check: LoanCheck, part: str) -> None:
    rows = rows_of(check, part)
    gone = rows.last()
    rows.filter(pk=gone.pk).update(deleted_at=timezone.now())
    [told] = differences(LoanCheck.objects.get(pk=check.pk))
    assert told == f"{part} {gone.pk}: was signed, and is gone."
    rows.filter(pk=gone.pk).update(deleted_at=None)
    made = {
        "observations": lambda: ObservationFactory(examination=check.examination),
        "measurements": lambda: MeasurementFactory(examination=check.examination),
        "photographs": lambda: PhotographFactory(examination=check.examination),
        "points": lambda: PointCheck.objects.create(
            loan_check=check, observation=ObservationFactory()
        ),
    }[part]()
    [told] = differences(LoanCheck.objects.get(pk=check.pk))
    assert told == f"{part} {made.pk}: came after the signature."


def test_amendments_and_the_catalogue_s_own_ways_do_not_alter_it(check: LoanCheck) -> None:
    before = check.statement
    AmendmentFactory(examination=check.examination, field="notes", after="Damp after all.")
    services.record_change("loan", check.loan, {"title": "Another name"}, None)
    item = check.examination.object
    services.log_many("object", [item], None)
    services.record_change("object", item, {"title": "Reeds, renamed"}, None)
    check.refresh_from_db()
    assert check.statement == before and list(differences(check)) == []


@pytest.mark.parametrize("field", ["statement", "crate", "note", "stage", "deleted"])
def test_the_check_itself_stays_as_it_was_signed(check: LoanCheck, field: str) -> None:
    value = True if field == "deleted" else "return" if field == "stage" else "otherwise"
    with pytest.raises(services.Refused):
        services.record_change("loan_check", check, {field: value}, None)
    for name, row in (
        ("point_check", check.points.first()),
        ("signature", check.signatures.first()),
        ("observation", check.examination.observations.first()),
    ):
        with pytest.raises(services.Refused):
            services.record_change(name, row, {"deleted": True}, None)
    assert list(differences(LoanCheck.objects.get(pk=check.pk))) == []


def test_a_signature_below_other_words_is_refused(check: LoanCheck) -> None:
    with pytest.raises(services.Refused) as refusal:
        services.record_change(
            "signature",
            None,
            {
                "loan_check": check,
                "role": "receiver",
                "name": "Ro Fell",
                "strokes": [],
                "sha256": sha256_of(check.statement + " "),
            },
            None,
        )
    assert "other words" in refusal.value.reasons["sha256"]


def test_it_is_not_signed_while_a_point_is_open() -> None:
    one = lent(new_loan(), observations=4)
    made = check_of(one, answers=False)
    with pytest.raises(services.Refused, match="4 known points are neither answered nor left open"):
        services.record_change("loan_check", made, {"statement": statement_of(made)}, None)
    for seen, (answer, reason) in zip(
        one.observations,
        [("same", ""), ("changed", "Longer."), ("not-visible", "Mount."), ("", "No time.")],
        strict=True,
    ):
        assert not made.is_signed
        services.record_change(
            "point_check",
            None,
            {"loan_check": made, "observation": seen, "answer": answer, "reason": reason},
            None,
        )
    services.record_change("loan_check", made, {"statement": statement_of(made)}, None)
    assert made.is_signed


@pytest.mark.parametrize("answer", ["changed", "not-visible", ""])
def test_these_answers_need_words(answer: str) -> None:
    one = lent(new_loan(), observations=1)
    made = check_of(one, answers=False)
    fields = {"loan_check": made, "observation": one.observations[0], "answer": answer}
    services.record_change("point_check", None, fields, None)
    with pytest.raises(services.Refused, match="1 known point is neither"):
        services.record_change("loan_check", made, {"statement": statement_of(made)}, None)


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", "not JSON", '{"kind": "fieldleaf loan check"}', '"words"']
)
def test_other_texts_are_no_statements(text: str) -> None:
    with pytest.raises(CannotRead):
        read_statement(text)


def test_parts_of_the_wrong_shape_are_no_statement(check: LoanCheck) -> None:
    said = json.loads(check.statement)
    for part, wrong in itertools.product(("loan", "object", "check"), ([], "x", None)):
        with pytest.raises(CannotRead):
            read_statement(json.dumps(said | {part: wrong}))
