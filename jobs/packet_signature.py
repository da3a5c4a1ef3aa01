"""Attach the manifest to a packet's pages and sign the whole; check a signature.

Slow to import: only the rooms that sign or check packets do, the web process does not.

References: ISO 32000-2 sections 7.11.4 (embedded files) and 12.8 (signatures);
ETSI EN 319 142-1, baseline level B-B: ``ETSI.CAdES.detached``, the signing certificate
named among the signed attributes, the time claimed in ``/M`` alone.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from io import BytesIO

from asn1crypto import cms, core, keys, x509
from pyhanko.pdf_utils.embed import (
    EmbeddedFileObject,
    EmbeddedFileParams,
    FileSpec,
    embed_file,
)
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.signers import (
    PdfSignatureMetadata,
    PdfSigner,
    SimpleSigner,
)
from pyhanko.sign.signers.pdf_cms import PdfCMSSignedAttributes
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko.sign.validation.settings import KeyUsageConstraints
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext
from pyhanko_certvalidator.registry import SimpleCertificateStore

from fleet.packet_key import PacketKey
from fleet.signing import PACKET_MARK, SecretKey

MANIFEST_NAME = "manifest.json"
FIELD_NAME = "Signature"
# Beside the certificates: attributes, signature, and the names they repeat. [B]
ROOM_BYTES = 2048
# The attribute's name: an object identifier from a UUID (ITU-T X.667, arc 2.25).
SEAL_TYPE = "2.25.272903857126401986210465735130493620547"
SEAL_BYTES = 64  # Ed25519, RFC 8032 section 5.1.6


class NotASignedPacket(ValueError):
    """A file in which no one signature over an attached manifest can be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureReport:
    """What a signed packet says of itself, and whether its signature holds."""

    manifest: str
    certificate_sha256: str
    is_intact: bool  # the signed bytes have the digest that was signed
    is_valid: bool  # the signature is the certificate's, which was valid at the time
    is_whole_file: bool  # no byte but the signature's own is left out


def sign_packet(
    body: bytes, *, manifest: str, key: PacketKey, sealed_by: SecretKey, now: datetime
) -> bytes:
    """Return the body followed by its manifest and the signature over both.

    The body stands in it unchanged; the signature forbids any later addition. The
    register's own key seals the file with the signature's container in it, so that no
    digit of the container can be spelt otherwise, and whoever trusts that key needs no
    other.
    """
    writer = IncrementalPdfFileWriter(BytesIO(body))
    _attach(writer, manifest)
    metadata = PdfSignatureMetadata(
        field_name=FIELD_NAME,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
    )
    signer = PdfSigner(metadata, signer=_signer(key))
    session = signer.init_signing_session(writer)
    session.system_time = now.astimezone(UTC)
    prepared = session.prepare_tbs_document(
        validation_info=None, bytes_reserved=_room(key), appearance_text_params=None
    )
    target = BytesIO()
    digest, _ = prepared.digest_tbs_document(output=target)
    container = asyncio.run(
        signer.signer.async_sign(
            digest.document_digest,
            "sha256",
            use_pades=True,
            signed_attr_settings=PdfCMSSignedAttributes(signing_time=now),
        )
    )
    start, stop = digest.reserved_region_start, digest.reserved_region_end
    file = target.getvalue()
    digest.fill_with_cms(
        target, _sealed(container, file[:start], file[stop:], sealed_by)
    )
    return target.getvalue()


def _sealed(
    container: cms.ContentInfo, before: bytes, after: bytes, key: SecretKey
) -> bytes:
    """Return the container in DER with the seal as its last bytes.

    The seal is an unsigned attribute (RFC 5652 section 5.3) over the file with the
    container in its place, up to the seal itself.
    """
    seal = core.OctetString(bytes(SEAL_BYTES))
    attribute = cms.CMSAttribute({"type": SEAL_TYPE, "values": [seal]})
    [party] = container["content"]["signer_infos"]
    party["unsigned_attrs"] = cms.CMSAttributes([attribute])
    told = container.dump(force=True)[:-SEAL_BYTES]
    covered = sha256(before)
    covered.update(told)
    covered.update(after)
    return told + bytes.fromhex(key.sign(PACKET_MARK, covered.hexdigest()))


def signature_report(content: bytes) -> SignatureReport:
    """Return what a packet's signature says, judged at the time that it claims.

    The certificate is taken at its word here: whose it is, the ledger says.

    Raises:
        NotASignedPacket: no such signature can be read.
    """
    try:
        reader = PdfFileReader(BytesIO(content))
        manifest = _attached(reader)
        [signature] = reader.embedded_signatures
        certificate = signature.signer_cert
        status = validate_pdf_signature(
            signature,
            _trusting(signature),
            key_usage_settings=KeyUsageConstraints(
                key_usage={"digital_signature", "non_repudiation"}
            ),
        )
    # pyHanko's readers raise of what is broken whatever meets it first.
    except Exception as error:
        raise NotASignedPacket(f"{type(error).__name__}: {error}") from error
    return SignatureReport(
        manifest=manifest,
        certificate_sha256=sha256(certificate.dump()).hexdigest(),
        is_intact=bool(status.intact),
        is_valid=bool(status.valid and status.trusted),
        is_whole_file=status.coverage is SignatureCoverageLevel.ENTIRE_FILE,
    )


def _attach(writer: IncrementalPdfFileWriter, manifest: str) -> None:
    kept = EmbeddedFileObject.from_file_data(
        writer,
        manifest.encode("utf-8", "surrogatepass"),
        mime_type="application/json",
        params=EmbeddedFileParams(embed_checksum=False),
    )
    attached = FileSpec(
        file_spec_string=MANIFEST_NAME,
        file_name=MANIFEST_NAME,
        embedded_data=kept,
        description="What this packet rests on, by hash",
        af_relationship=pdf_name("/Data"),
    )
    embed_file(writer, attached)


def _attached(reader: PdfFileReader) -> str:
    names = reader.root["/Names"]["/EmbeddedFiles"]["/Names"]
    if len(names) != 2 or str(names[0]) != MANIFEST_NAME:
        raise NotASignedPacket(f"it attaches another file than {MANIFEST_NAME}.")
    data: bytes = names[1]["/EF"]["/F"].data
    return data.decode("utf-8", "surrogatepass")


def _signer(key: PacketKey) -> SimpleSigner:
    return SimpleSigner(
        signing_cert=x509.Certificate.load(key.certificate_der),
        signing_key=keys.PrivateKeyInfo.load(key.key_der),
        cert_registry=SimpleCertificateStore.from_certs(
            [x509.Certificate.load(each) for each in key.above_der]
        ),
    )


def _room(key: PacketKey) -> int:
    """Return how many hexadecimal digits are kept free for the signature."""
    certificates = len(key.certificate_der) + sum(map(len, key.above_der))
    return 2 * (certificates + len(key.certificate_der) + ROOM_BYTES)


def _trusting(signature: EmbeddedPdfSignature) -> ValidationContext:
    return ValidationContext(
        trust_roots=[signature.signer_cert],
        moment=signature.self_reported_timestamp,
        allow_fetching=False,
        # Nobody can ask a certificate's issuer decades later: nothing is fetched.
        revocation_mode="soft-fail",
    )
