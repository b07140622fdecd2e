

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('scheduling', '0002_rain_is_over_strip_ready'),
    ]

    operations = [
        migrations.CreateModel(
            name='SharedWeek',
            fields=[
                ('proposal', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, serialize=False, to='scheduling.weekproposal')),
                ('problem', models.BinaryField()),
            ],
        ),
        migrations.CreateModel(
            name='WeekPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('starts', 'starts of a pour'), ('search', 'a piece of the search')], max_length=8)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('taken', 'being worked on'), ('answered', 'answered')], default='waiting', max_length=8)),
                ('asked', models.BinaryField()),
                ('answer', models.BinaryField(null=True)),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='parts', to='scheduling.weekproposal')),
            ],
            options={
                'ordering': ['id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['starts', 'search'])), name='part_kind_known'), models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'taken', 'answered'])), name='part_state_known')],
            },
        ),
    ]
