"""Addresses of the judgement."""

urlpatterns = []
