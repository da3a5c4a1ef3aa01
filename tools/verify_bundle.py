#!/usr/bin/env python3
"""Check an exported roof bundle or a signed claim packet offline.

    python3 verify_bundle.py BUNDLE.zip|PACKET.pdf [--key HEX]

Needs Python 3.9 or newer and nothing else, shares no code with the register that wrote
the file, and opens no connection. Exit code 0: nothing wrong; 1: something is; 2: it
cannot be read at all.

A clean answer means: files and records are those whose hashes are in the roof's chain,
its head is in the signed root, the holder of the key signed it; of a packet, every
byte is as the holder of the key sealed it (its X.509 signature is for PDF readers to
check). Give --key with a public key that you got some other way: a file made up from
scratch is clean under a key of its maker's own. Times are what the register wrote.
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import json
import re
import sys
import zipfile
import zlib
from typing import Any

MAX_BYTES = 200 * 1024 * 1024
# Ed25519, RFC 8032 section 5.1: the curve -x2 + y2 = 1 + d x2 y2 over 2^255 - 19.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
# A packet's signature, last in the file, and its manifest (ISO 32000-2 12.8, 7.11.4).
SIGNED = rb"/Contents <([0-9A-F]+)>\n/ByteRange \[0 (\d+) (\d+) (\d+)\] *\n"
ATTACHED = rb"/Type /EmbeddedFile\n[^>]+>>\n/Length (\d+)\n>>\nstream\n"
MANIFEST, TEXTS, CHAIN = "manifest.json", "texts.json", "chain.jsonl"
LOOSE = "utf-8", "surrogatepass"


class Wrong(Exception):
    """Something in one part of the file does not fit."""


BAD = Wrong, LookupError, TypeError, ValueError, AttributeError, zlib.error


def add(a: tuple, b: tuple) -> tuple:
    """Add two points of the curve (RFC 8032 section 5.1.4)."""
    t = D * a[0] * b[0] * a[1] * b[1] % P
    x, y = a[0] * b[1] + b[0] * a[1], a[1] * b[1] + a[0] * b[0]
    return x * pow(1 + t, -1, P) % P, y * pow(1 - t, -1, P) % P


def times(number: int, point: tuple) -> tuple:
    half = times(number >> 1, add(point, point)) if number else (0, 1)
    return add(half, point) if number & 1 else half


def point_of(data: bytes) -> tuple | None:
    """Return the point that 32 bytes stand for (RFC 8032 section 5.1.3), or None."""
    number = int.from_bytes(data, "little")
    y, sign = number & (1 << 255) - 1, number >> 255
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    if y >= P or (x * x - square) % P or (x == 0 and sign):
        return None
    return (P - x if x & 1 != sign else x), y


@functools.lru_cache
def is_signed(key_hex: str, message: bytes, signature_hex: str) -> bool:
    """Return whether a signature is right (RFC 8032 section 5.1.7)."""
    public, signature = unhex(key_hex), unhex(signature_hex)
    if (len(public), len(signature)) != (32, 64):
        return False
    key, commitment = point_of(public), point_of(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if key is None or commitment is None or scalar >= ORDER:
        return False
    digest = hashlib.sha512(signature[:32] + public + message).digest()
    challenge = int.from_bytes(digest, "little") % ORDER
    base = point_of((4 * pow(5, -1, P) % P).to_bytes(32, "little"))
    return times(scalar, base) == add(commitment, times(challenge, key))


def unhex(text: str) -> bytes:
    """Return the bytes that hexadecimal digits spell in the one way."""
    if (data := bytes.fromhex(text)).hex() != text:
        raise Wrong("it is misspelt")
    return data


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def canonical(value: object) -> bytes:
    plain = {"separators": (",", ":"), "ensure_ascii": False}
    return json.dumps(value, sort_keys=True, **plain).encode(*LOOSE)


def parsed(data: bytes, members: set[str] | None = None) -> Any:
    """Return JSON in its one canonical spelling, an object of exactly these members."""
    try:
        value = json.loads(data.decode(*LOOSE))
        again = canonical(value)
    except (ValueError, RecursionError) as error:
        raise Wrong(f"it is not JSON: {error}") from None
    if again != data or (members is not None and set(value) != members):
        raise Wrong("it is not in canonical form, or of other members")
    return value


def root_by(path: list[str], leaf: bytes, index: int, size: int) -> bytes:
    """Return the root that a leaf and its path lead to (RFC 9162 section 2.1.3)."""
    if not 0 <= index < size or (size == 1) != (path == []):
        raise Wrong("its index or its path does not fit its tree")
    if size == 1:
        return hashlib.sha256(b"\x00" + leaf).digest()
    half, rest = 1 << (size - 1).bit_length() - 1, path[:-1]
    if index < half:
        pair = root_by(rest, leaf, index, half) + unhex(path[-1])
    else:
        pair = unhex(path[-1]) + root_by(rest, leaf, index - half, size - half)
    return hashlib.sha256(b"\x01" + pair).digest()


class Bundle:
    """One bundle in memory; each check adds what it finds to ``faults``."""

    steps = "manifest", "chain", "files", "keys", "checkpoint", "proof", "texts"
    left_out: tuple = ()

    def __init__(self, path: str, trusted: str = "") -> None:
        self.faults: list[str] = []
        self.trusted = trusted.lower()
        self.members: dict[str, bytes] = {}
        self.manifest, self.facts, self.heads = {}, {}, {}
        self.records: list[dict[str, Any]] = []
        self.open(path)

    def fault(self, part: str, reason: str) -> None:
        self.faults.append(f"{part}: {reason}.")

    def open(self, path: str) -> None:
        with zipfile.ZipFile(path) as archive:
            for info in archive.infolist():
                try:
                    if info.filename in self.members or info.file_size > MAX_BYTES:
                        raise Wrong("it stands there twice, or is too large to check")
                    self.members[info.filename] = archive.read(info)
                except (*BAD, zipfile.BadZipFile, OSError, RuntimeError) as error:
                    self.fault(info.filename, f"it cannot be read: {error}")

    def check(self) -> None:
        """Make every check; one that fails keeps the others from nothing."""
        for step in self.steps:
            if step in self.left_out:
                continue
            name = CHAIN if step == "chain" else f"{step}.json"
            try:
                getattr(self, f"check_{step}")()
            except Wrong as wrong:
                self.fault(name, str(wrong))
            except BAD as bad:
                self.fault(name, f"it is not of the expected form: {bad!r}")

    def part(self, name: str, *members: str) -> dict[str, Any]:
        return parsed(self.members.get(name, b""), set(members))

    def check_manifest(self) -> None:
        told = self.part(MANIFEST, "files", "format", "left_out", "roof", "version")
        self.manifest, listed = told, {entry["path"]: entry for entry in told["files"]}
        if (told["format"], told["version"]) != ("roof-register-bundle", 1):
            raise Wrong("its format or version is not one that this program knows")
        for name in sorted(self.members.keys() - listed.keys() - {MANIFEST}):
            self.fault(MANIFEST, f"it does not list {name}")
        for name, entry in listed.items():
            data = self.members.get(name, b"")
            if entry != {"path": name, "sha256": sha256(data), "size": len(data)}:
                self.fault(name, f"it is not what {MANIFEST} lists, or is missing")

    def check_chain(self) -> None:
        own, lines = "", self.members.get(CHAIN, b"").split(b"\n")
        if lines.pop() != b"" or not lines:
            raise Wrong("it is missing, empty or cut off")
        for seq, line in enumerate(lines, start=1):
            told, previous = parsed(line), own
            own, digest = told.pop("entry_sha256"), told["payload_sha256"]
            if "texts" in self.steps:
                payload = told.pop("payload").encode(*LOOSE)
                self.records.extend(parsed(payload)["records"])
                digest = sha256(payload)
            link = {"payload_sha256": digest, "previous_sha256": previous, "seq": seq}
            when = {name: told[name] for name in ("kind", "recorded_at")}
            whole = {"payload": digest, "previous": previous, "seq": seq, **when}
            whole["roof"] = self.manifest["roof"]
            if told != {**link, **when} or sha256(canonical(whole)) != own:
                raise Wrong(f"entry {seq} was changed, or one before it is missing")
            self.heads[seq] = own
        self.facts["entries"] = len(lines)

    def check_files(self) -> None:
        exhibits = [r for r in self.records if r.get("type") == "exhibit"]
        sizes = {f"files/{r['sha256']}": r["size_bytes"] for r in exhibits}
        left_out = {f"files/{digest}" for digest in self.manifest["left_out"]}
        held = {name for name in self.members if name.startswith("files/")}
        for name in sorted(left_out - sizes.keys() | left_out & held):
            self.fault(MANIFEST, f"it is wrong that {name} is left out")
        for name in sorted((sizes.keys() | held) - left_out):
            data = self.members.get(name, b"")
            if (f"files/{sha256(data)}", len(data)) != (name, sizes.get(name)):
                self.fault(name, "it is missing, changed, or not named by the chain")
        self.facts["exhibits"] = len(sizes)

    def check_keys(self) -> None:
        self.keys: list[str] = []
        for entry in parsed(self.members.get("keys.json", b"")):
            public, endorsement = entry.pop("public_key"), entry.pop("endorsement")
            message = b"roof-register key\n" + public.encode()
            if entry or (endorsement and not self.keys):
                raise Wrong("its members are not the expected ones")
            if self.keys and not is_signed(self.keys[-1], message, endorsement):
                raise Wrong(f"key {public} is not endorsed by the one before it")
            self.keys.append(public)
        if self.trusted and self.trusted not in self.keys:
            raise Wrong("the key you trust is not among its keys")
        # What came before the trusted key is vouched for by nobody you know.
        self.keys = self.keys[self.keys.index(self.trusted) if self.trusted else 0 :]

    def check_checkpoint(self) -> None:
        outer = self.part("checkpoint.json", "note", "signature")
        self.note = parsed(outer["note"].encode())
        message = b"roof-register checkpoint\n" + outer["note"].encode()
        if self.note["key"] not in self.keys:
            raise Wrong("it is signed by a key that is not in keys.json")
        if not is_signed(self.note["key"], message, outer["signature"]):
            raise Wrong("its signature is not right")
        self.facts.update((name, self.note[name]) for name in ("made_at", "key"))

    def check_proof(self) -> None:
        proof = self.part("proof.json", "index", "path", "seq", "size")
        size, seq = proof["size"], proof["seq"]
        leaf = {"head": self.heads[seq], "roof": self.manifest["roof"], "seq": seq}
        root = root_by(proof["path"], canonical(leaf), proof["index"], size).hex()
        if (root, size) != (self.note["root"], self.note["size"]):
            raise Wrong("it does not lead to the signed root")
        if "texts" in self.steps and seq != len(self.heads):
            raise Wrong(f"it says nothing of the entries after {seq}")

    def check_texts(self) -> None:
        values = [v for r in self.records for v in r.values() if isinstance(v, dict)]
        known = {v.get("text"): v.get("sha256") for v in values}
        for uuid, text in parsed(self.members.get(TEXTS, b"{}")).items():
            salted = f"{text.pop('salt')}\n{text.pop('body')}"
            if text or known.get(uuid) != sha256(salted.encode(*LOOSE)):
                raise Wrong(f"text {uuid} is not the one in the chain")


class Packet(Bundle):
    """One signed packet; its manifest holds what a bundle has in files of its own."""

    steps = "manifest", "keys", "signature", "chain", "heads", "checkpoint", "proof"

    def open(self, path: str) -> None:
        with open(path, "rb") as file:
            self.data = file.read()
        if b"%PDF-" not in self.data[:9] and b"/ETSI.CAdES" not in self.data:
            raise zipfile.BadZipFile("it is neither a bundle nor a packet")

    def check_manifest(self) -> None:
        if not (found := re.search(ATTACHED, self.data)):
            raise Wrong("it is not attached")
        packed = self.data[found.end() :][: int(found[1])]
        told = parsed(zlib.decompressobj().decompress(packed, MAX_BYTES))
        body, self.manifest, ledger = told["body"], told, told["ledger"]
        if (told["format"], told["version"]) != ("roof-register-packet", 1):
            raise Wrong("its format or version is not one that this program knows")
        if sha256(self.data[: body["size"]]) != body["sha256"]:
            raise Wrong("the pages are not those that it names")
        lines = (canonical(entry) + b"\n" for entry in ledger["chain"])
        parts = {"keys": told["keys"], **(ledger["signed"] or {})}
        self.members = {f"{name}.json": canonical(parts[name]) for name in parts}
        self.members[CHAIN] = b"".join(lines)
        self.left_out = () if ledger["signed"] else ("checkpoint", "proof")

    def check_signature(self) -> None:
        """The register's seal ends the signature's container and covers all before it
        and around it; the digits that follow are zeros, and nothing else is left."""
        if not (found := re.search(SIGNED, self.data)):
            raise Wrong("there is none over the file")
        start, stop, rest = map(int, found.groups()[1:])
        edges = found.start(1) - 1, found.end(1) + 1, len(self.data)
        if (start, stop, stop + rest) != edges:
            raise Wrong("there are bytes outside of the range that it signs")
        held = bytes.fromhex(found[1].decode())
        held = held[: 4 + int.from_bytes(held[2:4], "big")]
        covered = sha256(self.data[:start] + held[:-64] + self.data[stop:])
        if held.hex().upper().ljust(len(found[1]), "0").encode() != found[1]:
            raise Wrong("it is misspelt, or its padding is not zeros")
        mark = b"roof-register packet\n" + covered.encode()
        if not is_signed(self.keys[-1], mark, held[-64:].hex()):
            raise Wrong("the file is not the one that was signed")
        # Now the seal vouches for keys older than the trusted one.
        self.keys = [each["public_key"] for each in self.manifest["keys"]]

    def check_heads(self) -> None:
        for named in (self.manifest["ledger"]["head"], *self.manifest["relied_on"]):
            if self.heads[named["seq"]] != named["sha256"]:
                raise Wrong(f"entry {named['seq']} is not the one of the chain")


def main(arguments: list[str] | None = None) -> int:
    """Check the file that the command line names and say what is wrong."""
    parser = argparse.ArgumentParser(description="Check a bundle or a claim packet.")
    parser.add_argument("file")
    parser.add_argument("--key", default="", help="a public key that you trust")
    options = parser.parse_args(arguments)
    kind = Bundle if zipfile.is_zipfile(options.file) else Packet
    try:
        read = kind(options.file, options.key)
    except (OSError, zipfile.BadZipFile) as error:
        sys.stdout.write(f"{options.file} cannot be read: {error}\n")
        return 2
    read.check()
    for line in (*read.faults, json.dumps(read.facts)):
        sys.stdout.write(f"{line}\n")
    sys.stdout.write(f"{len(read.faults) or 'No'} faults.\n")
    return 1 if read.faults else 0


if __name__ == "__main__":
    sys.exit(main())
