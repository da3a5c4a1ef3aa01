"""Django's name for this room: it brings templates and static files, no models."""

from __future__ import annotations

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "config"
