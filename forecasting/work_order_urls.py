"""Addresses of the work orders."""

from django.urls import path

from .views import order_lines, orders

urlpatterns = [
    path("orders/", orders.orders, name="orders"),
    path("orders/new/", orders.orders_new, name="orders_new"),
    path("orders.xlsx", orders.orders_xlsx, name="orders_xlsx"),
    path("orders.csv", orders.orders_csv, name="orders_csv"),
    path("orders/<int:pk>/", orders.order, name="order"),
    path("orders/<int:pk>.pdf", orders.order_pdf, name="order_pdf"),
    path("orders/<int:pk>/give/", orders.order_give, name="order_give"),
    path("orders/<int:pk>/step/", orders.order_step, name="order_step"),
    path("orders/<int:pk>/supplies/", orders.order_supply, name="order_supply"),
    path("orders/supplies/<int:pk>/strike/", orders.supply_strike, name="supply_strike"),
    path("orders/lines/<int:pk>/", order_lines.order_line, name="order_line"),
    path("orders/lines/<int:pk>/not-done/", order_lines.line_not_done, name="line_not_done"),
]
