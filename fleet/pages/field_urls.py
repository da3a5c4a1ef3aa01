"""Addresses of the field page's shell."""

from __future__ import annotations

from django.urls import path

from fleet.pages import field_shell

urlpatterns = [
    path("", field_shell.shell, name="field"),
    path("sw.js", field_shell.worker, name="field-worker"),
    path("manifest.webmanifest", field_shell.manifest, name="field-manifest"),
]
