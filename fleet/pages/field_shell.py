"""The field page's static shell: the same bytes for everybody, kept by the phone."""

from __future__ import annotations

import json
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import get_template, render_to_string
from django.urls import reverse
from django.views.decorators.http import require_safe

COLOUR = "#0d2d27"
VERSION_DIGITS = 12
PAGE_KINDS = {".js", ".css", ".svg", ".png"}


@require_safe
def shell(request: HttpRequest) -> HttpResponse:
    """Answer the page without a word about who asks."""
    return _fresh(HttpResponse(_page(_version())))


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """Answer the worker with the files of this version and their hashes."""
    version = _version()
    files = {settings.STATIC_URL + f"field/{n}": h for n, h in _hashes().items()}
    files[reverse("field")] = sha256(_page(version).encode()).hexdigest()
    head = f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(files)};"
    source = get_template("field/worker.js").render()
    return _fresh(HttpResponse(f"{head}\n{source}", content_type="text/javascript"))


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Answer what a phone needs to install the page."""
    files = settings.STATIC_URL + "field/"
    page = reverse("field")
    told = {
        "id": page,
        "name": "Roof Register, field",
        "short_name": "Roofs",
        "start_url": page,
        "scope": page,
        "display": "standalone",
        "orientation": "portrait",
        "background_color": "#ffffff",
        "theme_color": COLOUR,
        "icons": [
            _icon(files, "icon-192.png", "192x192", "any"),
            _icon(files, "icon-512.png", "512x512", "any"),
            _icon(files, "icon-512.png", "512x512", "maskable"),
        ],
    }
    return _fresh(JsonResponse(told, content_type="application/manifest+json"))


def _icon(files: str, name: str, sizes: str, purpose: str) -> dict[str, str]:
    return {"src": files + name, "sizes": sizes, "type": "image/png"} | {
        "purpose": purpose
    }


def _page(version: str) -> str:
    # No request: no session, no language, no token can get into the shell.
    words = {"version": version, "files": settings.STATIC_URL + "field/"}
    return render_to_string("field/shell.html", words)


def _version() -> str:
    """Return what changes whenever a byte of the shell does."""
    page = _page("") + get_template("field/worker.js").render()
    told = json.dumps(_hashes()) + page
    return sha256(told.encode()).hexdigest()[:VERSION_DIGITS]


def _hashes() -> dict[str, str]:
    if settings.DEBUG:
        _hashes_once.cache_clear()
    return _hashes_once(settings.BASE_DIR / "config" / "static" / "field")


@lru_cache
def _hashes_once(folder: Path) -> dict[str, str]:
    return {
        path.name: sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.iterdir())
        if path.suffix in PAGE_KINDS
    }


def _fresh(response: HttpResponse) -> HttpResponse:
    response.headers["Cache-Control"] = "no-cache"
    return response
