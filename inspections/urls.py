"""Addresses under a fleet's own name."""

urlpatterns: list = []
