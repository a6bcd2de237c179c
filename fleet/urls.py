from django.urls import path

from .views import fleets, health, work

urlpatterns = [
    path("", fleets.home, name="home"),
    path("health/", health.health, name="health"),
    path("<slug:fleet>/settings/", fleets.fleet_settings, name="fleet_settings"),
    path("<slug:fleet>/work/", work.works, name="works"),
    path("<slug:fleet>/work/<int:pk>/", work.work, name="work"),
    path("<slug:fleet>/work/<int:pk>/file/", work.work_file, name="work_file"),
]
