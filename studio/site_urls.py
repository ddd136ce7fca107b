"""Addresses of the records."""

from django.urls import path

from studio.views import account, today

urlpatterns = [
    path("", today.today, name="today"),
    path("in/", account.sign_in, name="sign_in"),
    path("out/", account.sign_out, name="sign_out"),
    path("password/", account.password, name="password"),
]
