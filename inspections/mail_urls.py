"""Addresses in mail that are opened without signing in: each is a signed link."""

from django.urls import path

from .views import mail_stop

urlpatterns = [path("stop/<str:token>/", mail_stop.mail_stop, name="mail_stop")]
