"""Addresses of the accountant's pages."""

from django.urls import path

from .views import accounts

urlpatterns = [
    path("reserve/", accounts.reserve, name="reserve"),
    path("reserve/questions/", accounts.reserve_questions, name="reserve_questions"),
    path("reserve.pdf", accounts.reserve_pdf, name="reserve_pdf"),
    path("reserve.xlsx", accounts.reserve_xlsx, name="reserve_xlsx"),
    path("reserve.csv", accounts.reserve_csv, name="reserve_csv"),
]
