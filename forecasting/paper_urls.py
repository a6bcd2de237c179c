"""Addresses of the files of a plan, of a frozen budget, and for the board of directors."""

from django.urls import path

from .views import board_files

urlpatterns = [
    path("refit/seasons/<int:pk>.pdf", board_files.season_pdf, name="season_pdf"),
    path("refit/seasons/<int:pk>.xlsx", board_files.season_xlsx, name="season_xlsx"),
    path("refit/seasons/<int:pk>.csv", board_files.season_csv, name="season_csv"),
    path("board.pdf", board_files.board_pdf, name="board_pdf"),
    path("budget/versions/<int:pk>.pdf", board_files.version_pdf, name="version_pdf"),
]
