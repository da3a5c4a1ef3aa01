"""One exported bundle for the tests of the stand-alone check, and ways to spoil it."""

from __future__ import annotations

import hashlib
import importlib.util
import json
import zipfile
from pathlib import Path
from types import ModuleType

from django.conf import settings


def load_verifier() -> ModuleType:
    """Return the stand-alone program as a module, from its file."""
    path = settings.BASE_DIR / "tools" / "verify_bundle.py"
    spec = importlib.util.spec_from_file_location("verify_bundle", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


verifier = load_verifier()


def faults_of(path: Path, key: str = "") -> list[str]:
    """Return what the program finds wrong with a bundle."""
    bundle = verifier.Bundle(str(path), key)
    bundle.check()
    return bundle.faults


def members_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def write(path: Path, members: dict[str, bytes]) -> Path:
    """Write members into a bundle in the order given."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def resealed(members: dict[str, bytes]) -> dict[str, bytes]:
    """Return the members with a manifest that fits them, as a forger would write."""
    manifest = json.loads(members["manifest.json"])
    manifest["files"] = [
        {"path": name, "sha256": hashlib.sha256(data).hexdigest(), "size": len(data)}
        for name, data in members.items()
        if name != "manifest.json"
    ]
    text = json.dumps(
        manifest, sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    return members | {"manifest.json": text.encode()}
