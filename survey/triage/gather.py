"""Turns records into the facts the rule works on, in a fixed number of database queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db.models import CharField, Exists, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Concat

from survey.catalogue.models import Object
from survey.examination.amended import added_by, amended, one_of
from survey.examination.models import (
    Amendment,
    Examination,
    Observation,
    Photograph,
    Recommendation,
    Side,
)
from survey.examination.queries import terms_added
from survey.loans.models import LoanedObject
from survey.triage.models import Need
from survey.triage.rule import (
    EXTENT,
    GRADE,
    NATURE,
    SEVERITY,
    Alarm,
    Facts,
    Needed,
    Seen,
    hazards_now,
)
from survey.vocabulary.models import Term

# What a signed amendment can change of what the rule looks at, and the values it knows.
AMENDABLE = {
    "nature": one_of(NATURE),
    "extent": one_of(EXTENT),
    "severity": one_of(SEVERITY),
    "grade": one_of(GRADE),
}


@dataclass(frozen=True)
class HazardSeen:
    """A hazard that cannot wait, and the examination that saw it."""

    alarm: Alarm
    examination: Examination


@dataclass(frozen=True)
class Standing:
    """What is known of one object now.

    examination  the latest signed one; where none is signed yet, the latest unsigned
    newer        unsigned ones begun after it: not yet its examiner's last word, so they
                 bring hazards forward but do not replace what was signed
    facts        of ``examination``, without the readiness of any one piece of work
    work         what ``examination`` and ``newer`` recommend, done or not
    hazards      those that cannot wait, from all of these
    observations those behind ``facts`` and ``hazards``, as they were recorded
    """

    object: Object
    examination: Examination
    newer: tuple[Examination, ...]
    facts: Facts
    work: tuple[Recommendation, ...]
    hazards: tuple[HazardSeen, ...]
    observations: tuple[Observation, ...] = ()


def later_signed(outer: str = "") -> QuerySet[Examination]:
    """Signed examinations of the same object begun after the outer query's, earliest first.

    ``outer`` leads from the outer row to its examination, for example ``examination__``.
    """
    started_at, key = OuterRef(f"{outer}started_at"), OuterRef(f"{outer}id")
    return Examination.objects.filter(
        Q(started_at__gt=started_at) | Q(started_at=started_at, id__gt=key),
        object=OuterRef(f"{outer}object"),
        deleted_at__isnull=True,
        signed_at__isnull=False,
    ).order_by("started_at", "id")


def current_examinations() -> QuerySet[Examination]:
    """Those that no later signed examination of the same object supersedes."""
    return Examination.objects.filter(
        ~Exists(later_signed()), deleted_at__isnull=True, object__deleted_at__isnull=True
    )


def _needs(today: date, current: QuerySet[Examination]) -> "QuerySet[Any, tuple[Any, ...]]":
    """(object, kind, title, day) of what the objects of these examinations are wanted for."""
    objects = current.order_by().values("object")
    said = Need.objects.filter(object__in=objects).order_by()
    # Once it has begun, the object is away, and nothing is done for the loan any more.
    lent = LoanedObject.objects.filter(
        object__in=objects, deleted_at=None, loan__deleted_at=None, loan__first_day__gte=today
    ).order_by()
    named = Concat("loan__reference", Value(", "), "loan__title", output_field=CharField())
    return said.values_list("object", "kind", "title", "due").union(
        lent.values_list("object", Value(Need.Kind.LOAN.value), named, "loan__first_day"),
        all=True,
    )


def standings(today: date, objects: Iterable[Any] | None = None) -> list[Standing]:
    """Every examined object, or those of the given keys, as it stands today.

    Six queries, however many there are, and one for what amendments add, where any does.
    """
    current = current_examinations()
    if objects is not None:
        current = current.filter(object__in=list(objects))
    of_current = {"examination__in": current, "deleted_at__isnull": True}
    by_object: dict[Any, list[Examination]] = defaultdict(list)
    for examination in current.select_related("object", "examiner", "visit").order_by(
        "started_at", "id"
    ):
        by_object[examination.object_id].append(examination)
    amended_since = list(Amendment.objects.filter(**of_current).order_by("signed_at"))
    amendments, terms = _by_examination(amended_since), terms_added(amended_since)
    observations = _by_examination(
        Observation.objects.filter(**of_current).select_related("term").order_by("id")
    )
    work = _by_examination(
        Recommendation.objects.filter(**of_current).select_related("readiness").order_by("id")
    )
    lights: dict[Any, set[str]] = defaultdict(set)
    for examination_id, light in Photograph.objects.filter(**of_current, trouble="").values_list(
        "examination_id", "light"
    ):
        lights[examination_id].add(light)
    needs: dict[Any, list[Needed]] = defaultdict(list)
    for object_id, kind, title, due in _needs(today, current):
        needs[object_id].append(Needed(kind, title, due))

    found = []
    for examinations in by_object.values():
        signed = [examination for examination in examinations if examination.is_signed]
        standing = (signed or examinations)[-1]
        newer = tuple(e for e in examinations if not e.is_signed and e is not standing and signed)
        told = {
            examination.id: _facts(
                today,
                examination,
                observations[examination.id],
                amendments[examination.id],
                work[examination.id],
                terms,
            )
            for examination in (standing, *newer)
        }
        found.append(
            Standing(
                object=standing.object,
                examination=standing,
                newer=newer,
                facts=replace(
                    told[standing.id],
                    needs=tuple(needs[standing.object_id]),
                    lights=frozenset(lights[standing.id]),
                ),
                work=tuple(
                    recommendation
                    for examination in (standing, *newer)
                    for recommendation in work[examination.id]
                ),
                hazards=tuple(
                    HazardSeen(alarm, examination)
                    for examination in (standing, *newer)
                    if not _dealt_with(work[examination.id])
                    for alarm in hazards_now(told[examination.id])
                ),
                observations=tuple(
                    observation
                    for examination in (standing, *newer)
                    for observation in observations[examination.id]
                ),
            )
        )
    return found


def is_done(recommendation: Recommendation) -> bool:
    """Whether somebody marked the work done. No readiness row means nothing was said yet."""
    readiness = getattr(recommendation, "readiness", None)
    return readiness is not None and readiness.done_at is not None


def seen_of(observation: Observation, amendments: Iterable[Amendment]) -> Seen:
    """One observation as the rule takes it: with its signed amendments, which are named."""
    values = {name: getattr(observation, name) for name in ("nature", "extent", "severity")}
    now, remark = _amended(values, f"observation:{observation.id}", amendments)
    return Seen(
        id=str(observation.id),
        term=observation.term.name,
        group=observation.term.group,
        side=observation.side,
        hazards=tuple(observation.term.hazards),
        remark=remark,
        **now,
    )


def _added_seen(amendment: Amendment, terms: Mapping[str, Term]) -> Seen | None:
    """The observation that an amendment adds, as the rule takes it; None where it adds none.

    Its fields came as they are, so that what no observation could say counts as not said.
    """
    added = added_by(amendment) or {}
    term = terms.get(str(added.get("term")))
    if term is None:
        return None
    values = {
        name: added[name] if AMENDABLE[name](added.get(name)) else ""
        for name in ("nature", "extent", "severity")
    }
    return Seen(
        # No observation of the record: it stands among the amendments.
        id="",
        term=term.name,
        group=term.group,
        nature=values["nature"] or Observation.Nature.DAMAGE,
        extent=values["extent"],
        severity=values["severity"],
        side=added["side"] if added.get("side") in Side.values else Side.RECTO,
        hazards=tuple(term.hazards),
        remark=f"Added by amendment by {amendment.signed_name}.",
    )


def alarms_of(examination: Examination) -> tuple[Alarm, ...]:
    """The hazards that one examination noted, amended since or not, while work on them is not
    done. Its observations, amendments and recommendations are best prefetched."""
    amendments = list(examination.amendments.all())
    return hazards_now(
        _facts(
            examination.started_at.date(),
            examination,
            list(examination.observations.all()),
            amendments,
            list(examination.recommendations.all()),
            terms_added(amendments),
        )
    )


def _facts(
    today: date,
    examination: Examination,
    observations: list[Observation],
    amendments: list[Amendment],
    work: list[Recommendation],
    terms: Mapping[str, Term],
) -> Facts:
    """terms  of what the amendments add, by code"""
    added = (_added_seen(amendment, terms) for amendment in amendments)
    grade, _ = _amended({"grade": examination.grade}, "examination", amendments)
    return Facts(
        today=today,
        accession_number=examination.object.accession_number,
        grade=grade["grade"],
        seen=(
            *(seen_of(observation, amendments) for observation in observations),
            *(one for one in added if one),
        ),
        raised=frozenset(
            hazard
            for recommendation in work
            if not is_done(recommendation)
            for hazard in recommendation.hazards
        ),
        significance=examination.object.significance,
    )


def _amended(
    values: dict[str, str], subject: str, amendments: Iterable[Amendment]
) -> tuple[dict[str, str], str]:
    """The values after all amendments of the subject, and a sentence for each that changed."""
    now, altered = amended(values, subject, amendments, AMENDABLE)
    sentences = [
        f"{one.amendment.field.capitalize()} amended from {one.before or 'not said'} to "
        f"{one.after or 'not said'} by {one.amendment.signed_name}."
        for one in altered
    ]
    return now, " ".join(sentences)


def _dealt_with(work: list[Recommendation]) -> bool:
    """Whether all the work an examination asked for is marked done; some must have been asked."""
    return bool(work) and all(is_done(recommendation) for recommendation in work)


def _by_examination(rows: Iterable[Any]) -> dict[Any, list[Any]]:
    grouped: dict[Any, list[Any]] = defaultdict(list)
    for row in rows:
        grouped[row.examination_id].append(row)
    return grouped
