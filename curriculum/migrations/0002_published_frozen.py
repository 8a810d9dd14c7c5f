from django.db import migrations

from shared.triggers import refuse_updates

MESSAGE = "a published version is never updated"
PUBLISHED = "EXISTS (SELECT 1 FROM curriculum_exerciseversion v WHERE v.id = OLD.version_id AND v.state = 'published')"
PUBLISHED_SETUP = "EXISTS (SELECT 1 FROM curriculum_setup s JOIN curriculum_exerciseversion v ON v.id = s.version_id WHERE s.id = OLD.setup_id AND v.state = 'published')"


class Migration(migrations.Migration):
    dependencies = [("curriculum", "0001_start")]

    operations = [
        refuse_updates(
            "curriculum_exerciseversion", when="OLD.state = 'published'", message=MESSAGE
        ),
        refuse_updates("curriculum_setup", when=PUBLISHED, message=MESSAGE),
        refuse_updates("curriculum_criterion", when=PUBLISHED, message=MESSAGE),
        refuse_updates("curriculum_setuppass", when=PUBLISHED_SETUP, message=MESSAGE),
        refuse_updates("curriculum_piece", when=PUBLISHED_SETUP, message=MESSAGE),
    ]
