"""Addresses of the records."""

urlpatterns = []
