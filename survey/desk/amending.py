"""Signs amendments at the desk."""

from typing import Any

from survey.access.models import Person
from survey.examination.models import Amendment, Examination
from survey.sync.services import record_change


def sign_amendment(
    examination: Examination,
    reason: str,
    person: Person,
    *,
    subject: str = "examination",
    field: str = "",
    before: Any = None,
    after: Any = None,
) -> Amendment:
    """Add to a signed examination, in the person's name and now; see Amendment.

    It goes through the change log, so tablets that carry the examination receive it.
    Raises Refused.
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
    made: Amendment = record_change("amendment", None, fields, person)
    return made
