"""The signed packet: one file, stored once, that a stranger's programs accept too."""

from __future__ import annotations

import json
import re
import stat
import subprocess
import sys
from datetime import timedelta
from hashlib import sha256
from shutil import which

import pytest
from cryptography import x509
from django.core.management import CommandError, call_command

from fleet import store
from fleet.actions.checkpoints import make_checkpoint, rotate_key
from fleet.ledger.canonical import canonical_json
from fleet.models import LedgerEntry, PrivateText
from fleet.packet_key import NoPacketKey, make_packet_key, read_packet_key
from fleet.signing import SigningKeyExposed
from jobs import packets, relay
from jobs.models import RunState
from jobs.packet_check import check_packet
from jobs.packet_signature import signature_report
from jobs.registry import HANDLERS
from tests.builders import NOON, make_roof, office
from tests.packets.signing import offline, rendered
from warranty.actions.documents import PacketBytes, add_packet
from warranty.models import Document
from warranty.rules.version import RULE_VERSION

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
AROUND = relay.Surroundings(handlers=HANDLERS, clock=lambda: NOON, jitter=lambda: 0.0)


def manifest_of(packet: bytes) -> dict:
    return json.loads(signature_report(packet).manifest)


def run_program(*arguments: object) -> subprocess.CompletedProcess:
    return subprocess.run(  # noqa: S603 - programs of this machine
        list(map(str, arguments)), capture_output=True, text=True, check=False
    )


def container_of(packet: bytes) -> tuple[bytes, bytes]:
    """Return the CMS container and the bytes that it signs."""
    found = re.search(rb"/Contents <([0-9A-F]+)>\n/ByteRange", packet)
    held = bytes.fromhex(found[1].decode())
    size = 4 + int.from_bytes(held[2:4], "big")
    return held[:size], packet[: found.start(1) - 1] + packet[found.end(1) + 1 :]


class TestSignature:
    def test_it_is_whole_and_valid_for_the_library_that_reads_it_back(self, packet):
        report = signature_report(packet)

        assert (report.is_intact, report.is_valid, report.is_whole_file) == (True,) * 3

    def test_it_has_what_the_baseline_level_asks(self, packet):
        """ETSI EN 319 142-1 section 6.3, level B-B (from memory): the subfilter, the
        time in /M, no signing-time attribute (1.2.840.113549.1.9.5), and the signing
        certificate's hash (RFC 5035, 1.2.840.113549.1.9.16.2.47)."""
        container, _ = container_of(packet)

        assert packet.count(b"/SubFilter /ETSI.CAdES.detached") == 1
        assert b"/M (D" in packet
        assert bytes.fromhex("06092a864886f70d010905") not in container
        assert bytes.fromhex("060b2a864886f70d010910022f") in container

    @pytest.mark.skipif(not which("openssl"), reason="no openssl on this machine")
    def test_openssl_finds_it_right(self, packet, packet_key, tmp_path):
        container, signed = container_of(packet)
        (tmp_path / "c.der").write_bytes(container)
        (tmp_path / "signed").write_bytes(signed)
        command = ["openssl", "cms", "-verify", "-binary", "-inform", "DER"]
        command += ["-in", tmp_path / "c.der", "-content", tmp_path / "signed"]
        command += ["-CAfile", packet_key, "-purpose", "any", "-no_check_time"]

        good = run_program(*command, "-out", tmp_path / "out")
        (tmp_path / "signed").write_bytes(signed[:-1] + b" ")
        bad = run_program(*command, "-out", tmp_path / "out")

        assert good.returncode == 0, good.stderr
        assert bad.returncode != 0

    @pytest.mark.skipif(not which("pdfsig"), reason="no poppler-utils on this machine")
    def test_a_pdf_reader_finds_it_right_over_the_whole_file(self, packet, tmp_path):
        path = tmp_path / "packet.pdf"
        path.write_bytes(packet)

        said = run_program("pdfsig", path).stdout

        assert "Signature is Valid" in said
        assert "Total document signed" in said
        assert "ETSI.CAdES.detached" in said


class TestManifest:
    def test_it_is_canonical_and_names_the_pages(self, packet, document):
        text = signature_report(packet).manifest
        told = json.loads(text)
        body = packet[: told["body"]["size"]]

        assert canonical_json(told) == text
        assert sha256(body).hexdigest() == told["body"]["sha256"]
        assert told["body"]["sha256"] == document.body_sha256
        assert body.endswith(b"%%EOF\n")

    def test_it_names_terms_rules_standing_and_time(self, packet, claim):
        told = manifest_of(packet)

        assert told["claim"] == {"reference": claim.ref, "uuid": str(claim.uuid)}
        assert told["terms"]["edition"] == claim.roof.coverage.edition.code
        assert told["standing"]["rule_version"] == RULE_VERSION
        assert told["known_at"] == "2026-06-01T16:00:00.000000+00:00"

    def test_its_chain_ends_with_what_it_knew(self, packet, claim):
        told = manifest_of(packet)["ledger"]
        entries = list(claim.roof.entries.order_by("seq"))

        # The last entry is the packet's own: it came after.
        assert entries[-1].kind == "document"
        assert told["head"]["sha256"] == entries[-2].entry_sha256
        assert [each["seq"] for each in told["chain"]] == list(range(1, len(entries)))
        assert told["signed"] is None

    def test_a_checkpoint_that_has_the_roof_is_proved(
        self, signing_key, claim, tmp_path
    ):
        for _ in range(4):
            make_roof()
        checkpoint = make_checkpoint(now=NOON)
        packet = store.fetch(rendered(claim).sha256)
        path = tmp_path / "packet.pdf"
        path.write_bytes(packet)

        signed = manifest_of(packet)["ledger"]["signed"]

        assert signed["checkpoint"]["note"] == checkpoint.note
        assert offline(path, signing_key.public_key)[0] == 0

    def test_a_checkpoint_signed_before_the_key_was_followed_accuses_nothing(
        self, signing_key, claim, tmp_path
    ):
        make_checkpoint(now=NOON)
        newer = rotate_key(by=office(), now=NOON)
        path = tmp_path / "packet.pdf"
        path.write_bytes(store.fetch(rendered(claim).sha256))

        assert offline(path, newer.public_key)[0] == 0
        assert offline(path, signing_key.public_key)[0] == 0


class TestStoredOnce:
    def test_asked_again_it_is_the_same_file(self, document, claim):
        assert rendered(claim).sha256 == document.sha256
        assert Document.objects.count() == 1

    def test_the_ledger_names_the_whole_file(self, document, claim):
        entry = LedgerEntry.objects.filter(roof=claim.roof).order_by("-seq").first()

        assert document.sha256 in entry.payload
        assert document.certificate_sha256 in entry.payload

    def test_a_second_rendering_that_comes_late_changes_nothing(self, document, claim):
        late = PacketBytes(
            sha256="ab" * 32,
            size_bytes=9,
            body_sha256="cd" * 32,
            certificate_sha256="ef" * 32,
        )

        kept = add_packet(
            claim=claim,
            packet_id=document.uuid,
            made=late,
            known_at=NOON,
            by=office(),
            now=NOON,
        )

        assert kept.sha256 == document.sha256
        assert LedgerEntry.objects.filter(kind="document").count() == 1


class TestCheckPacket:
    def test_a_packet_signed_by_somebody_elses_key_is_found(
        self, packet, document, tmp_path
    ):
        path = tmp_path / "packet.pdf"
        path.write_bytes(packet)

        assert offline(path, "ab" * 32)[0] == 1

    @pytest.mark.parametrize(
        ("part", "place"),
        [("pages", 100), ("signature field and closing tables", -40)],
    )
    def test_it_says_in_which_part_a_byte_was_changed(self, packet, part, place):
        content = bytearray(packet)
        content[place] ^= 1

        verdict = check_packet(bytes(content))

        assert any(f"in its {part}" in fault for fault in verdict.faults)

    def test_it_says_how_many_bytes_were_appended_or_cut_off(self, packet):
        assert "3 bytes appended" in " ".join(check_packet(packet + b"\n%x").faults)
        assert "last 2 bytes cut off" in " ".join(check_packet(packet[:-2]).faults)

    def test_an_erased_text_accuses_no_packet(self, packet):
        PrivateText.objects.update(body="", salt="", erased_at=NOON)

        assert check_packet(packet).is_whole

    def test_a_file_of_another_kind_is_no_packet(self, db):
        verdict = check_packet(b"%PDF-1.4\nnothing")

        assert not verdict.is_whole
        assert "cannot be told" in verdict.faults[-1]

    def test_the_command_tells_by_its_exit_code(self, packet, tmp_path, capsys):
        path = tmp_path / "packet.pdf"
        path.write_bytes(packet)

        call_command("verify_packet", str(path))
        assert "byte for byte" in capsys.readouterr().out
        path.write_bytes(packet + b"\n")
        with pytest.raises(SystemExit) as changed:
            call_command("verify_packet", str(path))
        with pytest.raises(SystemExit) as gone:
            call_command("verify_packet", str(tmp_path / "none.pdf"))
        assert (changed.value.code, gone.value.code) == (1, 2)


class TestPacketKey:
    def test_without_one_the_run_says_which_command_makes_it(
        self, signing_key, claim, settings, tmp_path
    ):
        settings.PACKET_KEY_FILE = tmp_path / "none.pem"
        run = packets.request_packet(claim=claim, by=office(), now=NOON)

        relay.sweep(AROUND)

        run.refresh_from_db()
        assert run.state == RunState.DEAD
        assert "manage.py packet_key --make" in run.last_error

    def test_without_the_registers_own_key_the_run_says_so_too(self, claim):
        run = packets.request_packet(claim=claim, by=office(), now=NOON)

        relay.sweep(AROUND)

        run.refresh_from_db()
        assert "manage.py checkpoint --make-key" in run.last_error

    def test_the_command_makes_it_once_for_its_owner_alone(
        self, settings, tmp_path, capsys
    ):
        settings.PACKET_KEY_FILE = tmp_path / "own" / "key.pem"

        call_command("packet_key", make=True)

        assert stat.S_IMODE(settings.PACKET_KEY_FILE.stat().st_mode) == 0o600
        assert "signs claim packets" in capsys.readouterr().out
        with pytest.raises(CommandError, match="exists"):
            call_command("packet_key", make=True)

    def test_a_file_that_others_read_signs_nothing(self, settings, tmp_path):
        settings.PACKET_KEY_FILE = tmp_path / "key.pem"
        make_packet_key(name="Office", path=settings.PACKET_KEY_FILE, now=NOON)
        settings.PACKET_KEY_FILE.chmod(0o644)

        with pytest.raises(SigningKeyExposed):
            read_packet_key(now=NOON)

    def test_a_certificate_that_ran_out_signs_nothing(self, packet_key):
        with pytest.raises(NoPacketKey, match="valid from"):
            read_packet_key(now=NOON + timedelta(days=5000))

    def test_anothers_certificate_signs_nothing(self, settings, packet_key, tmp_path):
        made = make_packet_key(name="Other", path=tmp_path / "other.pem", now=NOON)
        assert isinstance(made.certificate, x509.Certificate)
        key = packet_key.read_text().split("-----BEGIN CERTIFICATE")[0]
        other = (tmp_path / "other.pem").read_text()
        mixed = tmp_path / "mixed.pem"
        mixed.touch(mode=0o600)
        mixed.write_text(key + other[other.index("-----BEGIN CERTIFICATE") :])
        settings.PACKET_KEY_FILE = mixed

        with pytest.raises(NoPacketKey, match="not the one of its key"):
            read_packet_key(now=NOON)


def test_the_web_process_does_not_import_what_signs():
    code = (
        "import config.wsgi, sys; from django.urls import get_resolver; "
        "get_resolver().url_patterns; print('pyhanko' in sys.modules)"
    )

    assert run_program(sys.executable, "-c", code).stdout.strip() == "False"
