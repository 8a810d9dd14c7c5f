from django.db import migrations

from shared.triggers import refuse_updates

MESSAGE = "readings, verdicts and decisions are only added"


class Migration(migrations.Migration):
    dependencies = [("grading", "0001_start")]

    operations = [
        refuse_updates("grading_reading", message=MESSAGE),
        refuse_updates("grading_verdict", message=MESSAGE),
        refuse_updates("grading_decision", message=MESSAGE),
    ]
