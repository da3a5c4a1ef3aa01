"""How big a file may be and how far it may unfold.

Project conventions. Published limits of decoders differ: 40 million pixels hold
every common phone's photo, and a decoded one fits the memory that one process gets.
"""

from __future__ import annotations

MAX_FILE_BYTES = 50 * 1024 * 1024
MAX_PIXELS = 40_000_000
# A small file that unfolds into a large picture is made, not photographed: an
# overexposed white roof unfolds about 170 times, a flat generated picture thousands.
MAX_UNFOLDING = 500
UNFOLDING_FROM_PIXELS = 4_000_000
DECODED_BYTES_PER_PIXEL = 3

SCREEN_EDGE_PX = 1600
THUMBNAIL_EDGE_PX = 320
EDGES_PX = (SCREEN_EDGE_PX, THUMBNAIL_EDGE_PX)

DECODER_MEMORY_BYTES = 512 * 1024 * 1024
DECODER_CPU_S = 10
DECODER_WALL_S = 30.0
DECODER_OUTPUT_BYTES = 32 * 1024 * 1024


def why_refused(*, width_px: int, height_px: int, size_bytes: int) -> str:
    """Return why a picture of this declared size is refused, or an empty text.

    Parameters
    ----------
    width_px, height_px : int
        As the file's own header declares them. [px]
    size_bytes : int
        Size of the whole file. [B], > 0

    Notes
    -----
    Project convention, see the constants of this module.
    """
    pixels = width_px * height_px
    if width_px < 1 or height_px < 1:
        return f"The picture declares {width_px} x {height_px} pixels."
    if pixels > MAX_PIXELS:
        return (
            f"The picture declares {pixels:,} pixels; at most {MAX_PIXELS:,} are taken."
        )
    unfolded = pixels * DECODED_BYTES_PER_PIXEL
    if pixels > UNFOLDING_FROM_PIXELS and unfolded > MAX_UNFOLDING * size_bytes:
        return (
            f"The picture unfolds to {unfolded // size_bytes} times its size; "
            f"at most {MAX_UNFOLDING} times is taken."
        )
    return ""
