"""Checkpoints: signed over what the ledgers are, never over what was rewritten."""

from __future__ import annotations

import json
import re
import stat
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from fleet.actions.checkpoints import make_checkpoint, make_key, rotate_key
from fleet.ledger.merkle import merkle_root
from fleet.ledger.tree import head_leaf
from fleet.models import Checkpoint, LedgerEntry, Roof, SigningKey
from fleet.selectors.checkpoints import LedgerBroken, checkpoint_faults
from fleet.signing import NoSigningKey, SigningKeyExists, SigningKeyExposed
from jobs.models import RunState
from jobs.registry import HANDLERS
from jobs.relay import Surroundings, sweep
from tests.builders import NOON, make_roof, office
from tests.jobs.later import HandClock, make_run

pytestmark = pytest.mark.django_db


def unguarded(statement: str, *values: object) -> None:
    """Change a table as somebody who owns the database can: without its triggers."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # An owner's right: a role that owns its tables is no superuser.
            table = re.search(r"fleet_\w+", statement)[0]
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
            cursor.execute(statement, values)
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
            return
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f'DROP TRIGGER "{name}"')
        cursor.execute(statement, values)
        for _, sql in triggers:
            cursor.execute(sql)


class TestMakeCheckpoint:
    def test_the_root_is_the_one_over_all_heads_by_roof_id(self, signing_key):
        for _ in range(7):
            make_roof()

        row = make_checkpoint(now=NOON)

        # RFC 6962 section 2.1, computed over the whole list by another function.
        heads = sorted(
            (str(roof.uuid), roof.head.seq, roof.head.entry_sha256)
            for roof in Roof.objects.select_related("head")
        )
        leaves = [head_leaf(roof=u, seq=s, entry_sha256=h) for u, s, h in heads]
        assert (row.size, row.root_sha256) == (7, merkle_root(leaves).hex())

    def test_without_a_roof_it_signs_the_hash_of_nothing(self, signing_key):
        row = make_checkpoint(now=NOON)

        assert (row.size, row.root_sha256[:8]) == (0, "e3b0c442")

    def test_each_names_the_one_before(self, signing_key):
        first = make_checkpoint(now=NOON)
        make_roof()
        second = make_checkpoint(now=NOON + timedelta(days=1))

        assert json.loads(second.note)["previous"] != ""
        assert (first.number, second.number) == (1, 2)
        assert list(checkpoint_faults()) == []

    def test_what_was_rewritten_is_not_signed(self, signing_key):
        make_roof()
        entry = LedgerEntry.objects.get()
        unguarded(
            "UPDATE fleet_ledgerentry SET payload = %s WHERE id = %s",
            entry.payload + " ",
            entry.pk,
        )

        with pytest.raises(LedgerBroken, match="Entry 1"):
            make_checkpoint(now=NOON)

    def test_history_rewritten_with_fitting_hashes_is_not_signed_over(
        self, signing_key
    ):
        make_roof()
        make_roof()
        make_checkpoint(now=NOON)
        gone = LedgerEntry.objects.order_by("pk").first()
        unguarded("DELETE FROM fleet_ledgerhead WHERE roof_id = %s", gone.roof_id)
        unguarded("DELETE FROM fleet_ledgerentry WHERE id = %s", gone.pk)

        with pytest.raises(LedgerBroken, match="checkpoint 1"):
            make_checkpoint(now=NOON)

    def test_without_a_key_nothing_is_signed(self, db):
        with pytest.raises(NoSigningKey, match="--make-key"):
            make_checkpoint(now=NOON)

    @pytest.mark.parametrize("table", ["fleet_checkpoint", "fleet_signingkey"])
    def test_its_rows_refuse_change(self, signing_key, table):
        make_checkpoint(now=NOON)

        def delete():
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(f"DELETE FROM {table}")  # noqa: S608 - a fixed name

        with pytest.raises(DatabaseError):
            delete()

    def test_the_nightly_run_signs_one(self, signing_key):
        run = make_run(kind="checkpoint")

        sweep(Surroundings(handlers=HANDLERS, clock=HandClock(), jitter=lambda: 0.0))

        run.refresh_from_db()
        assert run.state == RunState.DONE
        assert run.result["checkpoint"] == Checkpoint.objects.get().number

    def test_the_nightly_run_says_that_no_key_was_made(self, db):
        run = make_run(kind="checkpoint")

        sweep(Surroundings(handlers=HANDLERS, clock=HandClock(), jitter=lambda: 0.0))

        run.refresh_from_db()
        assert (run.state, run.result["checkpoint"]) == (RunState.DONE, None)


class TestSigningKey:
    def test_only_its_owner_reads_the_file(self, signing_key, settings):
        mode = stat.S_IMODE(settings.SIGNING_KEY_FILE.stat().st_mode)

        assert mode == 0o600

    def test_the_secret_is_not_in_the_database(self, signing_key, settings):
        secret = settings.SIGNING_KEY_FILE.read_text().strip()

        assert secret not in str(list(SigningKey.objects.values()))

    def test_a_file_that_others_read_signs_nothing(self, signing_key, settings):
        settings.SIGNING_KEY_FILE.chmod(0o640)

        with pytest.raises(SigningKeyExposed):
            make_checkpoint(now=NOON)

    def test_it_is_made_once(self, signing_key):
        with pytest.raises(SigningKeyExists):
            make_key(by=office(), now=NOON)

    def test_another_file_signs_nothing(self, signing_key, settings):
        settings.SIGNING_KEY_FILE.write_text("ab" * 32)

        with pytest.raises(NoSigningKey, match="not the one"):
            make_checkpoint(now=NOON)

    def test_after_rotation_the_new_key_signs(self, signing_key):
        make_checkpoint(now=NOON)
        rotated = rotate_key(by=office(), now=NOON)

        assert make_checkpoint(now=NOON).key == rotated
        assert rotated.previous == signing_key
        assert list(checkpoint_faults()) == []

    def test_a_rotation_cut_off_after_its_record_is_finished_later(
        self, signing_key, settings, monkeypatch
    ):
        def cut_off(*_paths):
            raise OSError("power went")

        monkeypatch.setattr("fleet.actions.checkpoints.os.replace", cut_off)
        with pytest.raises(OSError, match="power"):
            rotate_key(by=office(), now=NOON)
        monkeypatch.undo()
        settings.SIGNING_KEY_FILE = settings.SIGNING_KEY_FILE

        row = make_checkpoint(now=NOON)

        assert row.key.previous == signing_key


class TestCheckpointFaults:
    @pytest.fixture
    def three(self, signing_key) -> list[Checkpoint]:
        made = []
        for _ in range(3):
            make_roof()
            made.append(make_checkpoint(now=NOON))
        return made

    @pytest.mark.parametrize(
        ("column", "value"),
        [
            ("root_sha256", "0" * 64),
            ("note", "{}"),
            ("signature", "0" * 128),
            ("size", 9),
            ("made_at", "2026-01-01 00:00:00+00:00"),
        ],
    )
    def test_a_changed_column_is_found(self, three, column, value):
        change = f"UPDATE fleet_checkpoint SET {column} = %s WHERE number = 2"  # noqa: S608 - a fixed name
        unguarded(change, value)

        assert any("Checkpoint 2" in fault for fault in checkpoint_faults())

    def test_a_missing_one_is_found(self, three):
        unguarded("DELETE FROM fleet_checkpoint WHERE number = 2")

        assert any("Checkpoint 3" in fault for fault in checkpoint_faults())

    def test_a_held_one_shows_a_register_put_back_to_before(self, three):
        held = json.dumps({"note": three[2].note, "signature": three[2].signature})
        unguarded("DELETE FROM fleet_checkpoint WHERE number = 3")

        assert list(checkpoint_faults(held)) == [
            "The register is behind the held checkpoint 3"
        ]

    def test_the_right_held_one_accuses_nothing(self, three):
        held = json.dumps({"note": three[1].note, "signature": three[1].signature})

        assert list(checkpoint_faults(held)) == []


class TestCommand:
    def test_prints_what_can_be_held_elsewhere(self, signing_key, capsys):
        call_command("checkpoint")

        kept = json.loads(capsys.readouterr().out)
        assert list(checkpoint_faults(json.dumps(kept))) == []

    def test_makes_and_follows_the_key(self, db, settings, tmp_path, capsys):
        settings.SIGNING_KEY_FILE = tmp_path / "key"
        call_command("checkpoint", make_key=True)
        call_command("checkpoint", rotate_key=True)

        assert SigningKey.objects.count() == 2
        assert capsys.readouterr().out.count("Public key: ") == 2

    def test_says_what_to_do_without_a_key(self, db):
        with pytest.raises(CommandError, match="--make-key"):
            call_command("checkpoint")
