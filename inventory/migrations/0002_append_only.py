from django.db import migrations

from shared.triggers import refuse_updates


class Migration(migrations.Migration):
    dependencies = [("inventory", "0001_start")]

    operations = [
        refuse_updates("inventory_movement", message="a movement is reversed, never edited"),
    ]
