"""What tests of inventory pages share: open one, send a form, read its words."""

import re
from uuid import uuid4

from django.urls import reverse


def page(client, name, /, *args, htmx=False, **query):
    headers = {"HX-Request": "true"} if htmx else {}
    return client.get(reverse(f"inventory:{name}", args=args), query, headers=headers)


def post(client, name, /, *args, **fields):
    """Send a form under a key of its own."""
    data = {"submission_key": str(uuid4()), **fields}
    return client.post(reverse(f"inventory:{name}", args=args), data)


def text(answer):
    """The words of a page, single-spaced, without its markup."""
    return " ".join(re.sub(r"<[^>]*>", " ", answer.content.decode()).split())
