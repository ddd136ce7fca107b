"""Every address of the site."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.site_urls")),
    path("", include("rubrics.urls")),
]
