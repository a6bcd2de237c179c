"""Addresses of reminders, under ``/<fleet>/reminders/``."""

from django.urls import path

from .views import reminder_people, reminder_state, reminders, set_asides

urlpatterns = [
    path("", reminders.reminders, name="reminders"),
    path("outbox/", reminders.outbox, name="reminders_outbox"),
    path("<int:pk>/", reminders.reminder, name="reminder"),
    path("again/", reminders.send_again, name="reminders_again"),
    path("health/", reminder_state.health_page, name="reminders_health"),
    path("preview/", reminder_state.preview_page, name="reminders_preview"),
    path("let-go/", reminder_state.let_go, name="reminders_let_go"),
    path("hold-back/", reminder_state.hold_back, name="reminders_hold_back"),
    path("test/", reminder_state.test_to_me, name="reminders_test"),
    path("people/", reminder_people.people, name="reminders_people"),
    path("people/one/", reminder_people.person, name="reminders_person"),
    path("words/", reminder_people.words, name="reminders_words"),
    path("set-aside/", set_asides.set_aside_page, name="set_aside"),
    path("set-aside/<int:pk>/", set_asides.decide, name="set_aside_decide"),
    path("set-aside/<int:pk>/evidence/", set_asides.evidence, name="set_aside_evidence"),
]
