"""What came in since a moment: examinations, hazards, checks on loans."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q

from survey.examination.models import Examination, Observation
from survey.loans.models import LoanCheck, PointCheck
from survey.sync.models import Change
from survey.triage.board import Board, Urgent


@dataclass(frozen=True)
class Arrived:
    """What came in.

    signed     examinations that were signed and hold damage; each has ``damages``, their number
    undamaged  how many more were signed, without any
    unsigned   how many came in of which no state is signed yet
    urgent     of act now, those whose hazard an examination saw that came in
    checks     of loans, signed or not; each has ``changed``, how many points were found changed
    """

    signed: Sequence[Examination]
    undamaged: int
    unsigned: int
    urgent: list[Urgent]
    checks: Sequence[LoanCheck]


def arrived(board: Board, since: datetime) -> Arrived:
    """By when it reached the server, not by when it was begun; four queries."""
    keys: dict[str, set[str]] = defaultdict(set)
    signed_keys: set[str] = set()
    for entity, key, fields in Change.objects.filter(
        entity__in=["examination", "loan_check"], number__isnull=False, received_at__gte=since
    ).values_list("entity", "entity_id", "fields"):
        keys[entity].add(key)
        if entity == "examination" and fields.get("signed_at"):
            signed_keys.add(key)
    came = list(
        Examination.objects.filter(pk__in=keys["examination"], deleted_at=None)
        .select_related("object", "examiner", "visit")
        .annotate(
            damages=Count(
                "observations",
                filter=Q(
                    observations__nature=Observation.Nature.DAMAGE,
                    observations__deleted_at=None,
                ),
            )
        )
        .order_by("-damages", "object__accession_number")
    )
    signed = [one for one in came if one.signed_at and str(one.pk) in signed_keys]
    damaged = [one for one in signed if one.damages]
    checks = (
        LoanCheck.objects.filter(pk__in=keys["loan_check"], deleted_at=None)
        .select_related("loan", "examination__object", "examination__examiner")
        .prefetch_related("signatures")
        .annotate(
            changed=Count(
                "points",
                filter=Q(points__answer=PointCheck.Answer.CHANGED, points__deleted_at=None),
            )
        )
        .order_by("loan__reference", "examination__object__accession_number")
    )
    return Arrived(
        damaged,
        len(signed) - len(damaged),
        sum(one.signed_at is None for one in came),
        [
            entry
            for entry in board.act_now
            if any(str(seen.examination.pk) in keys["examination"] for seen in entry.hazards)
        ],
        list(checks),
    )
