"""Addresses under a fleet's own name."""

from django.urls import include, path

from .views import boats, fleets, hours, money, outlook, papers, practice, summaries, trust

urlpatterns = [
    path("", fleets.fleet, name="fleet"),
    path("boats/", boats.boats, name="boats"),
    path("boats/<int:pk>/", boats.boat, name="boat"),
    path("boats/<int:pk>/work-order.pdf", papers.work_order_pdf, name="work_order"),
    path("boats/<int:pk>/rigging-schedule.pdf", papers.rig_schedule_pdf, name="rig_schedule"),
    path("failures/<int:pk>/cut-sheet.pdf", papers.failure_pdf, name="failure_paper"),
    path("boats/<int:pk>/sheet.pdf", papers.blank_sheet_pdf, name="blank_sheet"),
    path("inspections/<int:pk>/report.pdf", papers.report_pdf, name="inspection_report"),
    path("outlook/", outlook.outlook, name="outlook"),
    path("outlook/how/", outlook.how, name="how"),
    path("outlook/practice/", practice.practice, name="practice"),
    path("outlook/trust/", trust.trust, name="trust"),
    path("outlook/trust/test/", trust.test_again, name="test_again"),
    path("outlook/refresh/", outlook.refresh, name="refresh"),
    path("outlook/hours/", hours.hours, name="hours"),
    path("outlook/hours.pdf", hours.hours_pdf, name="hours_pdf"),
    path("outlook/hours.xlsx", hours.hours_xlsx, name="hours_xlsx"),
    path("outlook/hours.csv", hours.hours_csv_file, name="hours_csv"),
    path("refit/", money.refit, name="refit"),
    path("refit/plan/", money.plan, name="plan"),
    path("refit.pdf", papers.refit_pdf, name="refit_pdf"),
    path("refit.xlsx", papers.refit_xlsx, name="refit_xlsx"),
    path("refit.csv", papers.refit_csv, name="refit_csv"),
    path("budget/", money.budget, name="budget"),
    path("budget.csv", money.budget_csv, name="budget_csv"),
    path("budget.pdf", papers.budget_pdf, name="budget_pdf"),
    path("budget.xlsx", papers.budget_xlsx, name="budget_xlsx"),
    path("outlook.xlsx", papers.outlook_xlsx, name="outlook_xlsx"),
    path("outlook.csv", papers.outlook_rows_csv, name="outlook_csv"),
    path("to-look-at.pdf", papers.look_list_pdf, name="look_list_pdf"),
    path("to-look-at.xlsx", papers.look_list_xlsx, name="look_list_xlsx"),
    path("rigging-schedule.pdf", papers.fleet_schedule_pdf, name="fleet_schedule_pdf"),
    path("rigging-schedule.xlsx", papers.fleet_schedule_xlsx, name="fleet_schedule_xlsx"),
    path("", include("forecasting.account_urls")),
    path("summary/", summaries.summary_ask, name="summary_ask"),
    path("summary/<int:pk>/", summaries.summary, name="summary"),
]
