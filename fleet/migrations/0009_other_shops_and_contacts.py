from __future__ import annotations

import uuid

import django.db.models.deletion
from django.db import migrations, models

from fleet.append_only import allow_change, refuse_change


class Migration(migrations.Migration):
    """A visit can name another shop; an owner can have contacts."""

    dependencies = [
        ("fleet", "0008_met_coaches"),
    ]

    operations = [
        allow_change("fleet_visit"),
        migrations.AddField(
            model_name="visit",
            name="shop",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="shop_visits",
                to="fleet.privatetext",
            ),
        ),
        migrations.CreateModel(
            name="Contact",
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
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("SPOUSE", "spouse or partner"),
                            ("DRIVER", "driver"),
                            ("CAMPGROUND", "campground or storage lot"),
                            ("YARD", "fleet's yard"),
                            ("OTHER", "other"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                ("phone", models.CharField(blank=True, max_length=32)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("note", models.TextField(blank=True)),
                ("version", models.PositiveIntegerField(default=1)),
                (
                    "coach",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="contacts",
                        to="fleet.coach",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="contacts",
                        to="fleet.owner",
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(fields=["owner", "id"], name="contact_by_owner")
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "role__in",
                                ["SPOUSE", "DRIVER", "CAMPGROUND", "YARD", "OTHER"],
                            )
                        ),
                        name="contact_role_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("name", ""), _negated=True),
                        name="contact_name_given",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Attempt",
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
                ("who_sha256", models.CharField(max_length=64)),
                ("window_at", models.DateTimeField()),
                ("count", models.PositiveIntegerField(default=0)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("who_sha256", "window_at"),
                        name="attempt_one_count_a_window",
                    )
                ],
            },
        ),
        refuse_change("fleet_visit"),
    ]
