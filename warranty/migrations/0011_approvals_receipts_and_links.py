from __future__ import annotations

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.append_only import allow_change, refuse_change


class Migration(migrations.Migration):
    """Approvals of other shops' visits, receipts, and links that register."""

    dependencies = [
        ("fleet", "0009_other_shops_and_contacts"),
        ("warranty", "0010_transfers_stay"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="RegistrationLink",
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
                (
                    "uuid",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("code_sha256", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(blank=True, null=True)),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "roof",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="registration_links",
                        to="fleet.roof",
                    ),
                ),
            ],
        ),
        allow_change("warranty_registration"),
        migrations.AddField(
            model_name="registration",
            name="link",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="registrations",
                to="warranty.registrationlink",
            ),
        ),
        migrations.CreateModel(
            name="VisitApproval",
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
                    "entry",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="fleet.ledgerentry",
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "roof",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="fleet.roof",
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="approvals",
                        to="fleet.visit",
                    ),
                ),
                (
                    "why",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="visit_approvals",
                        to="fleet.privatetext",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Receipt",
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
                ("happened_on", models.DateField()),
                ("invoice_no", models.CharField(blank=True, max_length=40)),
                ("paid_cents", models.BigIntegerField(blank=True, null=True)),
                ("currency", models.CharField(default="USD", max_length=3)),
                (
                    "entry",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="fleet.ledgerentry",
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "roof",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="fleet.roof",
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="receipts",
                        to="fleet.visit",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("scope", "uuid"), name="receipt_uuid_once_per_scope"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("supersedes__isnull", True),
                            models.Q(("supersedes", models.F("uuid")), _negated=True),
                            _connector="OR",
                        ),
                        name="receipt_not_its_own_correction",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("supersedes__isnull", False),
                            models.Q(("is_void", False), ("settles", False)),
                            _connector="OR",
                        ),
                        name="receipt_void_names_a_row",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("invoice_no", ""), _negated=True),
                            ("paid_cents__isnull", False),
                            _connector="OR",
                        ),
                        name="receipt_says_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("paid_cents__isnull", True),
                            ("paid_cents__gte", 0),
                            _connector="OR",
                        ),
                        name="receipt_paid_not_negative",
                    ),
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="registrationlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("expires_at__gt", models.F("made_at"))),
                name="registration_link_ends_after_it_is_made",
            ),
        ),
        migrations.AddConstraint(
            model_name="visitapproval",
            constraint=models.UniqueConstraint(
                fields=("scope", "uuid"), name="visit_approval_uuid_once_per_scope"
            ),
        ),
        migrations.AddConstraint(
            model_name="visitapproval",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", True),
                    models.Q(("supersedes", models.F("uuid")), _negated=True),
                    _connector="OR",
                ),
                name="visit_approval_not_its_own_correction",
            ),
        ),
        migrations.AddConstraint(
            model_name="visitapproval",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes__isnull", False),
                    models.Q(("is_void", False), ("settles", False)),
                    _connector="OR",
                ),
                name="visit_approval_void_names_a_row",
            ),
        ),
        refuse_change(
            "warranty_registration", "warranty_visitapproval", "warranty_receipt"
        ),
    ]
