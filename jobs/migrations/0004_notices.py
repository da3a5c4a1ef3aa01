# What people are told: watches, notices, messages, wishes, stopped addresses.

import django.db.models.deletion
import uuid
from django.db import migrations, models
from django.utils import timezone


BATCH = 2000


def watch_known_roofs(apps, schema_editor):
    """Watch the roofs that are on record already; nobody is told of their past."""
    Roof = apps.get_model("fleet", "Roof")
    NoticeWatch = apps.get_model("jobs", "NoticeWatch")
    now = timezone.now()
    roofs = Roof.objects.filter(notice_watch__isnull=True).order_by("pk")
    ids = roofs.values_list("pk", flat=True)
    while batch := list(ids[:BATCH]):
        NoticeWatch.objects.bulk_create(
            [NoticeWatch(roof_id=pk, look_at=now, since_at=now) for pk in batch],
            ignore_conflicts=True,
        )


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0006_field_work_stays'),
        ('jobs', '0003_webhook_lane_and_beat_of_a_lane'),
        ('warranty', '0010_transfers_stay'),
    ]

    operations = [
        migrations.CreateModel(
            name='Message',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('channel', models.CharField(choices=[('EMAIL', 'e-mail'), ('TEXT', 'text message')], default='EMAIL', max_length=5)),
                ('state', models.CharField(choices=[('WAITING', 'waiting'), ('SENDING', 'being sent'), ('SENT', 'sent'), ('UNCERTAIN', 'not known whether it arrived'), ('REFUSED', 'refused'), ('BOUNCED', 'came back'), ('STOPPED', 'address is stopped'), ('UNREACHABLE', 'no address'), ('SILENCED', 'reminders not wanted'), ('MOOT', 'no longer needed')], default='WAITING', max_length=11)),
                ('language', models.CharField(choices=[('en', 'English'), ('es', 'Spanish')], default='en', max_length=2)),
                ('send_at', models.DateTimeField()),
                ('address', models.CharField(blank=True, max_length=254)),
                ('subject', models.CharField(blank=True, max_length=200)),
                ('text', models.TextField(blank=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('attempted_at', models.DateTimeField(blank=True, null=True)),
                ('handed_at', models.DateTimeField(blank=True, null=True)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('reason', models.TextField(blank=True)),
                ('created_at', models.DateTimeField()),
                ('owner', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='messages', to='fleet.owner')),
                ('roof', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='messages', to='fleet.roof')),
            ],
        ),
        migrations.CreateModel(
            name='Notice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('step', models.CharField(choices=[('BEFORE_60', 'BEFORE_60'), ('BEFORE_30', 'BEFORE_30'), ('BEFORE_7', 'BEFORE_7'), ('ON_THE_DAY', 'ON_THE_DAY'), ('MID_GRACE', 'MID_GRACE'), ('LAST_GRACE_WEEK', 'LAST_GRACE_WEEK'), ('SUSPENDED', 'SUSPENDED'), ('REINSTATED', 'REINSTATED'), ('ENDED', 'ENDED'), ('REGISTRATION', 'REGISTRATION'), ('CURE', 'CURE'), ('CLAIM', 'CLAIM')], max_length=16)),
                ('about_on', models.DateField()),
                ('by_on', models.DateField(blank=True, null=True)),
                ('key', models.CharField(blank=True, max_length=80)),
                ('news', models.CharField(blank=True, max_length=16)),
                ('is_moot', models.BooleanField(default=False)),
                ('noted_at', models.DateTimeField()),
                ('claim', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='warranty.claim')),
                ('message', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='jobs.message')),
                ('owner', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='fleet.owner')),
                ('roof', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='fleet.roof')),
                ('text_message', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='text_notices', to='jobs.message')),
            ],
        ),
        migrations.CreateModel(
            name='NoticeWatch',
            fields=[
                ('roof', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='notice_watch', serialize=False, to='fleet.roof')),
                ('look_at', models.DateTimeField(blank=True, null=True)),
                ('since_at', models.DateTimeField()),
                ('word', models.CharField(blank=True, max_length=12)),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('look_at__isnull', False)), fields=['look_at', 'roof'], name='notice_watch_by_look')],
            },
        ),
        migrations.CreateModel(
            name='StoppedAddress',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('address', models.CharField(max_length=254)),
                ('cause', models.CharField(choices=[('BOUNCED', 'mail came back'), ('COMPLAINT', 'mail was reported as unwanted'), ('REFUSED', 'the server does not know the address')], max_length=9)),
                ('detail', models.TextField(blank=True)),
                ('stopped_at', models.DateTimeField()),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('message', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stops', to='jobs.message')),
            ],
        ),
        migrations.CreateModel(
            name='Wish',
            fields=[
                ('owner', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='wish', serialize=False, to='fleet.owner')),
                ('language', models.CharField(choices=[('en', 'English'), ('es', 'Spanish')], default='en', max_length=2)),
                ('reminders_off_at', models.DateTimeField(blank=True, null=True)),
                ('text_number', models.CharField(blank=True, max_length=20)),
                ('text_consent_at', models.DateTimeField(blank=True, null=True)),
                ('text_consent_how', models.CharField(blank=True, max_length=200)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('language__in', ['en', 'es'])), name='wish_language_known'), models.CheckConstraint(condition=models.Q(models.Q(('text_consent_at__isnull', False), models.Q(('text_number', ''), _negated=True), models.Q(('text_consent_how', ''), _negated=True)), models.Q(('text_consent_at__isnull', True), ('text_consent_how', ''), ('text_number', '')), _connector='OR'), name='wish_consent_with_number_and_how')],
            },
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(fields=['owner', '-id'], name='message_newest_of_owner'),
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(fields=['state', 'send_at'], name='message_by_state'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['WAITING', 'SENDING', 'SENT', 'UNCERTAIN', 'REFUSED', 'BOUNCED', 'STOPPED', 'UNREACHABLE', 'SILENCED', 'MOOT'])), name='message_state_known'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(('channel__in', ['EMAIL', 'TEXT'])), name='message_channel_known'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(('language__in', ['en', 'es'])), name='message_language_known'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'SENT'), _negated=True), ('sent_at__isnull', False), _connector='OR'), name='message_sent_has_its_time'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ('SENDING', 'SENT', 'UNCERTAIN', 'BOUNCED')), _negated=True), ('attempted_at__isnull', False), _connector='OR'), name='message_attempt_has_its_time'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(('handed_at__isnull', True), models.Q(('attempted_at__isnull', False), ('handed_at__gte', models.F('attempted_at'))), _connector='OR'), name='message_handed_over_in_an_attempt'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(fields=['owner', '-id'], name='notice_newest_of_owner'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.UniqueConstraint(fields=('roof', 'step', 'about_on', 'owner', 'key'), name='notice_once_per_roof_step_date_person'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.CheckConstraint(condition=models.Q(('step__in', ['BEFORE_60', 'BEFORE_30', 'BEFORE_7', 'ON_THE_DAY', 'MID_GRACE', 'LAST_GRACE_WEEK', 'SUSPENDED', 'REINSTATED', 'ENDED', 'REGISTRATION', 'CURE', 'CLAIM'])), name='notice_step_known'),
        ),
        migrations.AddConstraint(
            model_name='notice',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('claim__isnull', False), ('step', 'CLAIM'), models.Q(('key', ''), _negated=True), models.Q(('news', ''), _negated=True)), models.Q(models.Q(('step', 'CLAIM'), _negated=True), ('claim__isnull', True), ('key', ''), ('news', '')), _connector='OR'), name='notice_claim_with_its_news'),
        ),
        migrations.AddConstraint(
            model_name='stoppedaddress',
            constraint=models.CheckConstraint(condition=models.Q(('address', ''), _negated=True), name='stopped_address_given'),
        ),
        migrations.AddConstraint(
            model_name='stoppedaddress',
            constraint=models.CheckConstraint(condition=models.Q(('cause__in', ['BOUNCED', 'COMPLAINT', 'REFUSED'])), name='stopped_address_cause_known'),
        ),
        migrations.AddConstraint(
            model_name='stoppedaddress',
            constraint=models.UniqueConstraint(condition=models.Q(('released_at__isnull', True)), fields=('address',), name='stopped_address_once'),
        ),
        # Last, so that no statement changes a table after its rows are written.
        migrations.RunPython(watch_known_roofs, migrations.RunPython.noop),
    ]
