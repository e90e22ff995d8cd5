"""What changes examinations at the desk. Tablets change them by sync, under the same checks."""

from typing import Any

from django.utils import timezone

from survey.access.models import Person
from survey.examination.models import Amendment, Examination
from survey.sync.services import record_change


def sign(examination: Examination, person: Person) -> Examination:
    """Sign an examination with the person's name and the time. From then on it is fixed.

    Raises Refused when it is signed already, when nothing is recorded and nobody said that
    nothing was seen, or when both are said.
    """
    fields = {"signed_at": timezone.now(), "signed_name": person.name}
    signed: Examination = record_change("examination", examination, fields, person)
    return signed


def amend(
    examination: Examination,
    person: Person,
    reason: str,
    *,
    subject: str = "examination",
    field: str = "",
    before: Any = None,
    after: Any = None,
) -> Amendment:
    """Add words to a signed examination; what was signed stays beside them.

    subject        "examination", or a part of it such as "observation:<key>"
    field          which field of it is corrected; "" for words alone
    before, after  its value as signed, and as it should read

    Raises Refused when it is not signed, or when the field would not take the value.
    """
    fields = {
        "examination": examination,
        "subject": subject,
        "field": field,
        "before": before,
        "after": after,
        "reason": reason,
        "signed_name": person.name,
    }
    amendment: Amendment = record_change("amendment", None, fields, person)
    return amendment
