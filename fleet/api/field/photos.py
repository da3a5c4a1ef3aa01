"""Photo bytes from phones."""

from __future__ import annotations

from collections.abc import Iterator
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from fleet.actions.field_photos import PHOTO_BYTES_MAX, receive_photo
from fleet.api.field.access import BodyCut, digest_of, for_a_device, open_to_phones
from fleet.models import FieldDevice
from fleet.store.errors import TooLarge

CHUNK_BYTES = 256 * 1024


@open_to_phones("PUT")
@for_a_device
def photo(request: HttpRequest, device: FieldDevice, photo_id: UUID) -> HttpResponse:
    """Keep a photo's bytes; the answer's hash is what the phone may delete against."""
    digest = digest_of(request)
    announced = int(request.META.get("CONTENT_LENGTH") or "0")
    if announced > PHOTO_BYTES_MAX:
        raise TooLarge("A photo has at most 15 MB. Make it smaller, send it again.")
    row, is_new = receive_photo(
        device=device,
        photo=photo_id,
        chunks=_chunks(request, announced),
        sha256=digest,
        now=timezone.now(),
    )
    answer = {"photo": str(row.photo), "sha256": row.sha256, "size": row.size}
    return JsonResponse(answer, status=201 if is_new else 200)


def _chunks(request: HttpRequest, announced: int) -> Iterator[bytes]:
    """Yield the body piece by piece.

    Raises:
        BodyCut: fewer bytes came than were announced.
    """
    came = 0
    while chunk := request.read(CHUNK_BYTES):
        came += len(chunk)
        yield chunk
    if came != announced:
        raise BodyCut("The photo was cut on its way. Send it again.")
