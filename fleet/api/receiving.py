"""Bodies with a file: hashed, counted and written to disk as they come in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import DataAndFiles, MultiPartParser

from fleet import store
from fleet.exhibits.limits import MAX_FILE_BYTES
from fleet.store import Incoming


class ReceivedFile(UploadedFile):
    """A received file, on disk and not yet kept; closing it removes it."""

    def __init__(self, incoming: Incoming) -> None:
        super().__init__(name="file", size=0)
        self.incoming = incoming

    def close(self) -> None:
        """Remove what was not kept. Django does it at the end of each request."""
        self.incoming.discard()


class IntoStore(FileUploadHandler):
    """Writes the one file of a body to the store's way in, a chunk at a time."""

    chunk_size = store.CHUNK_BYTES

    def __init__(self) -> None:
        super().__init__()
        # Django closes what is called file when it gives a body up.
        self.file: ReceivedFile | None = None

    def new_file(self, *args: object, **kwargs: object) -> None:
        """Begin the file; a body holds one.

        Raises:
            ParseError: this is the second.
        """
        super().new_file(*args, **kwargs)
        if self.file is not None:
            self.file.close()
            raise ParseError("Send one file at a time.")
        self.file = ReceivedFile(store.begin(max_bytes=MAX_FILE_BYTES))

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Take a chunk and leave nothing to other handlers."""
        if self.file is not None:
            self.file.incoming.write(raw_data)

    def file_complete(self, file_size: int) -> ReceivedFile | None:
        """Return the received file."""
        if self.file is not None:
            self.file.size = file_size
        return self.file


class Counted:
    """A request's stream that counts what was read from it."""

    def __init__(self, stream: IO[bytes]) -> None:
        self.stream, self.count = stream, 0

    def read(self, size: int = -1) -> bytes:
        """Read on."""
        chunk = self.stream.read(size)
        self.count += len(chunk)
        return chunk


class ReceivingParser(MultiPartParser):
    """Multipart bodies, streamed to disk, refused when they end before their length."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> DataAndFiles:
        """Return the fields and the received file.

        Raises:
            ParseError: the body is malformed, cut off, or holds more than one file.
            TooLarge: the file is larger than any exhibit may be.
        """
        request = (parser_context or {})["request"]
        handler = IntoStore()
        request.upload_handlers = [handler]  # type: ignore[attr-defined]  # DRF's own
        counted = Counted(stream)
        try:
            parsed = super().parse(counted, media_type, parser_context)
            declared = int(request.META.get("CONTENT_LENGTH") or 0)  # type: ignore[attr-defined]  # DRF's own
            if counted.count < declared:
                raise ParseError("The body ended before its length. Send it again.")
        except BaseException:
            if handler.file is not None:
                handler.file.close()
            raise
        return parsed


class ReceivedField(serializers.FileField):
    """The file of a body."""

    def to_internal_value(self, data: object) -> Incoming:
        """Return the file on its way in; an empty one is refused."""
        if not isinstance(data, ReceivedFile):
            self.fail("invalid")
        if data.incoming.size_bytes == 0:
            self.fail("empty")
        return data.incoming
