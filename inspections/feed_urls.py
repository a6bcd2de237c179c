"""Addresses outside any sign-in: a calendar behind its secret."""

from django.urls import path

from .views.calendar import calendar_feed

urlpatterns = [path("<str:token>.ics", calendar_feed, name="calendar_feed")]
