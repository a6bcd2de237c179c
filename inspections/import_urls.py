"""Addresses of import and export, under a fleet's own name."""

from django.urls import path

from .views import imports

urlpatterns = [
    path("import/", imports.import_page, name="import"),
    path("import/check/", imports.import_check, name="import_check"),
    path("import/template/", imports.import_template, name="import_template"),
    path("export/", imports.export, name="export"),
]
