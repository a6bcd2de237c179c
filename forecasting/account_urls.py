"""Addresses of the accountant's pages."""

from django.urls import path

from .views import accounts, books, budgets, consents, invoices

urlpatterns = [
    path("reserve/", accounts.reserve, name="reserve"),
    path("reserve/questions/", accounts.reserve_questions, name="reserve_questions"),
    path("reserve.pdf", accounts.reserve_pdf, name="reserve_pdf"),
    path("reserve.xlsx", accounts.reserve_xlsx, name="reserve_xlsx"),
    path("reserve.csv", accounts.reserve_csv, name="reserve_csv"),
    path("register/", books.component_register, name="register"),
    path("register/review/", books.review_lives, name="review_lives"),
    path("register/parts/<int:pk>/", books.part_books, name="part_books"),
    path("register.xlsx", books.register_xlsx, name="register_xlsx"),
    path("register.csv", books.register_csv, name="register_csv"),
    path("accounts/", books.accounts, name="accounts"),
    path("invoices/", invoices.invoices, name="invoices"),
    path("invoices/add/", invoices.invoice_add, name="invoice_add"),
    path("invoices/<int:pk>/", invoices.invoice, name="invoice"),
    path("invoices/<int:pk>/order/", invoices.invoice_order, name="invoice_order"),
    path("invoices/<int:pk>/withdraw/", invoices.invoice_withdraw, name="invoice_withdraw"),
    path("invoices.csv", invoices.invoices_csv, name="invoices_csv"),
    path("audit/", invoices.audit, name="audit"),
    path("audit.csv", invoices.audit_csv, name="audit_csv"),
    path("budget/boats/<int:pk>/", budgets.budget_boat, name="budget_boat"),
    path("budget/consents/", consents.consents, name="consents"),
    path("budget/consents/<int:pk>/", consents.consent, name="consent"),
    path("budget/versions/", budgets.budget_versions, name="budget_versions"),
    path("budget/versions/freeze/", budgets.freeze_budget, name="freeze_budget"),
    path("budget/versions/<int:pk>/", budgets.budget_version, name="budget_version"),
    path("budget/versions/<int:pk>.xlsx", budgets.version_xlsx, name="version_xlsx"),
    path("budget/versions/<int:pk>.csv", budgets.version_csv, name="version_csv"),
]
