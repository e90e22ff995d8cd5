"""Signing in and out at the desk, and the light or dim look."""

from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from survey.access.models import Person
from survey.desk.forms import SignInForm

LOOK_KEPT_SECONDS = 365 * 24 * 3600


class SignIn(LoginView):
    template_name = "desk/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class SignOut(LogoutView):
    next_page = "desk:sign-in"


@require_POST
def set_look(request: HttpRequest) -> HttpResponse:
    """Keep the look in a cookie, so that the first paint is right."""
    look = "dim" if request.POST.get("look") == "dim" else "light"
    response = HttpResponseRedirect(back(request, reverse("desk:home")))
    response.set_cookie("look", look, max_age=LOOK_KEPT_SECONDS, samesite="Lax")
    return response


def person_of(request: HttpRequest) -> Person:
    """Who is signed in; only for pages that ask for that."""
    assert isinstance(request.user, Person)
    return request.user


def back(request: HttpRequest, otherwise: str) -> str:
    """The page a form was sent from, if it is one of ours."""
    given = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(
        given, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return given if is_ours else otherwise
