"""The checks of each object on a loan as a chain: outgoing, arrival, interim, return."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from survey.loans.models import Loan, LoanCheck, LoanedObject, Signature

Stage = LoanCheck.Stage
# Those that every object goes through, in their order; interim checks are as it happens.
EXPECTED = (Stage.OUTGOING, Stage.ARRIVAL, Stage.RETURN)


@dataclass(frozen=True)
class Chain:
    """One object of a loan with its checks, by stage and then by day."""

    loaned: LoanedObject
    checks: tuple[LoanCheck, ...]

    def at(self, stage: str) -> list[LoanCheck]:
        return [check for check in self.checks if check.stage == stage]

    def is_signed(self, stage: str) -> bool:
        return any(check.is_signed for check in self.at(stage))


@dataclass(frozen=True)
class Standing:
    """How far the checks of a loan have come.

    stage   the one to see to; None when every object is back, or nothing is on the list
    signed  objects of which a check of this stage is signed
    number  objects on the loan
    is_due  False while it is not yet time: an arrival before the first day, a return before the
            last day is over
    begun   checks of any stage that are begun and not signed
    """

    stage: Stage | None
    signed: int
    number: int
    is_due: bool
    begun: int


def chains_of(loan: Loan) -> list[Chain]:
    return chains_for([loan])[loan.pk]


def chains_for(loans: Iterable[Loan]) -> dict[UUID, list[Chain]]:
    """The chains of each loan, in the order of its list; three queries."""
    keys = [loan.pk for loan in loans]
    checks: dict[tuple[UUID, UUID], list[LoanCheck]] = defaultdict(list)
    for check in checks_in_full().filter(loan__in=keys):
        checks[check.loan_id, check.examination.object_id].append(check)
    order = {stage.value: place for place, stage in enumerate(Stage)}
    found: dict[UUID, list[Chain]] = {key: [] for key in keys}
    loaned = LoanedObject.objects.filter(loan__in=keys, deleted_at=None)
    for one in loaned.select_related("object").order_by("order", "id"):
        own = checks[one.loan_id, one.object_id]
        own.sort(key=lambda check: (order[check.stage], check.examination.started_at, check.pk))
        found[one.loan_id].append(Chain(one, tuple(own)))
    return found


def checks_in_full() -> Any:
    """Checks with their examination, its object and examiner, and their signatures."""
    signatures = Signature.objects.filter(deleted_at=None).order_by("signed_at", "id")
    return (
        LoanCheck.objects.filter(deleted_at=None, examination__deleted_at=None)
        .select_related(
            "loan", "examination__object", "examination__examiner", "examination__visit"
        )
        .prefetch_related(Prefetch("signatures", signatures))
    )


def standing_of(loan: Loan, chains: Iterable[Chain], today: date) -> Standing:
    chains = list(chains)
    begun = sum(not check.is_signed for chain in chains for check in chain.checks)
    for stage in EXPECTED:
        signed = sum(chain.is_signed(stage) for chain in chains)
        if signed < len(chains):
            return Standing(stage, signed, len(chains), _is_due(loan, stage, chains, today), begun)
    return Standing(None, len(chains), len(chains), False, begun)


def _is_due(loan: Loan, stage: Stage, chains: list[Chain], today: date) -> bool:
    """Begun early, a stage is under way."""
    if any(chain.at(stage) for chain in chains):
        return True
    if stage == Stage.RETURN:
        return today > loan.last_day
    return stage == Stage.OUTGOING or today >= loan.first_day
