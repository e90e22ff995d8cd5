"""Whether signed examinations are as they were signed, by the word of the change log."""

from collections.abc import Iterable, Iterator
from typing import Any

from survey.examination.models import Examination
from survey.examination.serializers import PARTS
from survey.sync.care.replay import replay
from survey.sync.conflict import value_of
from survey.sync.models import Change

A_BATCH = 200


def altered_after_signing() -> Iterator[str]:
    """A sentence for each change that reached a signed examination, or a part of one."""
    signed = Examination.objects.filter(signed_at__isnull=False).select_related("object")
    keys = list(signed.order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(keys), A_BATCH):
        examinations = {
            str(one.pk): one for one in signed.filter(pk__in=keys[start : start + A_BATCH])
        }
        signed_by = {}
        for key, changes in _histories("examination", examinations).items():
            signing = next((one for one in changes if one.fields.get("signed_at")), None)
            if signing is not None:
                signed_by[key] = signing
                for change in _alterations(changes, signing):
                    yield _sentence(examinations[key], signing, change, "it")
        for name, serializer in PARTS.items():
            yield from _of_parts(name, serializer.Meta.model, examinations, signed_by)


def _of_parts(
    name: str, model: Any, examinations: dict[str, Examination], signed_by: dict[str, Change]
) -> Iterator[str]:
    parts = model.objects.filter(examination__in=list(examinations))
    whose = {str(part): str(key) for part, key in parts.values_list("pk", "examination")}
    for part, changes in _histories(name, whose).items():
        signing = signed_by.get(whose[part])
        if signing is None or _was_taken_over(changes[0]):
            continue
        for change in _alterations(changes, signing):
            yield _sentence(examinations[whose[part]], signing, change, f"its {name} {part}")


def _histories(name: str, keys: Iterable[str]) -> dict[str, list[Change]]:
    """The numbered changes of each record, in order."""
    found = Change.objects.filter(entity=name, entity_id__in=list(keys)).exclude(number=None)
    histories: dict[str, list[Change]] = {}
    for change in found.order_by("number"):
        histories.setdefault(change.entity_id, []).append(change)
    return histories


def _alterations(changes: list[Change], signing: Change) -> Iterator[Change]:
    """Changes after the signing that say something else than what stood then.

    A question that was still open is closed by saying again what stands.
    """
    after = [change for change in changes if (change.number or 0) > (signing.number or 0)]
    if not after:
        return
    stood = replay(changes[: len(changes) - len(after)]).shown
    for change in after:
        same = all(
            field in stood and value_of(stood[field], field) == value_of(change, field)
            for field in change.fields
        )
        if not same:
            yield change


def _was_taken_over(first: Change) -> bool:
    """Whether a record came signed and whole from elsewhere, part after part, in bulk."""
    return first.device_id is None and first.base == 0


def _sentence(examination: Examination, signing: Change, change: Change, what: str) -> str:
    return (
        f"Examination {examination.pk} of {examination.object.accession_number} was signed by "
        f"change {signing.number:,}, and change {change.number:,} altered {what} afterwards "
        f"({', '.join(sorted(change.fields))})."
    )
