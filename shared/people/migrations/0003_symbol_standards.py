from django.db import migrations, models


def two_systems(apps, schema_editor):
    """What was ISO 2553 alone becomes its system A; back, both systems become ISO 2553."""
    apps.get_model("people", "Campus").objects.filter(symbol_standard="ISO").update(
        symbol_standard="ISO-A"
    )


def one_system(apps, schema_editor):
    apps.get_model("people", "Campus").objects.filter(symbol_standard__startswith="ISO").update(
        symbol_standard="ISO"
    )


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0002_audit_rows_stay"),
    ]

    operations = [
        migrations.AlterField(
            model_name="campus",
            name="symbol_standard",
            field=models.CharField(
                choices=[
                    ("AWS", "AWS A2.4"),
                    ("ISO-A", "ISO 2553, system A"),
                    ("ISO-B", "ISO 2553, system B"),
                ],
                default="AWS",
                max_length=5,
                verbose_name="welding symbol",
            ),
        ),
        migrations.RunPython(two_systems, one_system),
    ]
