"""Addresses of the board of the yard, its files, and what to order by when."""

from django.urls import path

from .views import yard_boards, yard_files

urlpatterns = [
    path("", yard_boards.yard_plans, name="yard_plans"),
    path("<int:pk>/", yard_boards.yard_board_page, name="yard_board"),
    path("<int:pk>/anew/", yard_boards.yard_work_out, name="yard_work_out"),
    path("<int:pk>/delete/", yard_boards.yard_delete, name="yard_delete"),
    path("<int:pk>/move/", yard_boards.yard_week, name="yard_week"),
    path("<int:pk>/orders/", yard_boards.yard_orders_page, name="yard_orders"),
    path("<int:pk>.pdf", yard_files.yard_pdf, name="yard_pdf"),
    path("<int:pk>.xlsx", yard_files.yard_xlsx, name="yard_xlsx"),
    path("<int:pk>.csv", yard_files.yard_csv, name="yard_csv"),
    path("<int:pk>.ics", yard_files.yard_ics, name="yard_ics"),
    path("<int:pk>/orders.pdf", yard_files.orders_pdf, name="orders_pdf"),
    path("<int:pk>/orders.xlsx", yard_files.orders_xlsx, name="orders_xlsx"),
    path("<int:pk>/orders.csv", yard_files.orders_csv, name="orders_csv"),
]
