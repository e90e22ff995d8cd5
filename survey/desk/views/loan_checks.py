"""Checks of loans: one check with its points and signatures; begun, and made, at the desk."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from survey.access.models import Person
from survey.desk.checked import checked
from survey.desk.loan_forms import BeginForm, HandForm, PackingForm
from survey.desk.made_reports import listed
from survey.desk.views.loans import living_loaned
from survey.desk.views.objects import take_back
from survey.desk.views.session import person_of
from survey.examination.models import Examination
from survey.loans import checking
from survey.loans.arranging import check_may_arrange
from survey.loans.hands import half_signed
from survey.loans.models import LoanCheck, LoanedObject, Signature
from survey.loans.points import last_signed
from survey.loans.signed_files import as_json, signed_of
from survey.loans.statements import sha256_of
from survey.loans.verifying import verify_check
from survey.reports.dossier import Dossier, dossier_of
from survey.reports.kinds.loan_check import file_name
from survey.reports.models import Report
from survey.reports.signed import signatures_of
from survey.reports.words import day_in_words
from survey.sync.services import Refused

# Common practice, no source: what was seen longer ago is looked at again before it travels.
FRESH = timedelta(days=30)
OLD = (
    "This state was seen {days} days ago. Look at the object again before it leaves: best examine "
    "it anew on a tablet and sign, and that is then the state."
)
NO_PHOTOGRAPH = (
    "This state has no photograph in normal light, so at the other end nobody can hold the sheet "
    "against a picture. Photograph it before it leaves."
)
NOT_SENT = "{missing} of its {number} photographs have not arrived from the tablet yet."


@require_safe
@login_required
def check_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return render(request, "desk/loans/check.html", about(living_check(key)))


def about(check: LoanCheck, hand: HandForm | None = None) -> dict[str, Any]:
    """hand  the form of a further signature that was just sent"""
    seen = checked(check)
    digest = sha256_of(check.statement) if check.is_signed else ""
    return {
        "check": check,
        "loan": check.loan,
        "object": check.examination.object,
        "examination": check.examination,
        "checked": seen,
        "half": half_signed(check) if check.is_signed else None,
        "amended": seen.now.dossier.amended,
        "signatures": [(one, mark_safe(one.svg)) for one in signatures_of(check)],
        "digest": [digest[at : at + 4] for at in range(0, len(digest), 4)],
        "verdict": verify_check(check) if check.is_signed else None,
        "reports": listed(Report.Kind.LOAN_CHECK, check),
        "hand": hand or hand_form(None, "hand"),
    }


@login_required
def begin(request: HttpRequest, key: UUID) -> HttpResponse:
    loaned = living_loaned(key)
    check_may_arrange(person_of(request))
    form = BeginForm(
        request.POST if request.method == "POST" else None, initial={"venue": loaned.loan.borrower}
    )
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            check = checking.begin_check(loaned, given["stage"], given["venue"], person_of(request))
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, "The check is begun. Go through its points on a tablet.")
            return redirect("desk:loan-check", key=check.pk)
    return render(
        request,
        "desk/loans/begin.html",
        {"loaned": loaned, "loan": loaned.loan, "item": loaned.object, "form": form},
        status=400 if form.errors else 200,
    )


@require_POST
@login_required
def remove(request: HttpRequest, key: UUID) -> HttpResponse:
    check = living_check(key)
    try:
        checking.remove_check(check, person_of(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("desk:loan-check", key=check.pk)
    messages.success(request, "The check is taken out.")
    return redirect("desk:loan", key=check.loan_id)


@require_POST
@login_required
def sign(request: HttpRequest, key: UUID) -> HttpResponse:
    """A further signature below what was signed before."""
    check = living_check(key)
    form = hand_form(request.POST, "hand")
    if form.is_valid() and (hand := form.hand()):
        try:
            checking.sign(check, hand, person_of(request))
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, f"{hand.name} has signed.")
            return redirect("desk:loan-check", key=check.pk)
    return render(request, "desk/loans/check.html", about(check, form), status=400)


@require_safe
@login_required
def save_signed(request: HttpRequest, key: UUID) -> HttpResponse:
    """What was signed, as a file that ``manage.py verify-signature`` reads."""
    check = get_object_or_404(with_all(), pk=key, statement__gt="")
    answer = HttpResponse(as_json(signed_of(check)), content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="{ascii_name(check)} signed.json"'
    return answer


def ascii_name(check: LoanCheck) -> str:
    """A header holds no accents; the file itself tells what it is about."""
    return file_name(check).encode("ascii", "replace").decode().replace("?", "-")


@dataclass(frozen=True)
class Leaving:
    """The state in which an object is to leave, and what speaks against it.

    why_not   a sentence when it cannot be taken at all
    cautions  sentences; the person decides
    """

    state: Examination | None
    dossier: Dossier | None
    why_not: str
    cautions: list[str]
    days: int


def leaving(loaned: LoanedObject) -> Leaving:
    state = last_signed(loaned.object_id)
    why_not = checking.why_not_out(loaned, state)
    if state is None:
        return Leaving(None, None, why_not, [], 0)
    dossier = dossier_of(state)
    days = (timezone.localdate() - timezone.localdate(state.started_at)).days
    lights = {plate.photograph.light for plate in dossier.plates}
    missing = sum(not plate.is_here for plate in dossier.plates)
    cautions = []
    if days > FRESH.days:
        cautions.append(OLD.format(days=days))
    if "normal" not in lights:
        cautions.append(NO_PHOTOGRAPH)
    if missing:
        cautions.append(NOT_SENT.format(missing=missing, number=len(dossier.plates)))
    return Leaving(state, dossier, why_not, cautions, days)


@login_required
def check_out(request: HttpRequest, key: UUID) -> HttpResponse:
    """The outgoing check at the desk: the state it leaves in, how it is packed, who signs."""
    loaned = living_loaned(key)
    person = person_of(request)
    check_may_arrange(person)
    found = leaving(loaned)
    given = request.POST if request.method == "POST" else None
    packing = PackingForm(given, initial={"crate": loaned.crate}, prefix="packing")
    hands = [
        hand_form(given, "first", person, loaned.loan.lender),
        hand_form(given, "second", is_needed=False),
    ]
    if given is not None and all([form.is_valid() for form in (packing, *hands)]):
        try:
            if found.state is None or str(found.state.pk) != given.get("state"):
                raise Refused({"": "Another examination was signed meanwhile: look at this one."})
            check = checking.check_out(
                loaned,
                found.state,
                packing.cleaned_data,
                [hand for form in hands if (hand := form.hand())],
                person,
            )
        except Refused as refusal:
            take_back(packing, refusal)
        else:
            messages.success(request, "The outgoing check is signed.")
            return redirect("desk:loan-check", key=check.pk)
    return render(
        request,
        "desk/loans/check_out.html",
        {
            "loaned": loaned,
            "loan": loaned.loan,
            "object": loaned.object,
            "leaving": found,
            "dossier": found.dossier,
            "seen_on": day_in_words(found.state.started_at) if found.state else "",
            "packing": packing,
            "hands": list(zip(("First signature", "Second signature"), hands, strict=True)),
        },
        status=400 if given is not None else 200,
    )


def hand_form(
    given: Any, prefix: str, person: Person | None = None, of: str = "", *, is_needed: bool = True
) -> HandForm:
    """person  whose name stands there at first"""
    role = Signature.Role.CONSERVATOR if person else Signature.Role.COURIER
    initial = {"role": role, "name": person.name if person else "", "of": of}
    return HandForm(given, initial=initial, prefix=prefix, is_needed=is_needed)


def living_check(key: UUID) -> LoanCheck:
    return get_object_or_404(with_all(), pk=key)


def with_all() -> Any:
    return LoanCheck.objects.filter(deleted_at=None, examination__deleted_at=None).select_related(
        "loan", "examination__object", "examination__examiner", "examination__visit", "earlier"
    )
