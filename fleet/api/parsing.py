"""JSON in, strictly: one meaning per member, and no more depth than a stack has."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import IO

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer


class StrictJSONParser(BaseParser):
    """JSON without doubled members, NaN or infinities (RFC 8259, 4 and 6)."""

    media_type = "application/json"
    renderer_class = JSONRenderer

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> object:
        """Return the parsed body.

        Raises:
            ParseError: the body is not such JSON.
        """
        try:
            text = stream.read().decode("utf-8")
            body = json.loads(
                text, object_pairs_hook=_once_each, parse_constant=_refused
            )
            if "\\ud" in text.casefold():
                # Half a surrogate pair is no character: nothing could send it back.
                json.dumps(body, ensure_ascii=False).encode("utf-8")
            return body
        except RecursionError:
            raise ParseError("The body is nested too deeply.") from None
        except ValueError as error:
            raise ParseError(f"The body is not JSON: {error}.") from None


def _once_each(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) < len(pairs):
        raise ValueError("a member stands twice")
    return members


def _refused(word: str) -> object:
    raise ValueError(f"{word} is no number")
