"""Addresses under a fleet's own name."""

from django.urls import path

from .views import boats, fleets, money, outlook

urlpatterns = [
    path("", fleets.fleet, name="fleet"),
    path("boats/", boats.boats, name="boats"),
    path("boats/<int:pk>/", boats.boat, name="boat"),
    path("outlook/", outlook.outlook, name="outlook"),
    path("outlook/how/", outlook.how, name="how"),
    path("outlook/refresh/", outlook.refresh, name="refresh"),
    path("refit/", money.refit, name="refit"),
    path("budget/", money.budget, name="budget"),
    path("budget.csv", money.budget_csv, name="budget_csv"),
]
