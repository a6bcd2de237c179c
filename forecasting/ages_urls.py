"""Addresses of the pages on renewal ages and on how often to look."""

from django.urls import path

from .views import ages

urlpatterns = [
    path("refit/ages/", ages.ages, name="ages"),
    path("refit/ages/looks/", ages.looks, name="looks"),
    path("refit/ages.xlsx", ages.ages_xlsx, name="ages_xlsx"),
    path("refit/ages.csv", ages.ages_csv_file, name="ages_csv"),
    path("refit/looks.csv", ages.looks_csv_file, name="looks_csv"),
]
