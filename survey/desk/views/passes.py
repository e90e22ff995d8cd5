"""Couriers' passes: made and shown once, and withdrawn."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from survey.access.models import LoanPass
from survey.catalogue.labels import qr_label
from survey.desk.loan_forms import PassForm
from survey.desk.loan_words import days_of
from survey.desk.views.loans import about, living_loan, refused
from survey.desk.views.session import person_of
from survey.loans import arranging
from survey.sync.services import Refused


@never_cache
@require_POST
@login_required
def make_pass(request: HttpRequest, key: UUID) -> HttpResponse:
    """Make a pass, and show its link: this once, for it is kept nowhere."""
    loan = living_loan(key)
    arranging.check_may_arrange(person_of(request))
    form = PassForm(request.POST)
    if not form.is_valid():
        return render(
            request, "desk/loans/loan.html", about(loan) | {"pass_form": form}, status=400
        )
    try:
        made, token = arranging.give_pass(loan, form.cleaned_data["holder"], person_of(request))
    except Refused as refusal:
        return refused(request, loan, refusal)
    address = f"{request.build_absolute_uri(reverse('field'))}#/pass/{token}"
    return render(
        request,
        "desk/loans/pass.html",
        {
            "loan": loan,
            "days": days_of(loan),
            "objects": arranging.living_objects(loan),
            "made": made,
            "address": address,
            # The drawing is made here from modules and an escaped title, not taken from a person.
            "drawing": mark_safe(qr_label(address)),
        },
    )


@require_POST
@login_required
def withdraw_pass(request: HttpRequest, key: UUID) -> HttpResponse:
    held = get_object_or_404(LoanPass.objects.select_related("person", "device"), pk=key)
    arranging.take_pass_back(held, person_of(request))
    messages.success(request, f"The pass of {held.person.name} is withdrawn: it opens nothing.")
    return redirect("desk:loan", key=held.loan)
