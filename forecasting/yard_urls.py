"""Addresses of what the yard has, which days are taken, and lead times."""

from django.urls import path

from .views import yard_limits

urlpatterns = [
    path("refit/yard/<int:pk>/limits/", yard_limits.yard_limits, name="yard_limits"),
    path("refit/yard/blocks/", yard_limits.yard_blocks, name="yard_blocks"),
    path("refit/yard/blocks/<int:pk>/off/", yard_limits.yard_block_off, name="yard_block_off"),
    path("refit/lead-times/", yard_limits.lead_times, name="lead_times"),
    path("refit/lead-times/<int:pk>/off/", yard_limits.lead_time_off, name="lead_time_off"),
]
