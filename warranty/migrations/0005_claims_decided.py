import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0006_field_work_stays"),
        ("warranty", "0004_published_edition_refuses_change"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="ClaimMove",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                (
                    "move",
                    models.CharField(
                        choices=[
                            ("DECIDE", "DECIDE"),
                            ("REMEDY", "REMEDY"),
                            ("CLOSE", "CLOSE"),
                            ("WITHDRAW", "WITHDRAW"),
                            ("REOPEN", "REOPEN"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("REPORTED", "REPORTED"),
                            ("DECIDED", "DECIDED"),
                            ("REMEDIED", "REMEDIED"),
                            ("CLOSED", "CLOSED"),
                            ("WITHDRAWN", "WITHDRAWN"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "target",
                    models.CharField(
                        choices=[
                            ("REPORTED", "REPORTED"),
                            ("DECIDED", "DECIDED"),
                            ("REMEDIED", "REMEDIED"),
                            ("CLOSED", "CLOSED"),
                            ("WITHDRAWN", "WITHDRAWN"),
                        ],
                        max_length=12,
                    ),
                ),
                ("happened_on", models.DateField()),
            ],
        ),
        migrations.CreateModel(
            name="ClaimWait",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                (
                    "turn",
                    models.CharField(
                        choices=[
                            ("WAIT", "waiting for the owner"),
                            ("RESUME", "the owner has answered"),
                        ],
                        max_length=6,
                    ),
                ),
                ("happened_on", models.DateField()),
            ],
        ),
        migrations.CreateModel(
            name="Decision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                ("round_no", models.PositiveSmallIntegerField()),
                ("noticed_on", models.DateField()),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("APPROVED", "APPROVED"),
                            ("IN_PART", "IN_PART"),
                            ("DECLINED", "DECLINED"),
                        ],
                        max_length=8,
                    ),
                ),
                ("approved_cents", models.BigIntegerField()),
                ("currency", models.CharField(default="USD", max_length=3)),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("film", "film"),
                            ("detail", "detail"),
                            ("adhesion", "adhesion"),
                            ("substrate", "substrate"),
                            ("impact", "impact"),
                            ("alteration", "alteration"),
                            ("not-roof", "not-roof"),
                            ("condensation", "condensation"),
                            ("unknown", "unknown"),
                        ],
                        max_length=12,
                    ),
                ),
                ("rule_version", models.CharField(max_length=16)),
                ("known_at", models.DateTimeField()),
                (
                    "standing",
                    models.CharField(
                        choices=[
                            ("PENDING", "PENDING"),
                            ("IN_FORCE", "IN_FORCE"),
                            ("AT_RISK", "AT_RISK"),
                            ("SUSPENDED", "SUSPENDED"),
                            ("ENDED", "ENDED"),
                        ],
                        max_length=12,
                    ),
                ),
                ("verdicts", models.CharField(max_length=16)),
            ],
        ),
        migrations.CreateModel(
            name="DoubtAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                ("sign", models.CharField(max_length=24)),
                ("key", models.CharField(max_length=64)),
                (
                    "word",
                    models.CharField(
                        choices=[("ANSWERED", "answered"), ("DISMISSED", "dismissed")],
                        max_length=9,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Proposal",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                ("round_no", models.PositiveSmallIntegerField()),
                ("noticed_on", models.DateField()),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("APPROVED", "APPROVED"),
                            ("IN_PART", "IN_PART"),
                            ("DECLINED", "DECLINED"),
                        ],
                        max_length=8,
                    ),
                ),
                ("approved_cents", models.BigIntegerField()),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("film", "film"),
                            ("detail", "detail"),
                            ("adhesion", "adhesion"),
                            ("substrate", "substrate"),
                            ("impact", "impact"),
                            ("alteration", "alteration"),
                            ("not-roof", "not-roof"),
                            ("condensation", "condensation"),
                            ("unknown", "unknown"),
                        ],
                        max_length=12,
                    ),
                ),
                ("seen_sha256", models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name="Remedy",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("uuid", models.UUIDField(default=uuid.uuid4, editable=False)),
                (
                    "scope",
                    models.CharField(default="office", editable=False, max_length=48),
                ),
                ("supersedes", models.UUIDField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False)),
                ("settles", models.BooleanField(default=False)),
                ("recorded_at", models.DateTimeField()),
                ("part_cents", models.BigIntegerField(default=0)),
                ("labour_cents", models.BigIntegerField(default=0)),
                ("interior_cents", models.BigIntegerField(default=0)),
                ("done_on", models.DateField()),
            ],
        ),
        migrations.AddField(
            model_name="claim",
            name="answer_due_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddIndex(
            model_name="claim",
            index=models.Index(
                fields=["status", "answer_due_on"], name="claim_by_answer"
            ),
        ),
        migrations.AddField(
            model_name="claimmove",
            name="claim",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="moves",
                to="warranty.claim",
            ),
        ),
        migrations.AddField(
            model_name="claimmove",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="claimmove",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="claimmove",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="claimmove",
            name="why",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="claim_moves",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="claimwait",
            name="claim",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="waits",
                to="warranty.claim",
            ),
        ),
        migrations.AddField(
            model_name="claimwait",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="claimwait",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="claimwait",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="claimwait",
            name="why",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="claim_waits",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="claim",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decisions",
                to="warranty.claim",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="decided_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decisions",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="edition",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decisions",
                to="warranty.edition",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="inputs",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decision_inputs",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="reasons",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decision_reasons",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="results",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decision_results",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="decision",
            name="seconded_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="seconded_decisions",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="doubtanswer",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="doubtanswer",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="doubtanswer",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="doubtanswer",
            name="why",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="doubt_answers",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="proposal",
            name="claim",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="proposals",
                to="warranty.claim",
            ),
        ),
        migrations.AddField(
            model_name="proposal",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="proposal",
            name="reasons",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="proposals",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="proposal",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="proposal",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="decision",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="remedies",
                to="warranty.decision",
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="entry",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.ledgerentry",
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="note",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="remedies",
                to="fleet.privatetext",
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="roof",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)ss",
                to="fleet.roof",
            ),
        ),
        migrations.AddField(
            model_name="remedy",
            name="visit",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="remedies",
                to="fleet.visit",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimmove",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="claim_move_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="claimmove",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="claim_move_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimmove",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="claim_move_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimmove",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("move__in", ["DECIDE", "REMEDY", "CLOSE", "WITHDRAW", "REOPEN"])
                ),
                name="claim_move_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimwait",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="claim_wait_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="claimwait",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="claim_wait_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimwait",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="claim_wait_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="claimwait",
            constraint=models.CheckConstraint(
                condition=models.Q(("turn__in", ["WAIT", "RESUME"])),
                name="claim_wait_turn_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="decision_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="decision_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="decision_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("approved_cents", 0), ("outcome", "DECLINED")),
                    models.Q(
                        models.Q(("outcome", "DECLINED"), _negated=True),
                        ("approved_cents__gt", 0),
                    ),
                    _connector="OR",
                ),
                name="decision_amount_fits_outcome",
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("outcome__in", ["APPROVED", "IN_PART", "DECLINED"])
                ),
                name="decision_outcome_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.UniqueConstraint(
                fields=("claim", "round_no"), name="decision_once_a_round"
            ),
        ),
        migrations.AddConstraint(
            model_name="decision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("seconded_by__isnull", True),
                    models.Q(("seconded_by", models.F("decided_by")), _negated=True),
                    _connector="OR",
                ),
                name="decision_seconded_by_another_person",
            ),
        ),
        migrations.AddConstraint(
            model_name="doubtanswer",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="doubt_answer_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="doubtanswer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="doubt_answer_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="doubtanswer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="doubt_answer_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="doubtanswer",
            constraint=models.CheckConstraint(
                condition=models.Q(("word__in", ["ANSWERED", "DISMISSED"])),
                name="doubt_answer_word_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="proposal",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="proposal_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="proposal",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="proposal_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="proposal",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="proposal_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="proposal",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("approved_cents", 0), ("outcome", "DECLINED")),
                    models.Q(
                        models.Q(("outcome", "DECLINED"), _negated=True),
                        ("approved_cents__gt", 0),
                    ),
                    _connector="OR",
                ),
                name="proposal_amount_fits_outcome",
            ),
        ),
        migrations.AddIndex(
            model_name="remedy",
            index=models.Index(fields=["decision"], name="remedy_by_decision"),
        ),
        migrations.AddConstraint(
            model_name="remedy",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="remedy_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="remedy",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="remedy_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="remedy",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="remedy_void_names_a_row",
            ),
        ),
        migrations.AddConstraint(
            model_name="remedy",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("interior_cents__gte", 0),
                    ("labour_cents__gte", 0),
                    ("part_cents__gte", 0),
                ),
                name="remedy_costs_not_negative",
            ),
        ),
    ]
