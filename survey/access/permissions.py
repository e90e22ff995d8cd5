"""Who may ask the interface for what: whoever signed in for all of it, a pass for what it needs."""

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from survey.access.models import Device


class SignedIn(BasePermission):
    """Signed in; and with a pass only where the view says ``open_to_passes = True``.

    Such a view answers for keeping to the device's scope.
    """

    message = "Your pass opens one loan only, and this is not part of it."

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user or not request.user.is_authenticated:
            return False
        is_of_pass = isinstance(request.auth, Device) and request.auth.is_of_pass
        return not is_of_pass or getattr(view, "open_to_passes", False)
