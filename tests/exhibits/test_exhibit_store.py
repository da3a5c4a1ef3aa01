"""The same store in a folder and in an S3-compatible service."""

from __future__ import annotations

import hashlib
import os

import boto3
import pytest
from moto import mock_aws

from fleet import store
from fleet.store.place import place
from fleet.store.s3 import bucket_of
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work, send, status_of

CONTENT = b"original bytes " * 50_000
DIGEST = hashlib.sha256(CONTENT).hexdigest()


@pytest.fixture
def bucket(settings, monkeypatch):
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "made-up")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "made-up")
    settings.STORE_URL = "s3://exhibits/kept?region=us-east-1"
    bucket_of.cache_clear()
    with mock_aws():
        client = boto3.client("s3", region_name="us-east-1")
        client.create_bucket(Bucket="exhibits")
        yield client
    bucket_of.cache_clear()


@pytest.fixture(params=["folder", "s3"])
def kept(request) -> str:
    """Keep something in each kind of store."""
    if request.param == "s3":
        request.getfixturevalue("bucket")
    return store.keep(CONTENT)


class TestEitherStore:
    def test_gives_back_what_it_kept_under_its_hash(self, kept):
        assert kept == DIGEST
        assert store.fetch(kept) == CONTENT
        assert store.check(kept) == len(CONTENT)

    def test_leaves_nothing_on_its_way_in(self, kept, settings):
        assert os.listdir(settings.DATA_DIR / "files" / "incoming") == []

    def test_keeps_the_same_bytes_once(self, kept):
        assert store.keep(CONTENT) == kept

    def test_knows_what_it_has(self, kept):
        assert place().has(kept)
        assert not place().has("0" * 64)

    def test_says_what_is_missing(self, kept):
        with pytest.raises(store.FileGone):
            store.fetch("0" * 64)


class TestFolder:
    def test_a_changed_file_is_not_given_out(self, data_folder):
        digest = store.keep(b"a sheet")
        place().path_of(digest).write_bytes(b"a shout")

        with pytest.raises(store.FileDamaged):
            store.fetch(digest)

    def test_the_bytes_are_on_disk_before_they_have_their_name(
        self, data_folder, monkeypatch
    ):
        order = []
        for call in ("fsync", "replace"):
            real = getattr(os, call)
            monkeypatch.setattr(
                os, call, lambda *a, c=call, r=real: (order.append(c), r(*a))[1]
            )

        store.keep(b"ordered")

        assert order[:2] == ["fsync", "replace"]
        # Its folder, the one above, and the root.
        assert order[2:] == ["fsync"] * 3


class TestBucket:
    def test_an_object_changed_there_is_not_given_out(self, bucket):
        digest = store.keep(CONTENT)
        key = f"kept/{digest[:2]}/{digest[2:4]}/{digest}"
        bucket.put_object(Bucket="exhibits", Key=key, Body=b"another")

        with pytest.raises(store.FileDamaged):
            store.fetch(digest)

    def test_a_bucket_that_is_not_there_keeps_nothing(self, bucket, settings):
        settings.STORE_URL = "s3://nowhere"

        with pytest.raises(store.NotKept):
            store.keep(CONTENT)

    @pytest.mark.django_db
    def test_an_exhibit_goes_there_and_comes_back(self, bucket, world):
        content = pictures.photo()
        told = send(world.office, world.roof, content).json()
        do_later_work()

        listed = bucket.list_objects_v2(Bucket="exhibits")["Contents"]
        # The picture is smaller than either copy may be: the two copies are one file.
        assert len(listed) == 2
        answer = world.office.get(f"/api/v1/exhibits/{told['uuid']}/original")
        assert b"".join(answer.streaming_content) == content
        screen = f"/api/v1/exhibits/{told['uuid']}/screen"
        assert status_of(world.manager, screen) == 200


def test_a_bucket_is_made_where_there_is_none(bucket, settings):
    settings.STORE_URL = "s3://another?region=us-east-1"

    place().prepare()
    place().prepare()

    assert bucket.head_bucket(Bucket="another")
