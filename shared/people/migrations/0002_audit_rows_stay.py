from django.db import migrations

from shared.triggers import refuse_updates


class Migration(migrations.Migration):
    dependencies = [("people", "0001_start")]

    operations = [
        refuse_updates("people_auditentry", message="An audit row is never changed."),
    ]
