from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    """A signed packet names its pages and its certificate by hash."""

    dependencies = [("warranty", "0013_claims_answer_by")]

    operations = [
        migrations.AddField(
            model_name="document",
            name="body_sha256",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
        migrations.AddField(
            model_name="document",
            name="certificate_sha256",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
        migrations.AddConstraint(
            model_name="document",
            constraint=models.CheckConstraint(
                name="document_signed_as_a_whole",
                condition=models.Q(body_sha256="", certificate_sha256="")
                | models.Q(
                    kind="CLAIM_PACKET",
                    body_sha256__regex="^[0-9a-f]{64}$",
                    certificate_sha256__regex="^[0-9a-f]{64}$",
                ),
            ),
        ),
    ]
