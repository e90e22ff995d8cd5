"""Whether the paper agrees with the object's date: questions, and a person's answers."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.forms import PaperNoteForm
from survey.desk.told import Told, check_may_correct, framed, told
from survey.desk.views.session import person_of
from survey.reading import services
from survey.reading.models import DateAnswer, PaperNote
from survey.reading.queries import date_questions


@require_safe
@login_required
def date_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return render(request, "desk/lights/date.html", about(told(request, key)))


@require_POST
@login_required
def answer(request: HttpRequest, key: UUID) -> HttpResponse:
    """Agrees, does not agree, or left open, with a reason. Earlier answers are kept."""
    seen = told(request, key)
    check_may_correct(seen)
    rule, reason = request.POST.get("rule", ""), request.POST.get("reason", "")
    try:
        services.answer_date(
            seen.examination.object,
            rule,
            person_of(request),
            request.POST.get("answer", ""),
            reason,
        )
    except ValidationError as error:
        context = about(seen, {rule: (" ".join(error.messages), reason)})
        return render(request, "desk/lights/date.html", context, status=400)
    messages.success(request, "Your answer is kept.")
    return redirect(f"{reverse('desk:date', args=[seen.examination.pk])}#{rule}")


@require_POST
@login_required
def note_paper(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    check_may_correct(seen)
    form = PaperNoteForm(request.POST)
    if form.is_valid():
        services.note_paper(seen.examination.object, person_of(request), form.cleaned_data)
        messages.success(request, "What you know of the paper is kept.")
        return redirect("desk:date", key=seen.examination.pk)
    return render(request, "desk/lights/date.html", about(seen) | {"note_form": form}, status=400)


def about(seen: Told, problems: dict[str, tuple[str, str]] | None = None) -> dict[str, Any]:
    """problems  by the code of a question: why its answer was not taken, and the reason typed"""
    item = seen.examination.object
    note = PaperNote.objects.filter(object=item).select_related("person").first()
    questions = []
    for question in date_questions(item):
        problem, reason = (problems or {}).get(question.rule.code, ("", ""))
        questions.append({"question": question, "problem": problem, "reason": reason})
    return framed(seen, "date") | {
        "questions": questions,
        "answers": DateAnswer.Answer.choices,
        "is_dated": item.earliest_year is not None or item.latest_year is not None,
        "note": note,
        "note_form": PaperNoteForm(instance=note),
    }
