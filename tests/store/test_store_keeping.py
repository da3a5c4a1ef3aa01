"""A kept file is whole or not there, whatever the disk does meanwhile."""

from __future__ import annotations

import hashlib
import os

import pytest

from fleet import store
from fleet.store.place import Folder, place

BYTES = b"a photo of a vent"
DIGEST = hashlib.sha256(BYTES).hexdigest()


@pytest.fixture(autouse=True)
def folder(settings, tmp_path) -> Folder:
    settings.DATA_DIR = tmp_path
    settings.STORE_URL = ""
    found = place()
    assert isinstance(found, Folder)
    return found


def finished_files(folder: Folder) -> list[str]:
    """Return the names of what is kept."""
    files = (path for path in folder.root.rglob("*") if path.is_file())
    return [path.name for path in files if not path.name.startswith("unfinished-")]


def failing(*_args: object, **_named: object) -> None:
    raise OSError(28, "No space left on device")


def test_what_is_kept_comes_back():
    digest = store.keep(BYTES)

    assert digest == DIGEST
    assert store.fetch(digest) == BYTES


def test_the_same_bytes_are_kept_once(folder):
    store.keep(BYTES)
    store.keep(BYTES)

    assert finished_files(folder) == [DIGEST]


def test_an_empty_file_is_a_file(folder):
    assert store.fetch(store.keep(b"")) == b""


def test_nothing_under_a_hash_is_gone():
    with pytest.raises(store.FileGone):
        store.fetch(DIGEST)


def test_changed_bytes_are_damaged(folder):
    store.keep(BYTES)
    folder.path_of(DIGEST).write_bytes(BYTES + b"!")

    with pytest.raises(store.FileDamaged):
        store.fetch(DIGEST)


def test_keeping_again_heals_a_damaged_file(folder):
    store.keep(BYTES)
    folder.path_of(DIGEST).write_bytes(b"")

    store.keep(BYTES)

    assert store.fetch(DIGEST) == BYTES


def test_a_crash_before_the_rename_leaves_nothing_to_fetch(folder, monkeypatch):
    class PowerCut(BaseException):
        """What no handler of ours catches."""

    def cut(*_args: object) -> None:
        raise PowerCut

    monkeypatch.setattr(os, "replace", cut)

    with pytest.raises(PowerCut):
        store.keep(BYTES)

    assert finished_files(folder) == []
    with pytest.raises(store.FileGone):
        store.fetch(DIGEST)


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_disk_error_surfaces_and_nothing_is_kept(folder, monkeypatch, call):
    monkeypatch.setattr(os, call, failing)

    with pytest.raises(store.NotKept, match="could not be kept"):
        store.keep(BYTES)

    assert finished_files(folder) == []


def test_an_error_while_the_folder_is_forced_to_disk_surfaces(monkeypatch):
    sync, done = os.fsync, []

    def second_fails(handle: int) -> None:
        done.append(handle)
        if len(done) > 1:
            failing()
        sync(handle)

    monkeypatch.setattr(os, "fsync", second_fails)

    with pytest.raises(store.NotKept):
        store.keep(BYTES)


def test_the_bytes_are_on_disk_before_the_name_is(folder, monkeypatch):
    done: list[str] = []
    sync, rename = os.fsync, os.replace

    def noting_sync(handle: int) -> None:
        done.append("sync")
        sync(handle)

    def noting_rename(source: object, target: object) -> None:
        done.append("rename")
        rename(source, target)

    monkeypatch.setattr(os, "fsync", noting_sync)
    monkeypatch.setattr(os, "replace", noting_rename)
    store.keep(BYTES)

    assert done[:2] == ["sync", "rename"]
    # The folder of the name, and those above it that may be new.
    assert done[2:] == ["sync"] * 3
