#!/usr/bin/env python3
"""Check an exported roof bundle offline: files, chain, proof, signature.

    python3 verify_bundle.py BUNDLE.zip [--key HEX]

Needs Python 3.9 or newer and nothing else, shares no code with the register that wrote
the bundle, and opens no connection. Exit code 0: nothing wrong; 1: something is; 2: it
cannot be read at all.

What a clean answer means: the files and records are the ones whose hashes are in the
roof's chain, the chain's head is in the signed root, and the holder of the key signed
it. Give --key with a public key that you got some other way: a bundle made up from
scratch is clean under a key of its maker's own. Times are what the register wrote.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import zipfile
import zlib
from typing import Any

FORMAT = "roof-register-bundle"
MANIFEST, TEXTS = "manifest.json", "texts.json"
STEPS = ("manifest", "chain", "keys", "checkpoint", "proof", "texts")
FILES = {step: f"{step}.json" for step in STEPS} | {"chain": "chain.jsonl"}
MAX_MEMBER_BYTES = 200 * 1024 * 1024

# Ed25519, RFC 8032 section 5.1: the curve -x2 + y2 = 1 + d x2 y2 over 2^255 - 19.
P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT_OF_MINUS_ONE = pow(2, (P - 1) // 4, P)


class Wrong(Exception):
    """Something in one part of the bundle does not fit."""


def add(a: tuple, b: tuple) -> tuple:
    """Add two points in extended coordinates (RFC 8032 section 5.1.4)."""
    e = (a[1] - a[0]) * (b[1] - b[0]) % P
    f = (a[1] + a[0]) * (b[1] + b[0]) % P
    g, h = 2 * a[3] * b[3] * D % P, 2 * a[2] * b[2] % P
    e, j, k, m = f - e, h - g, h + g, f + e
    return e * j % P, k * m % P, j * k % P, e * m % P


def times(number: int, point: tuple) -> tuple:
    total = (0, 1, 1, 0)
    while number:
        total = add(total, point) if number & 1 else total
        point, number = add(point, point), number >> 1
    return total


def point_of(data: bytes) -> tuple | None:
    """Return the point that 32 bytes stand for (RFC 8032 section 5.1.3), or None."""
    number = int.from_bytes(data, "little")
    y, sign = number & (1 << 255) - 1, number >> 255
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT_OF_MINUS_ONE % P
    if y >= P or (x * x - square) % P or (x == 0 and sign):
        return None
    x = P - x if x & 1 != sign else x
    return x, y, 1, x * y % P


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))


def is_signed(key_hex: str, message: bytes, signature_hex: str) -> bool:
    """Return whether a signature is right (RFC 8032 section 5.1.7)."""
    public, signature = bytes.fromhex(key_hex), bytes.fromhex(signature_hex)
    if (len(public), len(signature)) != (32, 64) or signature.hex() != signature_hex:
        return False
    key, commitment = point_of(public), point_of(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if key is None or commitment is None or scalar >= ORDER:
        return False
    digest = hashlib.sha512(signature[:32] + public + message).digest()
    challenge = int.from_bytes(digest, "little") % ORDER
    left, right = times(scalar, BASE), add(commitment, times(challenge, key))
    return not (
        (left[0] * right[2] - right[0] * left[2]) % P
        or (left[1] * right[2] - right[1] * left[2]) % P
    )


def utf8(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def canonical(value: object) -> bytes:
    plain = {"separators": (",", ":"), "ensure_ascii": False}
    return utf8(json.dumps(value, sort_keys=True, **plain))


def parsed(data: bytes) -> Any:
    """Return JSON that is in its one canonical spelling."""
    try:
        value = json.loads(data.decode("utf-8", "surrogatepass"))
        again = canonical(value)
    except (ValueError, RecursionError) as error:
        raise Wrong(f"it is not JSON: {error}") from None
    if again != data:
        raise Wrong("it is not in canonical form")
    return value


def root_by(path: list[str], leaf: bytes, index: int, size: int) -> str:
    """Return the root that a leaf and its path lead to (RFC 9162 section 2.1.3.2)."""
    node, last = hashlib.sha256(b"\x00" + leaf).digest(), size - 1
    if not 0 <= index < size:
        raise Wrong("its index lies outside the tree")
    for step in path:
        sibling = bytes.fromhex(step)
        if last == 0 or sibling.hex() != step:
            raise Wrong("its path is too long or misspelt")
        if index & 1 or index == last:
            node = hashlib.sha256(b"\x01" + sibling + node).digest()
            while index and not index & 1:
                index, last = index >> 1, last >> 1
        else:
            node = hashlib.sha256(b"\x01" + node + sibling).digest()
        index, last = index >> 1, last >> 1
    if last:
        raise Wrong("its path is too short")
    return node.hex()


class Bundle:
    """One bundle in memory; each check adds what it finds to ``faults``."""

    def __init__(self, path: str, trusted: str = "") -> None:
        self.faults: list[str] = []
        self.trusted = trusted.lower()
        self.members: dict[str, bytes] = {}
        self.manifest, self.facts = {}, {}
        with zipfile.ZipFile(path) as archive:
            for info in archive.infolist():
                self.read(archive, info)

    def fault(self, part: str, reason: str) -> None:
        self.faults.append(f"{part}: {reason}.")

    def read(self, archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> None:
        name = info.filename
        if name in self.members or info.file_size > MAX_MEMBER_BYTES:
            self.fault(name, "it is in the bundle twice, or too large to check")
            return
        try:
            self.members[name] = archive.read(info)
        except (zipfile.BadZipFile, zlib.error, OSError, ValueError, RuntimeError) as e:
            self.fault(name, f"it cannot be read: {e}")

    def check(self) -> None:
        """Make every check; one that fails keeps the others from nothing."""
        for part in FILES:
            try:
                getattr(self, f"check_{part}")()
            except Wrong as wrong:
                self.fault(FILES[part], str(wrong))
            except (LookupError, TypeError, ValueError, AttributeError) as bad:
                self.fault(FILES[part], f"it is not of the expected form: {bad!r}")

    def part(self, name: str, members: set[str]) -> dict[str, Any]:
        """Return a part that is a JSON object of exactly these members."""
        if set(value := parsed(self.members.get(name, b""))) != members:
            raise Wrong("its members are not the expected ones")
        return value

    def check_manifest(self) -> None:
        wanted = {"files", "format", "left_out", "roof", "version"}
        self.manifest = self.part(MANIFEST, wanted)
        if (self.manifest["format"], self.manifest["version"]) != (FORMAT, 1):
            raise Wrong("its format or version is not one that this program knows")
        listed = {entry["path"]: entry for entry in self.manifest["files"]}
        for name in sorted(self.members.keys() - listed.keys() - {MANIFEST}):
            self.fault(MANIFEST, f"it does not list {name}")
        for name, entry in listed.items():
            data = self.members.get(name)
            if data is None:
                self.fault(MANIFEST, f"it lists {name}, which is missing")
            elif entry != {"path": name, "sha256": sha256(data), "size": len(data)}:
                self.fault(name, f"it is not what {MANIFEST} lists")

    def check_chain(self) -> None:
        self.heads: dict[int, str] = {}
        self.records: list[dict[str, Any]] = []
        own, lines = "", self.members.get("chain.jsonl", b"").split(b"\n")
        if lines.pop() != b"" or not lines:
            raise Wrong("it is missing, empty or cut off")
        for seq, line in enumerate(lines, start=1):
            payload = utf8((entry := parsed(line)).pop("payload"))
            link = {"payload": sha256(payload), "previous": own, "seq": seq}
            told = {"payload": entry.pop("payload_sha256"), "seq": entry.pop("seq")}
            told["previous"] = entry.pop("previous_sha256")
            own = entry.pop("entry_sha256")
            whole = {**entry, **link, "roof": self.manifest["roof"]}
            if link != told or set(entry) != {"kind", "recorded_at"}:
                raise Wrong(f"entry {seq} was changed, or one before it is missing")
            if sha256(canonical(whole)) != own:
                raise Wrong(f"entry {seq} does not have the hash it is chained by")
            self.records.extend(parsed(payload)["records"])
            self.heads[seq] = own
        self.facts = {"entries": len(lines)}
        self.check_files()

    def check_files(self) -> None:
        exhibits = [r for r in self.records if r.get("type") == "exhibit"]
        sizes = {f"files/{r['sha256']}": r["size_bytes"] for r in exhibits}
        left_out = {f"files/{digest}" for digest in self.manifest["left_out"]}
        held = {name for name in self.members if name.startswith("files/")}
        for name in sorted(left_out - sizes.keys() | left_out & held):
            self.fault(MANIFEST, f"it is wrong that {name} is left out")
        for name in sorted(sizes.keys() - held - left_out):
            self.fault(name, "the chain names it, and it is missing")
        for name in sorted(held):
            data = self.members[name]
            if f"files/{sha256(data)}" != name:
                self.fault(name, "its bytes do not have the hash it is named by")
            elif sizes.get(name) != len(data):
                self.fault(name, "the chain does not name it with this size")
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
        outer = self.part("checkpoint.json", {"note", "signature"})
        self.note = parsed(outer["note"].encode())
        if self.note["key"] not in self.keys:
            raise Wrong("it is signed by a key that is not in keys.json")
        message = b"roof-register checkpoint\n" + outer["note"].encode()
        if not is_signed(self.note["key"], message, outer["signature"]):
            raise Wrong("its signature is not right")
        self.facts.update((name, self.note[name]) for name in ("made_at", "key"))

    def check_proof(self) -> None:
        proof = self.part("proof.json", {"index", "path", "seq", "size"})
        size, seq = proof["size"], proof["seq"]
        leaf = {"head": self.heads[seq], "roof": self.manifest["roof"], "seq": seq}
        root = root_by(proof["path"], canonical(leaf), proof["index"], size)
        if (root, size) != (self.note["root"], self.note["size"]):
            raise Wrong("it does not lead to the signed root")
        if seq != len(self.heads):
            raise Wrong(f"it says nothing of the entries after {seq}")

    def check_texts(self) -> None:
        values = [v for r in self.records for v in r.values() if isinstance(v, dict)]
        known = {v.get("text"): v.get("sha256") for v in values}
        for uuid, text in parsed(self.members.get(TEXTS, b"{}")).items():
            salted = f"{text.pop('salt')}\n{text.pop('body')}"
            if text or known.get(uuid) != sha256(utf8(salted)):
                raise Wrong(f"text {uuid} is not the one in the chain")


def main(arguments: list[str] | None = None) -> int:
    """Check the bundle that the command line names and say what is wrong."""
    parser = argparse.ArgumentParser(description="Check an exported roof bundle.")
    parser.add_argument("bundle")
    parser.add_argument("--key", default="", help="a public key that you trust")
    options = parser.parse_args(arguments)
    try:
        bundle = Bundle(options.bundle, options.key)
    except (OSError, zipfile.BadZipFile) as error:
        sys.stdout.write(f"{options.bundle} cannot be read: {error}\n")
        return 2
    bundle.check()
    for line in (*bundle.faults, json.dumps(bundle.facts)):
        sys.stdout.write(f"{line}\n")
    sys.stdout.write(f"{len(bundle.faults) or 'No'} faults.\n")
    return 1 if bundle.faults else 0


if __name__ == "__main__":
    sys.exit(main())
