"""The invented loans: whole chains that verify, and conditions that the desk would take."""

import pytest
from django.utils import timezone

from survey.demo.museum.loans import LOANS
from survey.demo.museum.rounds import CASES
from survey.demo.services import seed
from survey.loans.chains import chains_of, standing_of
from survey.loans.models import Loan, LoanCheck, PointCheck, Signature
from survey.loans.points import open_points
from survey.loans.serializers import LoanSerializer, SignatureSerializer
from survey.loans.verifying import verify_check
from survey.sync.care.records import faults
from survey.sync.models import Change

pytestmark = pytest.mark.django_db
# The three sheets that went and came back, and those on their way.
TRAVELLED = (*CASES[21:24], *CASES[29:33])


@pytest.fixture
def seeded() -> None:
    seed([].append, objects=400, cases=TRAVELLED, longest_px=80, workers=1)


def test_one_loan_is_over_one_is_out_and_one_is_to_come(seeded: None) -> None:
    today = timezone.localdate()
    over, out, coming = Loan.objects.order_by("first_day")
    assert over.last_day < today and out.first_day <= today <= out.last_day < coming.last_day
    assert coming.first_day > today
    standings = [standing_of(loan, chains_of(loan), today) for loan in (over, out, coming)]
    assert standings[0].stage is None and standings[0].begun == 0
    assert (standings[1].stage, standings[1].signed, standings[1].number) == ("arrival", 0, 3)
    assert standings[1].is_due and standings[2].stage == "outgoing"
    for loan in (over, out, coming):
        data = {**LoanSerializer(loan).data}
        assert LoanSerializer(loan, data=data).is_valid()


def test_every_check_verifies_and_left_no_point_open(seeded: None) -> None:
    checks = LoanCheck.objects.select_related("loan", "examination__object", "earlier")
    assert checks.count() == sum(len(lending.stops) for lending in LOANS)
    for check in checks:
        assert open_points(check) == []
        verdict = verify_check(check)
        assert verdict.is_verified, verdict.faults
        assert check.signatures.count() == 2
        assert check.earlier is None or check.earlier.started_at < check.examination.started_at
    for signature in Signature.objects.all():
        assert SignatureSerializer(data={**SignatureSerializer(signature).data}).is_valid()


def test_something_came_on_the_way_and_something_could_not_be_seen(seeded: None) -> None:
    """A tear that was not there as it left, and a hinge that its frame hid on its return."""
    found = LoanCheck.objects.get(
        stage="arrival", examination__observations__term="tear", loan__title="Line and Wash"
    )
    told = {one.observation.term_id for one in found.points.all()}
    assert told and "tear" not in told
    unseen = PointCheck.objects.filter(answer="not-visible")
    assert unseen.exists() and all(one.reason and one.now is None for one in unseen)


def test_what_came_back_stands_in_the_museum_again(seeded: None) -> None:
    for chain in chains_of(Loan.objects.order_by("first_day")[0]):
        chain.loaned.object.refresh_from_db()
        assert chain.loaned.object.location is not None and not chain.loaned.object.off_site_place


def test_all_of_it_is_in_the_log(seeded: None) -> None:
    for name, model in {"loan": Loan, "loan_check": LoanCheck, "signature": Signature}.items():
        keys = set(Change.objects.filter(entity=name).values_list("entity_id", flat=True))
        assert keys == {str(key) for key in model.objects.values_list("pk", flat=True)}
    assert list(faults(lambda _: None)) == []
