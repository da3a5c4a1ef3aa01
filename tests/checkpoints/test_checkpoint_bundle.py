"""A bundle is clean as exported, and every change in it is found and named."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import zipfile

import pytest
from django.conf import settings

from fleet.actions.bundles import export_bundle
from fleet.actions.checkpoints import make_checkpoint, rotate_key
from fleet.models import PrivateText
from fleet.signing import CHECKPOINT_MARK, new_key
from tests.builders import NOON, make_roof, office
from tests.checkpoints.bundle_case import (
    faults_of,
    members_of,
    resealed,
    verifier,
    write,
)

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def repeatable(start: int) -> random.Random:
    """Return changes that come again in the same order when a test fails."""
    return random.Random(start)  # noqa: S311 - no secret


def spoil(rng: random.Random, data: bytes) -> bytes:
    """Return data with one random change: a bit, a byte more or less, a cut end."""
    at = rng.randrange(len(data))
    ways = (
        lambda: data[:at] + bytes([data[at] ^ 1 << rng.randrange(8)]) + data[at + 1 :],
        lambda: data[:at] + data[at + 1 :],
        lambda: data[:at] + bytes([rng.randrange(256)]) + data[at:],
        lambda: data[:at],
    )
    while (spoiled := rng.choice(ways)()) == data:
        pass
    return spoiled


class TestCleanBundle:
    def test_an_exported_bundle_has_no_fault(self, bundle, signing_key):
        assert faults_of(bundle, signing_key.public_key) == []

    def test_it_holds_files_chain_proof_and_signature(self, bundle):
        names = set(members_of(bundle))

        assert len([name for name in names if name.startswith("files/")]) == 2
        assert names >= {"chain.jsonl", "proof.json", "checkpoint.json", "keys.json"}

    def test_the_program_runs_alone_and_says_so(self, bundle, signing_key, tmp_path):
        done = subprocess.run(  # noqa: S603 - our own program
            [
                sys.executable,
                "-I",
                settings.BASE_DIR / "tools" / "verify_bundle.py",
                bundle,
                "--key",
                signing_key.public_key,
            ],
            cwd=tmp_path,
            env={},
            capture_output=True,
            text=True,
            check=False,
        )

        assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "No faults.")

    def test_packing_it_anew_in_any_order_accuses_nothing(self, bundle, tmp_path):
        rng, members = repeatable(1), members_of(bundle)
        for turn in range(20):
            names = rng.sample(sorted(members), len(members))
            packed = write(tmp_path / f"{turn}.zip", {n: members[n] for n in names})

            assert faults_of(packed) == []

    def test_texts_stay_out_unless_asked_for(self, evident_roof, tmp_path):
        path = tmp_path / "plain.zip"
        export_bundle(roof=evident_roof, target=path, with_texts=False, now=NOON)

        assert b"cap seam" not in b"".join(members_of(path).values())
        assert faults_of(path) == []

    def test_an_erased_text_is_left_out_and_nothing_is_wrong(
        self, evident_roof, tmp_path
    ):
        PrivateText.objects.update(body="", salt="", erased_at=NOON)
        path = tmp_path / "erased.zip"
        export_bundle(roof=evident_roof, target=path, with_texts=True, now=NOON)

        assert members_of(path)["texts.json"] == b"{}"
        assert faults_of(path) == []

    def test_a_covering_checkpoint_is_used_again(self, evident_roof, bundle, tmp_path):
        again = export_bundle(
            roof=evident_roof, target=tmp_path / "2.zip", with_texts=True, now=NOON
        )

        assert again.number == 1
        assert (tmp_path / "2.zip").read_bytes() == bundle.read_bytes()

    def test_keys_that_followed_each_other_are_checked(
        self, evident_roof, signing_key, tmp_path
    ):
        rotated = rotate_key(by=office(), now=NOON)
        path = tmp_path / "rotated.zip"
        export_bundle(roof=evident_roof, target=path, with_texts=True, now=NOON)

        assert faults_of(path, signing_key.public_key) == []
        assert faults_of(path, rotated.public_key) == []


class TestSpoiledBundle:
    def test_any_change_of_a_member_is_found_and_named(self, bundle, tmp_path):
        rng, members = repeatable(1), members_of(bundle)
        missed = []
        for turn in range(300):
            name = rng.choice(sorted(members))
            spoiled = members | {name: spoil(rng, members[name])}
            found = faults_of(write(tmp_path / f"{turn}.zip", spoiled))
            if not any(name in fault for fault in found):
                missed.append((turn, name, found))

        assert missed == []

    def test_a_change_with_a_fitting_manifest_is_found_too(self, bundle, tmp_path):
        rng, members = repeatable(2), members_of(bundle)
        names = sorted(members.keys() - {"manifest.json"})
        missed = []
        for turn in range(200):
            name = rng.choice(names)
            spoiled = resealed(members | {name: spoil(rng, members[name])})
            if not faults_of(write(tmp_path / f"{turn}.zip", spoiled)):
                missed.append((turn, name))

        assert missed == []

    def test_a_missing_member_is_named(self, bundle, tmp_path):
        members = members_of(bundle)
        for name in members:
            rest = {n: data for n, data in members.items() if n != name}
            found = faults_of(write(tmp_path / "less.zip", rest))

            assert any(name in fault for fault in found)

    def test_a_member_too_many_is_named(self, bundle, tmp_path):
        more = members_of(bundle) | {"files/extra": b"not in the chain"}

        found = faults_of(write(tmp_path / "more.zip", resealed(more)))

        assert any("files/extra" in fault for fault in found)

    def test_a_file_listed_as_left_out_must_be_one_of_the_chain(self, bundle, tmp_path):
        members = members_of(bundle)
        manifest = json.loads(members["manifest.json"])
        manifest["left_out"] = ["0" * 64]
        text = json.dumps(manifest, sort_keys=True, separators=(",", ":"))
        spoiled = members | {"manifest.json": text.encode()}

        [fault] = faults_of(write(tmp_path / "left.zip", spoiled))

        assert fault.startswith("manifest.json: it is wrong")

    def test_another_key_is_found_by_who_knows_the_right_one(
        self, bundle, signing_key, tmp_path
    ):
        forger, members = new_key(), members_of(bundle)
        outer = json.loads(members["checkpoint.json"])
        note = json.loads(outer["note"]) | {"key": forger.public_hex}
        outer["note"] = json.dumps(note, sort_keys=True, separators=(",", ":"))
        outer["signature"] = forger.sign(CHECKPOINT_MARK, outer["note"])
        keys = [{"endorsement": "", "public_key": forger.public_hex}]
        forged = members | {
            "checkpoint.json": _canonical(outer),
            "keys.json": _canonical(keys),
        }
        path = write(tmp_path / "forged.zip", resealed(forged))

        assert faults_of(path) == []
        assert any(
            "trust" in fault for fault in faults_of(path, signing_key.public_key)
        )

    def test_an_earlier_key_cannot_vouch_for_the_trusted_one(
        self, bundle, signing_key, tmp_path
    ):
        # The forger endorses the right key and signs with their own.
        forger, members = new_key(), members_of(bundle)
        outer = json.loads(members["checkpoint.json"])
        note = json.loads(outer["note"]) | {"key": forger.public_hex}
        outer["note"] = json.dumps(note, sort_keys=True, separators=(",", ":"))
        outer["signature"] = forger.sign(CHECKPOINT_MARK, outer["note"])
        vouched = forger.sign(b"roof-register key\n", signing_key.public_key)
        keys = [
            {"endorsement": "", "public_key": forger.public_hex},
            {"endorsement": vouched, "public_key": signing_key.public_key},
        ]
        forged = members | {
            "checkpoint.json": _canonical(outer),
            "keys.json": _canonical(keys),
        }
        path = write(tmp_path / "forged.zip", resealed(forged))

        assert faults_of(path, signing_key.public_key) != []

    def test_entries_after_the_signed_one_are_not_taken(
        self, bundle, evident_roof, tmp_path
    ):
        members = members_of(bundle)
        make_roof()
        newer = make_checkpoint(now=NOON)
        assert newer.number == 2
        longer = members["chain.jsonl"].splitlines(keepends=True)
        members["chain.jsonl"] = b"".join(longer[:-1])
        path = write(tmp_path / "shorter.zip", resealed(members))

        assert any(fault.startswith("proof.json: ") for fault in faults_of(path))

    def test_no_zip_at_all_is_said_so(self, tmp_path, capsys):
        path = tmp_path / "no.zip"
        path.write_bytes(b"nothing like it")

        assert verifier.main([str(path)]) == 2
        assert "cannot be read" in capsys.readouterr().out

    def test_a_member_that_stands_twice_is_named(self, bundle, tmp_path):
        members = members_of(bundle)
        path = write(tmp_path / "twice.zip", members)
        with (
            pytest.warns(UserWarning, match="Duplicate"),
            zipfile.ZipFile(path, "a") as archive,
        ):
            archive.writestr("proof.json", members["proof.json"])

        assert any(fault.startswith("proof.json: ") for fault in faults_of(path))


def _canonical(value: object) -> bytes:
    return json.dumps(value, sort_keys=True, separators=(",", ":")).encode()
