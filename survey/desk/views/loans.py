"""Loans: the list, one loan with its objects and their checks, and how it is arranged."""

from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.access.models import LoanPass
from survey.catalogue.queries import search_objects
from survey.desk import made_reports
from survey.desk.loan_forms import (
    AddObjectsForm,
    LoanedObjectForm,
    LoanForm,
    PassForm,
    venues_form,
    venues_of,
)
from survey.desk.loan_words import (
    days_of,
    held,
    links_of,
    standing_in_words,
    time_left,
)
from survey.desk.views.objects import take_back
from survey.desk.views.session import person_of
from survey.loans import arranging
from survey.loans.arranging import DAYS, Overlaps, living_objects
from survey.loans.chains import Chain, chains_for, chains_of, standing_of
from survey.loans.conditions import agreed_on
from survey.loans.days import days_in_words
from survey.loans.models import Loan, LoanCheck, LoanedObject
from survey.reports.kinds import OF_STAGE
from survey.sync.services import Refused

FOUND_SHOWN = 20
PAST_A_PAGE = 50


@require_safe
@login_required
def loan_list(request: HttpRequest) -> HttpResponse:
    """What is out now, what is coming, and what is past."""
    today = timezone.localdate()
    living = Loan.objects.filter(deleted_at=None)
    now = living.filter(first_day__lte=today, last_day__gte=today).order_by("last_day", "id")
    coming = living.filter(first_day__gt=today).order_by("first_day", "id")
    past = living.filter(last_day__lt=today).order_by("-last_day", "id")
    page = Paginator(past, PAST_A_PAGE).get_page(request.GET.get("page"))
    groups = [("now", "Now", list(now)), ("coming", "Coming", list(coming)), ("past", "Past", page)]
    chains = chains_for(loan for _, _, loans in groups for loan in loans)
    return render(
        request,
        "desk/loans/loans.html",
        {
            "groups": [
                (code, name, [listed(loan, chains[loan.pk], today) for loan in loans])
                for code, name, loans in groups
            ],
            "page": page,
        },
    )


def listed(loan: Loan, chains: list[Chain], today: date) -> dict[str, Any]:
    standing = standing_of(loan, chains, today)
    return {
        "loan": loan,
        "days": days_of(loan),
        "left": time_left(loan, today),
        "number": len(chains),
        "words": standing_in_words(standing),
        "is_open": standing.is_due or standing.begun,
    }


@require_safe
@login_required
def loan_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return render(request, "desk/loans/loan.html", about(living_loan(key)))


def about(loan: Loan) -> dict[str, Any]:
    """All that the page of one loan shows."""
    today = timezone.localdate()
    chains = chains_of(loan)
    passes = LoanPass.objects.filter(loan=loan.pk).select_related("person", "device", "made_by")
    reports = [
        made_reports.listed(kind, loan)
        for stage, kind in OF_STAGE.items()
        if any(chain.at(stage) for chain in chains)
    ]
    return {
        "loan": loan,
        "days": days_of(loan),
        "left": time_left(loan, today),
        "has_ended": today > loan.last_day,
        "standing": standing_in_words(standing_of(loan, chains, today)),
        "chains": [
            (chain.loaned, links_of(chain), chain.is_signed(LoanCheck.Stage.RETURN))
            for chain in chains
        ],
        "venues": [venue | {"days": venue_days(venue)} for venue in loan.venues],
        "conditions": agreed_on(loan),
        "passes": held(passes, timezone.now()),
        "reports": reports,
        "is_open_report": any(one.open for one in reports),
        "pass_form": PassForm(),
    }


def venue_days(venue: dict[str, str]) -> str:
    return days_in_words(*(date.fromisoformat(venue[name]) for name in DAYS))


@login_required
def make_loan(request: HttpRequest) -> HttpResponse:
    arranging.check_may_arrange(person_of(request))
    given = request.POST if request.method == "POST" else None
    form, venues = LoanForm(given), venues_form(given, [])
    if given is not None and form.is_valid() and venues.is_valid():
        try:
            loan = arranging.make_loan(
                person_of(request), **form.values(), venues=venues_of(venues)
            )
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, "The loan is made. Put its objects on the list.")
            return redirect("desk:loan-objects", key=loan.pk)
    return loan_form(request, None, form, venues)


@login_required
def edit_loan(request: HttpRequest, key: UUID) -> HttpResponse:
    """Only what was changed is sent on, so others' words stand."""
    loan = living_loan(key)
    arranging.check_may_arrange(person_of(request))
    given = request.POST if request.method == "POST" else None
    form, venues = LoanForm(given, instance=living_loan(key)), venues_form(given, loan.venues)
    if given is not None and form.is_valid() and venues.is_valid():
        changed = form.changed(loan)
        if venues_of(venues) != loan.venues:
            changed["venues"] = venues_of(venues)
        try:
            if changed:
                arranging.edit_loan(
                    loan, person_of(request), changed, is_meant=form.cleaned_data["is_meant"]
                )
        except Refused as refusal:
            take_back(form, refusal)
            form.must_be_meant = isinstance(refusal, Overlaps)
        else:
            messages.success(request, "The loan is saved.")
            return redirect("desk:loan", key=loan.pk)
    return loan_form(request, loan, form, venues)


def loan_form(request: HttpRequest, loan: Loan | None, form: LoanForm, venues: Any) -> HttpResponse:
    return render(
        request,
        "desk/loans/loan_form.html",
        {"loan": loan, "form": form, "venues": venues},
        status=400 if form.errors or (venues.is_bound and not venues.is_valid()) else 200,
    )


@require_POST
@login_required
def remove_loan(request: HttpRequest, key: UUID) -> HttpResponse:
    loan = living_loan(key)
    try:
        arranging.remove_loan(loan, person_of(request))
    except Refused as refusal:
        return refused(request, loan, refusal)
    messages.success(request, f"The loan {loan} is taken out.")
    return redirect("desk:loans")


@login_required
def add_objects(request: HttpRequest, key: UUID) -> HttpResponse:
    """Objects by their accession numbers; a search finds these."""
    loan = living_loan(key)
    arranging.check_may_arrange(person_of(request))
    form = AddObjectsForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            added = arranging.add_objects(
                loan,
                given["numbers"],
                person_of(request),
                crate=given["crate"],
                is_meant=given["is_meant"],
            )
        except Refused as refusal:
            take_back(form, refusal)
            form.must_be_meant = isinstance(refusal, Overlaps)
        else:
            messages.success(
                request, f"{len(added)} object{'' if len(added) == 1 else 's'} put on the loan."
            )
            return redirect("desk:loan", key=loan.pk)
    text = request.GET.get("text", "").strip()
    there = set(living_objects(loan).values_list("object", flat=True))
    found = search_objects(text)[:FOUND_SHOWN] if text else []
    return render(
        request,
        "desk/loans/objects.html",
        {
            "loan": loan,
            "form": form,
            "text": text,
            "found": [(one, one.pk in there) for one in found],
        },
        status=400 if form.errors else 200,
    )


@login_required
def edit_object(request: HttpRequest, key: UUID) -> HttpResponse:
    loaned = living_loaned(key)
    arranging.check_may_arrange(person_of(request))
    form = LoanedObjectForm(
        request.POST if request.method == "POST" else None, instance=living_loaned(key)
    )
    if request.method == "POST" and form.is_valid():
        try:
            if form.changed_data:
                arranging.edit_object(loaned, person_of(request), form.changed())
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, "Saved.")
            return redirect("desk:loan", key=loaned.loan_id)
    return render(
        request,
        "desk/loans/object.html",
        {"loaned": loaned, "loan": loaned.loan, "item": loaned.object, "form": form},
        status=400 if form.errors else 200,
    )


@require_POST
@login_required
def remove_object(request: HttpRequest, key: UUID) -> HttpResponse:
    loaned = living_loaned(key)
    try:
        arranging.remove_object(loaned, person_of(request))
    except Refused as refusal:
        return refused(request, loaned.loan, refusal)
    messages.success(request, f"{loaned.object.accession_number} is taken off the loan.")
    return redirect("desk:loan", key=loaned.loan_id)


def refused(request: HttpRequest, loan: Loan, refusal: Refused) -> HttpResponse:
    """Back to the loan, with the sentence that says why not."""
    messages.error(request, str(refusal))
    return redirect("desk:loan", key=loan.pk)


def living_loan(key: UUID) -> Loan:
    return get_object_or_404(Loan, pk=key, deleted_at=None)


def living_loaned(key: UUID) -> LoanedObject:
    return get_object_or_404(
        LoanedObject.objects.select_related("loan", "object"),
        pk=key,
        deleted_at=None,
        loan__deleted_at=None,
    )
