"""Kept files in an S3-compatible object store."""

from __future__ import annotations

import base64
import os
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import parse_qs, urlsplit

import boto3
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError

from fleet.store.errors import FileDamaged, FileGone, NotKept
from fleet.store.place import DIGEST

# A file read back is held in memory up to this size, then in a temporary file. [B]
SPOOL_BYTES = 1024 * 1024
CHUNK_BYTES = 256 * 1024
MISSING = frozenset({"404", "NoSuchKey", "NoSuchBucket", "NotFound"})


class Bucket:
    """Kept files under ``<prefix>aa/bb/<sha256>`` of one bucket."""

    def __init__(self, client: Any, bucket: str, prefix: str) -> None:
        self.client, self.bucket, self.prefix = client, bucket, prefix

    def prepare(self) -> None:
        """Make the bucket where it is not there yet.

        Raises:
            NotKept: the store refused, or cannot be reached.
        """
        try:
            self.client.head_bucket(Bucket=self.bucket)
        except ClientError as error:
            if error.response["Error"]["Code"] not in MISSING:
                raise NotKept(error) from error
            self.client.create_bucket(Bucket=self.bucket)
        except BotoCoreError as error:
            raise NotKept(error) from error

    def put(self, finished: Path, digest: str) -> None:
        """Send a finished file; the store itself compares the hash before it answers.

        Raises:
            NotKept: the store refused, or cannot be reached.
        """
        checksum = base64.b64encode(bytes.fromhex(digest)).decode()
        try:
            with finished.open("rb") as body:
                self.client.put_object(
                    Bucket=self.bucket,
                    Key=self._key(digest),
                    Body=body,
                    ChecksumSHA256=checksum,
                    ContentType="application/octet-stream",
                )
            head = self.client.head_object(Bucket=self.bucket, Key=self._key(digest))
        except (BotoCoreError, ClientError) as error:
            raise NotKept(error) from error
        if head["ContentLength"] != finished.stat().st_size:
            raise NotKept("the store holds another size than was sent")
        finished.unlink()

    def open(self, digest: str) -> BinaryIO:
        """Return a kept file, fetched whole, at its start.

        Raises:
            FileGone: nothing is kept under the hash.
            FileDamaged: the store cannot read it back.
        """
        copy = tempfile.SpooledTemporaryFile(max_size=SPOOL_BYTES)  # noqa: SIM115 - the caller closes it
        try:
            answer = self.client.get_object(Bucket=self.bucket, Key=self._key(digest))
            for chunk in answer["Body"].iter_chunks(CHUNK_BYTES):
                copy.write(chunk)
        except ClientError as error:
            copy.close()
            if error.response["Error"]["Code"] in MISSING:
                raise FileGone(digest) from None
            raise FileDamaged(
                "The object store cannot give the file back. Look at the store.",
                sha256=digest,
            ) from error
        copy.seek(0)
        return copy  # type: ignore[return-value]  # reads, seeks and closes as one

    def has(self, digest: str) -> bool:
        """Return whether the store has an object of this name."""
        try:
            self.client.head_object(Bucket=self.bucket, Key=self._key(digest))
        except ClientError as error:
            if error.response["Error"]["Code"] in MISSING:
                return False
            raise
        return True

    def remove(self, digest: str) -> None:
        """Delete the object.

        Raises:
            NotKept: the store refused, or cannot be reached.
        """
        try:
            self.client.delete_object(Bucket=self.bucket, Key=self._key(digest))
        except (BotoCoreError, ClientError) as error:
            raise NotKept(error) from error

    def written_before(self, moment_s: float) -> Iterator[str]:
        """Yield the names of objects that are older by the store's clock."""
        pages = self.client.get_paginator("list_objects_v2")
        for page in pages.paginate(Bucket=self.bucket, Prefix=self.prefix):
            for item in page.get("Contents", ()):
                name = item["Key"].rpartition("/")[2]
                if (
                    DIGEST.fullmatch(name)
                    and item["LastModified"].timestamp() < moment_s
                ):
                    yield name

    def take_out(self, digest: str, target: Path) -> float:
        """Fetch the object, force it to disk, then delete it in the store."""
        with self.open(digest) as kept, target.open("wb") as copy:
            while chunk := kept.read(CHUNK_BYTES):
                copy.write(chunk)
            copy.flush()
            os.fsync(copy.fileno())
        head = self.client.head_object(Bucket=self.bucket, Key=self._key(digest))
        written_s: float = head["LastModified"].timestamp()
        self.remove(digest)
        return written_s

    def _key(self, digest: str) -> str:
        return f"{self.prefix}{digest[:2]}/{digest[2:4]}/{digest}"


@cache
def bucket_of(url: str) -> Bucket:
    """Return the bucket of ``s3://bucket/prefix?endpoint=...&region=...``.

    The keys come from where the client library looks for them: the environment, its
    files, or the machine's role.
    """
    parts = urlsplit(url)
    options = {name: values[-1] for name, values in parse_qs(parts.query).items()}
    prefix = parts.path.strip("/")
    client = boto3.client(
        "s3",
        endpoint_url=options.get("endpoint"),
        region_name=options.get("region", "us-east-1"),
        config=Config(
            signature_version="s3v4",
            connect_timeout=5,
            read_timeout=30,
            retries={"max_attempts": 3},
            # Compatible stores differ in the checksums they know; ours is explicit.
            request_checksum_calculation="when_required",
            response_checksum_validation="when_required",
        ),
    )
    return Bucket(client, parts.netloc, f"{prefix}/" if prefix else "")
