from django.db import migrations, models
from django.db.models import Value
from django.db.models.functions import Cast, Concat


def name_the_batch(apps, _schema_editor):
    """Parts booked so far were booked by the batch of their own number."""
    done = apps.get_model("inventory", "CutPart").objects.filter(done_at__isnull=False)
    done.update(batch=Concat(Value("cut-part:"), Cast("pk", models.CharField())))


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0009_cut_plans"),
    ]

    operations = [
        migrations.AddField(
            model_name="cutpart",
            name="batch",
            field=models.CharField(blank=True, db_index=True, default="", max_length=80),
        ),
        migrations.RunPython(name_the_batch, migrations.RunPython.noop),
    ]
