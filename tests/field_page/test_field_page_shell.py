"""The shell that a phone keeps: the same for everybody, whole, and never stale."""

from __future__ import annotations

import hashlib
import json
import re

import pytest
from django.test import Client

from fleet.pages import field_shell
from tests import builders


def files_of(worker: str) -> dict[str, str]:
    found = re.search(r"^const FILES = (\{.*\});$", worker, re.MULTILINE)
    assert found is not None
    files: dict[str, str] = json.loads(found[1])
    return files


def test_the_shell_is_the_same_whoever_asks(client, db):
    anonymous = client.get("/field/").content
    signed_in = Client()
    signed_in.force_login(builders.make_user(username="somebody-by-name"))

    answer = signed_in.get("/field/")

    assert answer.content == anonymous
    assert b"somebody-by-name" not in answer.content
    assert b"csrf" not in answer.content.lower()
    assert not answer.cookies


@pytest.mark.parametrize("path", ["", "sw.js", "manifest.webmanifest"])
def test_nothing_of_the_shell_is_used_unasked(client, path):
    answer = client.get(f"/field/{path}")

    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-cache"


def test_the_shell_has_no_script_or_style_of_its_own(client):
    page = client.get("/field/").content.decode()

    assert re.findall(r"<script(?![^>]*\bsrc=)", page) == []
    assert re.findall(r"<style|\bstyle=|\bon\w+=", page) == []
    assert "default-src 'none'" in client.get("/field/")["Content-Security-Policy"]


def test_the_worker_names_every_file_by_its_hash(client, settings):
    folder = settings.BASE_DIR / "config" / "static" / "field"
    files = files_of(client.get("/field/sw.js").content.decode())

    served = {path.name for path in folder.iterdir()}
    assert {path.rsplit("/", 1)[1] for path in files} == served | {""}
    page = client.get("/field/").content
    assert files["/field/"] == hashlib.sha256(page).hexdigest()
    app = (folder / "app.js").read_bytes()
    assert files["/static/field/app.js"] == hashlib.sha256(app).hexdigest()


def test_every_module_that_is_imported_is_kept(settings):
    folder = settings.BASE_DIR / "config" / "static" / "field"
    names = {path.name for path in folder.glob("*.js")}

    for path in folder.glob("*.js"):
        imported = set(re.findall(r'from "\./([\w.]+)"', path.read_text()))
        assert imported <= names, path.name


def test_one_changed_byte_is_another_version(client, monkeypatch):
    before = client.get("/field/sw.js").content
    hashes = field_shell._hashes()
    monkeypatch.setattr(field_shell, "_hashes", lambda: hashes | {"app.js": "0" * 64})

    after = client.get("/field/sw.js").content

    version = re.compile(rb'const VERSION = "([0-9a-f]{12})"')
    assert version.search(before)[1] != version.search(after)[1]


def test_a_phone_may_install_the_page(client, settings):
    told = json.loads(client.get("/field/manifest.webmanifest").content)

    assert told["start_url"] == told["scope"] == "/field/"
    assert told["display"] == "standalone"
    folder = settings.BASE_DIR / "config" / "static" / "field"
    for icon in told["icons"]:
        assert (folder / icon["src"].rsplit("/", 1)[1]).is_file()
