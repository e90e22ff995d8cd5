"""Reads what people did with work at the desk, in a fixed number of database queries."""

from collections import defaultdict
from dataclasses import dataclass, field
from uuid import UUID

from survey.triage.gather import current_examinations
from survey.triage.work import HandOver, Hold, Piece, Placement


@dataclass(frozen=True)
class DeskWork:
    """What people did with the work of current examinations, as it stands.

    pieces       by key, those that were ended too
    shares       keys of the recommendations of each piece
    placements, holds, hand_overs   those that were not ended, by the key of their piece
    """

    pieces: dict[UUID, Piece] = field(default_factory=dict)
    shares: dict[UUID, frozenset[UUID]] = field(default_factory=dict)
    placements: dict[UUID, Placement] = field(default_factory=dict)
    holds: dict[UUID, Hold] = field(default_factory=dict)
    hand_overs: dict[UUID, HandOver] = field(default_factory=dict)
    _by_recommendation: dict[UUID, list[Piece]] = field(default_factory=dict)

    def bundle_of(self, recommendation: UUID) -> Piece | None:
        return next(iter(self._open(recommendation, Piece.Form.BUNDLE)), None)

    def parts_of(self, recommendation: UUID) -> list[Piece]:
        """Those still to do and those done, in their order; none where it is not split."""
        return self._open(recommendation, Piece.Form.PART)

    def _open(self, recommendation: UUID, form: Piece.Form) -> list[Piece]:
        return [
            piece
            for piece in self._by_recommendation.get(recommendation, ())
            if piece.form == form and piece.ended_at is None
        ]


def desk_work() -> DeskWork:
    """Four queries, however much there is."""
    pieces: dict[UUID, Piece] = {}
    shares: dict[UUID, set[UUID]] = defaultdict(set)
    by_recommendation: dict[UUID, list[Piece]] = defaultdict(list)
    through = Piece.recommendations.through
    for share in (
        through._default_manager.filter(
            recommendation__deleted_at=None, recommendation__examination__in=current_examinations()
        )
        .select_related("piece")
        .order_by("piece__made_at", "piece__order", "piece_id")
    ):
        piece = pieces.setdefault(share.piece_id, share.piece)
        shares[piece.pk].add(share.recommendation_id)
        by_recommendation[share.recommendation_id].append(piece)
    return DeskWork(
        pieces,
        {key: frozenset(found) for key, found in shares.items()},
        {one.piece_id: one for one in Placement.objects.filter(ended_at=None).select_related("by")},
        {
            one.piece_id: one
            for one in Hold.objects.filter(ended_at=None).select_related("by", "after")
        },
        {
            one.piece_id: one
            for one in HandOver.objects.filter(ended_at=None).select_related(
                "by", "to_person", "answered_by"
            )
        },
        dict(by_recommendation),
    )
