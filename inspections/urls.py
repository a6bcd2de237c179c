"""Addresses under a fleet's own name."""

from django.urls import path

from .views import imports, looks, reminders, repairs

urlpatterns = [
    path("inspections/", looks.inspections, name="inspections"),
    path("inspections/<int:pk>/", looks.inspection, name="inspection"),
    path("boats/<int:pk>/inspect/", looks.inspect, name="inspect"),
    path("findings/<int:pk>/made-good/", repairs.make_good, name="make_good"),
    path("parts/<int:pk>/renew/", repairs.renew, name="renew"),
    path("reminders/", reminders.reminders, name="reminders"),
    path("reminders/<int:pk>/", reminders.reminder, name="reminder"),
    path("reminders/again/", reminders.send_again, name="reminders_again"),
    path("import/", imports.import_page, name="import"),
    path("import/check/", imports.import_check, name="import_check"),
    path("import/template/", imports.import_template, name="import_template"),
    path("export/", imports.export, name="export"),
]
