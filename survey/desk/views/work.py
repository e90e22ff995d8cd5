"""One piece of work: why it stands where it stands, what can be done with it, what was done."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.access.models import Person
from survey.catalogue.queries import location_paths
from survey.desk.evidence import evidence_of, examinations_of
from survey.desk.views.queues import standing_in
from survey.desk.views.session import back, person_of
from survey.desk.work_forms import (
    HandOverForm,
    HoldForm,
    MergeForm,
    MoveWorkForm,
    SplitForm,
    sentences,
)
from survey.examination.models import Recommendation
from survey.reports.pictures import covers_among, plates_of
from survey.triage import finishing, handing, holding, parting, placing, queries, services
from survey.triage.acting import GONE
from survey.triage.board import Board, Row
from survey.triage.history import held_in_words, history_of
from survey.triage.pieces import desk_work
from survey.triage.work import HandOver


@require_safe
@login_required
def work_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return page_of(request, key)


def page_of(
    request: HttpRequest, key: UUID, problems: list[str] | None = None, act: str = ""
) -> HttpResponse:
    """The page of one piece of work.

    problems  why what was asked for was refused, and ``act`` what it was: its form keeps what
              was typed
    """
    desk = desk_work()
    board = queries.board(desk=desk)
    row = board.by_key.get(key)
    if row is None:
        return render(
            request, "desk/work/gone.html", {"sentence": GONE}, status=400 if problems else 404
        )
    person = person_of(request)
    plates = plates_of(examinations_of([row.standing]))
    forms_shown = forms_for(board, row, request.POST if problems else None, act)
    return render(
        request,
        "desk/work/work.html",
        {
            **standing_in(board, row),
            "object": row.object,
            "examination": row.standing.examination,
            "sentence": held_in_words(row.hold, board.waits_for(row.hold, desk))
            if row.hold
            else "",
            "covers": covers_among(plates),
            "evidence": evidence_of([row.standing], plates),
            "paths": location_paths(),
            "forms": forms_shown,
            "others": parting.can_be_one_with(row, board),
            "may_answer": row.hand_over is not None and handing.may_answer(row.hand_over, person),
            "history": history_of(row),
            "problems": problems or [],
            "act": act,
            "today": timezone.localdate(),
        },
        status=400 if problems else 200,
    )


def forms_for(board: Board, row: Row, given: QueryDict | None, act: str) -> dict[str, forms.Form]:
    """Every form of the page; the one that was sent holds what was typed."""
    sent = {name: given if name == act else None for name in ("move", "hold", "split")}
    others = sorted(
        (other for other in board.by_key.values() if other.key != row.key),
        key=lambda other: other.name,
    )
    return {
        "move": MoveWorkForm(sent["move"], auto_id="move_%s"),
        "hold": HoldForm(sent["hold"], others=others, auto_id="hold_%s"),
        "split": SplitForm(sent["split"], auto_id="split_%s"),
        "merge": MergeForm(
            given if act == "merge" else None,
            others=parting.can_be_one_with(row, board),
            auto_id="merge_%s",
        ),
        "hand_over": HandOverForm(
            given if act == "hand-over" else None,
            people=handing.colleagues(),
            auto_id="hand_over_%s",
        ),
    }


@require_POST
@login_required
def act_on(request: HttpRequest, key: UUID, act: str) -> HttpResponse:
    """Do one of ACTS. A script is answered in JSON; what is refused keeps what was typed."""
    if act not in ACTS:
        raise Http404
    wants_json = request.headers.get("Accept") == "application/json"
    try:
        said, still_there = ACTS[act](request.POST, key, person_of(request))
    except ValidationError as refusal:
        problems = sentences(refusal)
        if wants_json:
            return JsonResponse({"problem": " ".join(problems)}, status=400)
        return page_of(request, key, problems, act)
    if wants_json:
        return JsonResponse({"said": said})
    messages.success(request, said)
    otherwise = reverse("desk:work", args=[key]) if still_there else reverse("desk:queue")
    return redirect(back(request, otherwise))


def _valid(form: forms.Form) -> dict[str, Any]:
    if not form.is_valid():
        raise ValidationError(sentences(form))
    return form.cleaned_data


# Each returns what was done, in a sentence, and whether the piece is still there after.
Done = tuple[str, bool]


def _move(given: QueryDict, key: UUID, person: Person) -> Done:
    form = MoveWorkForm(given)
    told = _valid(form)
    placed = queries.board().place_of(key)
    placement = placing.move(
        key,
        person=person,
        reason=told["reason"],
        place=form.place_from(placed.place if placed else None),
        studio=told["studio"],
        kind_of_work=told["kind_of_work"],
    )
    where = f"to place {placement.place}" if placement.place else "into the other queue"
    return f"Moved {where}.", True


def _take_back(given: QueryDict, key: UUID, person: Person) -> Done:
    placing.take_back(key, person=person)
    return "The move is taken back; the rule places it again.", True


def _hold(given: QueryDict, key: UUID, person: Person) -> Done:
    board = queries.board()
    told = _valid(HoldForm(given, others=board.by_key.values()))
    held = holding.hold(
        key,
        person=person,
        reason=told["reason"],
        until=told["until"],
        after=UUID(told["after"]) if told["after"] else None,
    )
    return (
        f"Held; it comes back {'once the other work is done' if held.after else 'by itself'}.",
        True,
    )


def _release(given: QueryDict, key: UUID, person: Person) -> Done:
    holding.release(key, person=person)
    return "The hold is taken away.", True


def _split(given: QueryDict, key: UUID, person: Person) -> Done:
    form = SplitForm(given)
    _valid(form)
    parts = parting.split(key, person=person, shares=form.shares())
    return f"Split into {len(parts)} parts.", False


def _put_together(given: QueryDict, key: UUID, person: Person) -> Done:
    parting.put_together(key, person=person)
    return "The parts stand as one piece of work again.", False


def _merge(given: QueryDict, key: UUID, person: Person) -> Done:
    told = _valid(MergeForm(given, others=queries.board().by_key.values()))
    parting.merge(
        [key, *map(UUID, told["with_work"])],
        person=person,
        words=told["words"],
        hours=told["hours"],
        kind_of_work=told["kind_of_work"],
    )
    return "Done as one piece of work from now on.", False


def _take_apart(given: QueryDict, key: UUID, person: Person) -> Done:
    parting.take_apart(key, person=person)
    return "Taken apart; each recommendation stands by itself again.", False


def _hand_over(given: QueryDict, key: UUID, person: Person) -> Done:
    form = HandOverForm(given, people=handing.colleagues())
    told = _valid(form)
    handed = handing.hand_over(key, person=person, reason=told["reason"], **form.receiver())
    if handed.state == HandOver.State.ACCEPTED:
        return "It is yours now.", True
    return f"Offered to {handed.receiver}, and waits to be accepted.", True


def _accept(given: QueryDict, key: UUID, person: Person) -> Done:
    handed = handing.accept(key, person=person)
    return f"Accepted for {handed.receiver}.", True


def _send_back(given: QueryDict, key: UUID, person: Person) -> Done:
    handed = handing.send_back(key, person=person, answer=given.get("answer", ""))
    return f"Sent back to {handed.by.name}.", True


def _end_hand_over(given: QueryDict, key: UUID, person: Person) -> Done:
    handing.end_hand_over(key, person=person)
    return "It is nobody's now.", True


ACTS: dict[str, Callable[[QueryDict, UUID, Person], Done]] = {
    "move": _move,
    "take-back": _take_back,
    "hold": _hold,
    "release": _release,
    "split": _split,
    "put-together": _put_together,
    "merge": _merge,
    "take-apart": _take_apart,
    "hand-over": _hand_over,
    "accept": _accept,
    "send-back": _send_back,
    "end-hand-over": _end_hand_over,
}


@require_POST
@login_required
def set_readiness(request: HttpRequest, key: UUID) -> HttpResponse:
    """Space and materials each say "yes" or are absent."""
    try:
        finishing.set_ready(
            key,
            person=person_of(request),
            space=request.POST.get("space") == "yes",
            materials=request.POST.get("materials") == "yes",
        )
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    return redirect(back(request, reverse("desk:queue")))


@require_POST
@login_required
def set_done(request: HttpRequest, key: UUID) -> HttpResponse:
    """Of a piece of work; "no" takes it back, of a recommendation or of a part."""
    person = person_of(request)
    try:
        if request.POST.get("done") == "yes":
            finishing.finish(key, person=person)
        elif (work := Recommendation.objects.filter(pk=key, deleted_at=None).first()) is not None:
            services.mark_not_done(work, person=person)
        else:
            finishing.unfinish(key, person=person)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    return redirect(back(request, reverse("desk:queue")))
