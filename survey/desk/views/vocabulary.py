"""The vocabulary as the department reads it, and its own terms."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.access.services import note
from survey.desk.forms import TermForm
from survey.desk.views.session import person_of
from survey.vocabulary import queries, services
from survey.vocabulary.models import Term


@require_safe
@login_required
def vocabulary(request: HttpRequest) -> HttpResponse:
    terms = queries.terms()
    groups = [
        (group, [term for term in terms if term["group"] == group["code"]])
        for group in queries.groups()
    ]
    return render(
        request,
        "desk/vocabulary.html",
        {
            "groups": groups,
            "number": sum(not term["retired"] for term in terms),
            "lights": queries.lights(),
            "cautions": queries.cautions(),
            "hazards": queries.hazards(),
            "grades": queries.grades(),
            "kinds": queries.kinds_of_work(),
        },
    )


@login_required
def add_term(request: HttpRequest) -> HttpResponse:
    check_head(request)
    form = TermForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            term = services.add_term(**form.term())
        except ValidationError as refusal:
            form.take_back(refusal)
        else:
            note(person_of(request), "term added", term.code)
            messages.success(request, f"“{term.name}” is now in the vocabulary.")
            return redirect(reverse("desk:vocabulary") + f"#term-{term.code}")
    return render(request, "desk/term_add.html", {"form": form}, status=400 if form.errors else 200)


@require_POST
@login_required
def set_retired(request: HttpRequest, code: str) -> HttpResponse:
    """Retire a term, or offer it again; records that use it stay as they are."""
    check_head(request)
    term = get_object_or_404(Term, pk=code)
    if request.POST.get("retired") == "yes":
        services.retire_term(term.code)
        note(person_of(request), "term retired", term.code)
    else:
        services.offer_term_again(term.code)
        note(person_of(request), "term offered again", term.code)
    return redirect(reverse("desk:vocabulary") + f"#term-{term.code}")


def check_head(request: HttpRequest) -> None:
    if not person_of(request).is_head:
        raise PermissionDenied("Only the head of department changes the vocabulary.")
