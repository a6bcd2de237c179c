"""Addresses. Everything of a fleet lives under that fleet's own name."""

from django.urls import include, path

urlpatterns = [
    path("account/", include("allauth.urls")),
    path("calendar/", include("inspections.feed_urls")),
    path("mail/", include("inspections.mail_urls")),
    path("", include("fleet.urls")),
    path("<slug:fleet>/", include("inspections.urls")),
    path("<slug:fleet>/", include("forecasting.urls")),
]
