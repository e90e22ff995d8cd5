"""Keeping filters of the queues under names."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from survey.desk.queue_filter import as_query
from survey.desk.views.session import back, person_of
from survey.triage import keeping
from survey.triage.kept import SavedFilter


@require_POST
@login_required
def keep_filter(request: HttpRequest) -> HttpResponse:
    query = as_query(QueryDict(request.POST.get("query", "")))
    try:
        saved = keeping.keep_filter(
            person_of(request),
            name=request.POST.get("name", ""),
            query=query,
            is_shared=request.POST.get("shared") == "yes",
        )
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"The filter is kept as “{saved.name}”.")
    return redirect(f"{reverse('desk:queue')}?{query}")


@require_POST
@login_required
def drop_filter(request: HttpRequest, key: int) -> HttpResponse:
    saved = get_object_or_404(SavedFilter.objects.select_related("person"), pk=key)
    keeping.drop_filter(saved, person=person_of(request))
    messages.success(request, f"The filter “{saved.name}” is taken away.")
    return redirect(back(request, reverse("desk:queue")))
