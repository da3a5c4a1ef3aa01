"""The signed packet: one file, stored once, that a stranger's programs accept too."""

from __future__ import annotations

import json
import re

import pytest

from jobs.packet_signature import signature_report

pytestmark = pytest.mark.django_db


def manifest_of(packet: bytes) -> dict:
    return json.loads(signature_report(packet).manifest)


def hex_of(packet: bytes) -> bytes:
    [found] = re.findall(rb"/Contents <([0-9A-F]+)>\n/ByteRange", packet)
    return found
