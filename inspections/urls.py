"""Addresses under a fleet's own name."""

from django.urls import path

from .views import (
    boats,
    dock,
    entry,
    imports,
    kept_matches,
    looks,
    matching,
    reminders,
    repairs,
    sent,
    signs,
)

urlpatterns = [
    path("inspections/", looks.inspections, name="inspections"),
    path("inspections/<int:pk>/", looks.inspection, name="inspection"),
    path("boats/<int:pk>/inspect/", looks.inspect, name="inspect"),
    path("dock/kit/", dock.kit, name="dock_kit"),
    path("dock/send/", dock.send, name="dock_send"),
    path("dock/sent/", sent.uploads, name="dock_uploads"),
    path("dock/sent/<uuid:pk>/", sent.upload, name="dock_upload"),
    path("signs/", signs.signs, name="signs"),
    path("signs/change/", signs.sign_change, name="sign_change"),
    path("hand-ins/", entry.hand_ins, name="hand_ins"),
    path("boats/add/", boats.boat_add, name="boat_add"),
    path("boats/<int:pk>/edit/", boats.boat_edit, name="boat_edit"),
    path("boats/<int:pk>/parts/", entry.parts_table, name="parts_table"),
    path("boats/<int:pk>/rig/", entry.rig, name="rig"),
    path("findings/<int:pk>/made-good/", repairs.make_good, name="make_good"),
    path("parts/<int:pk>/renew/", repairs.renew, name="renew"),
    path("reminders/", reminders.reminders, name="reminders"),
    path("reminders/<int:pk>/", reminders.reminder, name="reminder"),
    path("reminders/again/", reminders.send_again, name="reminders_again"),
    path("import/", imports.import_page, name="import"),
    path("import/match/", matching.import_match, name="import_match"),
    path("import/matches/", kept_matches.kept_matches, name="kept_matches"),
    path("import/matches/<int:pk>/", kept_matches.kept_match, name="kept_match"),
    path(
        "import/matches/<int:pk>/delete/",
        kept_matches.kept_match_delete,
        name="kept_match_delete",
    ),
    path("import/check/", imports.import_check, name="import_check"),
    path("import/encoding/", imports.import_encoding, name="import_encoding"),
    path("import/undo/", imports.import_undo, name="import_undo"),
    path("import/template/", imports.import_template, name="import_template"),
    path("export/", imports.export, name="export"),
    path("export/ask/", imports.export_ask, name="export_ask"),
]
