from django.urls import path

from . import views

urlpatterns = [
    path("", views.home, name="home"),
    path("<slug:fleet>/settings/", views.fleet_settings, name="fleet_settings"),
]
