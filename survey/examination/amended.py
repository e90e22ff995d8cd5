"""What signed records hold once their amendments are counted."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from survey.examination.models import Amendment

Takes = Callable[[Any], bool]
# Under this name an amendment that adds an observation holds its fields in ``after``.
ADDED = "observation"


@dataclass(frozen=True)
class Altered:
    """One value that an amendment altered."""

    amendment: Amendment
    before: Any
    after: Any


def one_of(codes: Collection[str]) -> Takes:
    """Whether a value is one of these codes."""
    return lambda value: isinstance(value, str) and value in codes


def amended(
    values: Mapping[str, Any],
    subject: str,
    amendments: Iterable[Amendment],
    takes: Mapping[str, Takes],
) -> tuple[dict[str, Any], list[Altered]]:
    """The values after all amendments of the subject, and each that altered one.

    subject     as in Amendment.subject
    amendments  oldest first
    takes       for each field that may be altered, which values it takes
    """
    now, altered = dict(values), []
    for amendment in amendments:
        name, after = amendment.field, amendment.after
        if amendment.subject == subject and name in values and takes[name](after):
            altered.append(Altered(amendment, now[name], after))
            now[name] = after
    return now, altered


def added_by(amendment: Amendment) -> Mapping[str, Any] | None:
    """The fields of the observation that an amendment adds to what was signed, as a tablet would
    have sent them; None where it adds none."""
    after = amendment.after
    if amendment.field or not isinstance(after, dict):
        return None
    fields = after.get(ADDED)
    return fields if isinstance(fields, dict) else None
