"""Open questions: two people gave one field two values, and a person settles which stands."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.questions import open_questions, other_value
from survey.desk.views.session import back, person_of
from survey.reports.words import value_in_words
from survey.sync import conflict
from survey.sync.models import OpenQuestion
from survey.sync.services import AlreadySettled, Refused, settle


@require_safe
@login_required
def question_list(request: HttpRequest) -> HttpResponse:
    return render(request, "desk/questions.html", {"questions": open_questions()})


@require_POST
@login_required
def settle_question(request: HttpRequest, key: UUID) -> HttpResponse:
    """Take the value shown, the value kept beside it, or a third one."""
    question = get_object_or_404(OpenQuestion.objects.select_related("shown", "kept"), pk=key)
    answer = request.POST.get("answer")
    try:
        if answer == "other":
            value = other_value(question, request.POST.getlist("other"))
        else:
            side = question.kept if answer == "kept" else question.shown
            value = conflict.value_of(side, question.field)
        settle(question, value, person_of(request))
    except ValueError as refusal:
        messages.error(request, str(refusal))
    except Refused as refusal:
        messages.error(request, f"It could not be settled so. {refusal}")
    except AlreadySettled:
        messages.error(
            request,
            "Somebody settled this otherwise in the meantime. Look at the record again. Your "
            f"answer was: {value_in_words(question.entity, question.field, value)}.",
        )
    else:
        messages.success(request, "Settled. Both values stay in the record's history.")
    return redirect(back(request, reverse("desk:questions")))
