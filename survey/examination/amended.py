"""What signed records hold once their amendments are counted."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from survey.examination.models import Amendment

Takes = Callable[[Any], bool]


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
