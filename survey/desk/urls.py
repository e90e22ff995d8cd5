"""Addresses of the desk."""

from django.urls import path

from survey.desk.views import (
    devices,
    examinations,
    home,
    importing,
    objects,
    questions,
    queues,
    session,
    vocabulary,
    weights,
)

app_name = "desk"
urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in", session.SignIn.as_view(), name="sign-in"),
    path("sign-out", session.SignOut.as_view(), name="sign-out"),
    path("look", session.set_look, name="look"),
    path("act-now", queues.act_now, name="act-now"),
    path("queue", queues.queue, name="queue"),
    path("queue/print", queues.queue_print, name="queue-print"),
    path("work/<uuid:key>/readiness", queues.set_readiness, name="readiness"),
    path("work/<uuid:key>/done", queues.set_done, name="done"),
    path("objects", objects.object_list, name="objects"),
    path("objects/import", importing.import_page, name="import"),
    path("objects/<uuid:key>", objects.object_page, name="object"),
    path("objects/<uuid:key>/edit", objects.edit_object, name="object-edit"),
    path("objects/<uuid:key>/move", objects.move, name="object-move"),
    path("objects/<uuid:key>/label", objects.label, name="label"),
    path("objects/<uuid:key>/needs", objects.add_need, name="need-add"),
    path("needs/<int:key>/remove", objects.remove_need, name="need-remove"),
    path("visits", examinations.visit_list, name="visits"),
    path("visits/<uuid:key>", examinations.visit_page, name="visit"),
    path("examinations/<uuid:key>", examinations.examination_page, name="examination"),
    path("photographs/<uuid:key>", examinations.photograph_page, name="photograph"),
    path("questions", questions.question_list, name="questions"),
    path("questions/<uuid:key>/settle", questions.settle_question, name="settle"),
    path("weights", weights.weights, name="weights"),
    path("weights/preview", weights.preview, name="weights-preview"),
    path("vocabulary", vocabulary.vocabulary, name="vocabulary"),
    path("vocabulary/add", vocabulary.add_term, name="term-add"),
    path("vocabulary/<slug:code>/retired", vocabulary.set_retired, name="term-retired"),
    path("devices", devices.device_list, name="devices"),
    path("devices/<uuid:key>/revoke", devices.revoke_device, name="revoke"),
    path("tablet", devices.tablet, name="tablet"),
]
