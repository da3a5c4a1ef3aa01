"""Pages about work that happens later."""

from __future__ import annotations

from django.urls import path

from jobs.pages import (
    certificates,
    imports,
    later_work,
    notice_links,
    notices,
    packets,
    runs,
    today,
    what_if,
)
