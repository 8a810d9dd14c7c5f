from uuid import uuid4

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shared.people.once import FIELD

register = template.Library()


@register.simple_tag
def submission_key() -> SafeString:
    """The hidden field that lets a form count once; see `shared.people.once`."""
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, uuid4())
