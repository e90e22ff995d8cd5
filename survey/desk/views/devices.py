"""The tablets and phones that are signed in, and how to take Fieldleaf to one."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from survey.access.models import Device, Person
from survey.access.passes import withdraw_pass
from survey.access.services import revoke
from survey.catalogue.labels import qr_label
from survey.desk.views.session import person_of


@require_safe
@login_required
def device_list(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    enrolled = (
        devices_of(person_of(request))
        .select_related("person", "opened_with__made_by")
        .order_by("-enrolled_at")
    )
    devices = [(device, device.is_signed_in(now)) for device in enrolled]
    return render(request, "desk/devices.html", {"devices": devices})


@require_POST
@login_required
def revoke_device(request: HttpRequest, key: UUID) -> HttpResponse:
    device = get_object_or_404(devices_of(person_of(request)), pk=key)
    if device.is_of_pass:
        withdraw_pass(device.opened_with, by=person_of(request))
    else:
        revoke(device, by=person_of(request))
    return redirect("desk:devices")


@require_safe
@login_required
def tablet(request: HttpRequest) -> HttpResponse:
    address = request.build_absolute_uri(reverse("field"))
    # The drawing is made here from modules and an escaped title, not taken from a person.
    drawing = mark_safe(qr_label(address))
    return render(request, "desk/tablet.html", {"address": address, "drawing": drawing})


def devices_of(person: Person) -> "QuerySet[Device]":
    """Those a person may see: their own and those that opened a pass of theirs, or all of them
    for the head."""
    if person.is_head:
        return Device.objects.all()
    return Device.objects.filter(Q(person=person) | Q(opened_with__made_by=person))
