from django.urls import path

from .views import bases, fleets, health, work

urlpatterns = [
    path("", fleets.home, name="home"),
    path("health/", health.health, name="health"),
    path("<slug:fleet>/settings/", fleets.fleet_settings, name="fleet_settings"),
    path("<slug:fleet>/bases/add/", bases.base_add, name="base_add"),
    path("<slug:fleet>/bases/<int:pk>/", bases.base_edit, name="base_edit"),
    path("<slug:fleet>/grounds/add/", bases.ground_add, name="ground_add"),
    path("<slug:fleet>/grounds/<int:pk>/", bases.ground_edit, name="ground_edit"),
    path("<slug:fleet>/work/", work.works, name="works"),
    path("<slug:fleet>/work/<int:pk>/", work.work, name="work"),
    path("<slug:fleet>/work/<int:pk>/file/", work.work_file, name="work_file"),
]
