from django.db import migrations, models

from shared.triggers import allow_updates, refuse_updates

MESSAGE = "a published version is never updated"
PUBLISHED = "EXISTS (SELECT 1 FROM curriculum_exerciseversion v WHERE v.id = OLD.version_id AND v.state = 'published')"
PUBLISHED_SETUP = "EXISTS (SELECT 1 FROM curriculum_setup s JOIN curriculum_exerciseversion v ON v.id = s.version_id WHERE s.id = OLD.setup_id AND v.state = 'published')"
FROZEN = (
    ("curriculum_setup", PUBLISHED),
    ("curriculum_setuppass", PUBLISHED_SETUP),
    ("curriculum_piece", PUBLISHED_SETUP),
)


class Migration(migrations.Migration):
    dependencies = [
        ("curriculum", "0003_booth_machine"),
    ]

    operations = [
        *(allow_updates(table, when=when, message=MESSAGE) for table, when in FROZEN),
        migrations.AddField(
            model_name="setup",
            name="symbol_all_around",
            field=models.BooleanField(default=False, verbose_name="all around"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_back",
            field=models.CharField(blank=True, max_length=10, verbose_name="back or backing weld"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_backing_removed",
            field=models.BooleanField(default=False, verbose_name="backing removed"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_blended",
            field=models.BooleanField(default=False, verbose_name="toes blended"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_count",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="welds in a row"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_depth_m",
            field=models.FloatField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_depth_typed",
            field=models.CharField(blank=True, default="", editable=False, max_length=100),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_effective_m",
            field=models.FloatField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_effective_typed",
            field=models.CharField(blank=True, default="", editable=False, max_length=100),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_field",
            field=models.BooleanField(default=False, verbose_name="welded on site"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_finish",
            field=models.CharField(blank=True, max_length=1, verbose_name="finish"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_flush",
            field=models.BooleanField(default=False, verbose_name="flush"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_length_m",
            field=models.FloatField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_length_typed",
            field=models.CharField(blank=True, default="", editable=False, max_length=100),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_other_side",
            field=models.BooleanField(default=False, verbose_name="on the other side too"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_pitch_m",
            field=models.FloatField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_pitch_typed",
            field=models.CharField(blank=True, default="", editable=False, max_length=100),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_quality",
            field=models.CharField(blank=True, max_length=1, verbose_name="quality level"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_staggered",
            field=models.BooleanField(default=False, verbose_name="staggered"),
        ),
        migrations.AddField(
            model_name="setup",
            name="symbol_tail",
            field=models.CharField(blank=True, max_length=24, verbose_name="in the tail"),
        ),
        migrations.AddConstraint(
            model_name="setup",
            constraint=models.CheckConstraint(
                condition=models.Q(("symbol_length_m__gte", 0), ("symbol_length_m__lte", 10.0)),
                name="setup_symbol_length_m_within",
                violation_error_message="Symbol length must lie from 0 to 10.0 m.",
            ),
        ),
        migrations.AddConstraint(
            model_name="setup",
            constraint=models.CheckConstraint(
                condition=models.Q(("symbol_pitch_m__gte", 0), ("symbol_pitch_m__lte", 10.0)),
                name="setup_symbol_pitch_m_within",
                violation_error_message="Symbol pitch must lie from 0 to 10.0 m.",
            ),
        ),
        migrations.AddConstraint(
            model_name="setup",
            constraint=models.CheckConstraint(
                condition=models.Q(("symbol_depth_m__gte", 0), ("symbol_depth_m__lte", 10.0)),
                name="setup_symbol_depth_m_within",
                violation_error_message="Symbol depth must lie from 0 to 10.0 m.",
            ),
        ),
        migrations.AddConstraint(
            model_name="setup",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("symbol_effective_m__gte", 0), ("symbol_effective_m__lte", 10.0)
                ),
                name="setup_symbol_effective_m__36e3",
                violation_error_message="Symbol effective must lie from 0 to 10.0 m.",
            ),
        ),
        *(refuse_updates(table, when=when, message=MESSAGE) for table, when in FROZEN),
    ]
