"""What the report of a whole loan says: every check of one stage, in one document."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from survey.access.models import Person
from survey.loans.chains import Chain, chains_of
from survey.loans.conditions import agreed_on
from survey.loans.models import Loan, LoanCheck
from survey.reports.check_content import CheckContent, check_content_of, loan_facts, words_used
from survey.reports.content import Facts, made_facts
from survey.reports.figures import Figure
from survey.reports.job import Say
from survey.reports.standing import check_tells_of
from survey.triage.rule import counted


@dataclass(frozen=True)
class Bound:
    """One check of the document. ``anchor``: where its pages begin."""

    anchor: str
    check: LoanCheck
    content: CheckContent


@dataclass(frozen=True)
class Unchecked:
    """An object of the loan without a check of this stage."""

    number: str
    title: str


@dataclass(frozen=True)
class LoanContent:
    """All of the report of one stage of a loan.

    counted  how many objects there are, and how many of them were checked and signed
    """

    reference: str
    title: str
    stage: str
    counted: str
    loan: Facts
    agreed: Facts
    made: Facts
    bound: list[Bound]
    unchecked: list[Unchecked]
    lacks: str
    drawn: list[Figure] = field(default_factory=list)

    @property
    def held(self) -> CheckContent | None:
        """The first that was signed, to show with it how a document is held to what was signed."""
        return next((one.content for one in self.bound if one.content.is_signed), None)

    @property
    def words(self) -> Facts:
        return words_used(frozenset[str]().union(*(one.content.lights for one in self.bound)))

    @property
    def is_all_signed(self) -> bool:
        return bool(self.bound) and all(one.content.is_signed for one in self.bound)


def loan_content_of(
    loan: Loan,
    stage: LoanCheck.Stage,
    maker: Person,
    tells: str,
    made_with: str,
    say: Say,
) -> LoanContent:
    """Of the checks of one stage, in the order of the loan's list; photographs numbered on."""
    chains = chains_of(loan)
    checks = [(chain, check) for chain in chains for check in chain.at(stage)]
    bound: list[Bound] = []
    drawn: list[Figure] = []
    first = 1
    for place, (chain, check) in enumerate(checks):
        say(0.25 * place / len(checks), f"Gathering {chain.loaned.object.accession_number}")
        content = check_content_of(
            check, maker, check_tells_of(check), made_with, lambda *_: None, first
        )
        attached = f"signed-{place + 1}.json"
        bound.append(Bound(f"check-{place + 1}", check, replace(content, file_name=attached)))
        drawn += content.drawn
        first = max([first - 1, *(figure.number for figure in content.drawn)]) + 1
    lacks = " ".join(
        f"{one.content.number}: {one.content.lacks}" for one in bound if one.content.lacks
    )
    return LoanContent(
        reference=loan.reference,
        title=loan.title,
        stage=stage.label,
        counted=tells,
        loan=loan_facts(loan),
        agreed=agreed_on(loan),
        made=made_facts(maker, tells, made_with, lacks),
        bound=bound,
        unchecked=[
            Unchecked(chain.loaned.object.accession_number, chain.loaned.object.title)
            for chain in chains
            if not chain.at(stage)
        ],
        lacks=lacks,
        drawn=drawn,
    )


def counted_in_words(stage: LoanCheck.Stage, chains: Sequence[Chain]) -> str:
    """``Arrival checks of 2 of 5 objects, 1 of them signed``."""
    checked = [chain for chain in chains if chain.at(stage)]
    signed = sum(all(check.is_signed for check in chain.at(stage)) for chain in checked)
    of = f"{len(checked)} of {counted(len(chains), 'object')}"
    return f"{stage.label} checks of {of}, {'all' if signed == len(checked) else signed} signed"
