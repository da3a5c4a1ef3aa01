from __future__ import annotations

from django.db import migrations, models

from fleet.append_only import allow_change, refuse_change


class Migration(migrations.Migration):
    """An exhibit tells its place, the exhibit it comes after, and who signed it."""

    dependencies = [
        ('fleet', '0006_field_work_stays'),
    ]

    operations = [
        # SQLite builds the table anew and would lose its triggers.
        allow_change("fleet_exhibit"),
        migrations.AddField(
            model_name='exhibit',
            name='after_of',
            field=models.UUIDField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='exhibit',
            name='signer_role',
            field=models.CharField(blank=True, choices=[('OWNER', 'owner'), ('TECHNICIAN', 'technician')], max_length=12),
        ),
        migrations.AddField(
            model_name='exhibit',
            name='x_m',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True),
        ),
        migrations.AddField(
            model_name='exhibit',
            name='y_m',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True),
        ),
        migrations.AddConstraint(
            model_name='exhibit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('x_m__isnull', True), ('y_m__isnull', True)), models.Q(('x_m__isnull', False), ('y_m__isnull', False)), _connector='OR'), name='exhibit_place_both_or_neither'),
        ),
        migrations.AddConstraint(
            model_name='exhibit',
            constraint=models.CheckConstraint(condition=models.Q(('after_of__isnull', True), models.Q(('after_of', models.F('uuid')), _negated=True), _connector='OR'), name='exhibit_not_its_own_before'),
        ),
        migrations.AddConstraint(
            model_name='exhibit',
            constraint=models.CheckConstraint(condition=models.Q(('signer_role', ''), models.Q(('kind', 'SIGN_OFF'), ('signer_role__in', ['OWNER', 'TECHNICIAN'])), _connector='OR'), name='exhibit_signer_role_on_sign_off'),
        ),
        refuse_change("fleet_exhibit"),
    ]
