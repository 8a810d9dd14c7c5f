"""Send the forms of a requisition as a person at the desk does."""

from uuid import uuid4

from django.urls import reverse

from inventory.models import StockItem


def send(client, name, pk, **fields):
    data = {"submission_key": str(uuid4()), **fields}
    return client.post(reverse(f"inventory:{name}", args=[pk]), data)


def edit(client, order, *, lines=None, **fields):
    """Send the draft's form as it stands, with what is changed."""
    data = {"account": order.account, "note": order.note, "add_pack": "", "add_packs": ""}
    for line in order.lines.all():
        prefix = f"line-{line.pk}"
        values = {"packs": line.packs, "price": line.price, "expected": line.expected}
        values |= (lines or {}).get(line.pk, {})
        data |= {f"{prefix}-{name}": value for name, value in values.items()}
    return send(client, "requisition", order.pk, **(data | fields))


def deliver(client, order, *, on=None, **by_line):
    """Send the delivery form; `by_line` as right="2", wrong="1" … of the only line."""
    line = order.lines.get()
    fields = {f"line-{line.pk}-{name}": value for name, value in by_line.items()}
    day = on or order.campus.today()
    return send(client, "receive", order.pk, received_on=day, **fields)


def on_hand(pack):
    return StockItem.objects.get(pk=pack.item_id).on_hand
