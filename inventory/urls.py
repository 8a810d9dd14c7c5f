from django.urls import path

from inventory.views import draw, item, moves, order, shelf
from inventory.views import requisitions as req

app_name = "inventory"
urlpatterns = [
    # what to order, requisitions and receipts
    path("order/", order.to_order, name="to_order"),
    path("order/csv/", order.order_csv, name="order_csv"),
    path("order/requisition/", order.requisition_make, name="requisition_make"),
    path("stock/<int:pk>/forecast/", order.item_forecast, name="item_forecast"),
    path("stock/<int:pk>/steps/", order.forecast_steps, name="forecast_steps"),
    path("classes/<int:pk>/consumables/", order.class_consumables, name="class_consumables"),
    path("requisitions/", req.requisitions, name="requisitions"),
    path("requisitions/csv/", req.requisitions_csv, name="requisitions_csv"),
    path("requisitions/<int:pk>/", req.requisition, name="requisition"),
    path("requisitions/<int:pk>/approve/", req.requisition_approve, name="requisition_approve"),
    path("requisitions/<int:pk>/cancel/", req.requisition_cancel, name="requisition_cancel"),
    path("requisitions/<int:pk>/receive/", req.receive, name="receive"),
    path("requisitions/<int:pk>/pdf/", req.requisition_pdf, name="requisition_pdf"),
    path("requisitions/<int:pk>/csv/", req.requisition_csv, name="requisition_csv"),
    path("receipts/<int:pk>/reverse/", req.receipt_reverse, name="receipt_reverse"),
    # the shelf
    path("stock/", shelf.items, name="items"),
    path("stock/csv/", shelf.items_csv, name="items_csv"),
    path("stock/new/", shelf.item_new, name="item_new"),
    path("stock/count/", moves.shelf_count, name="shelf_count"),
    path("stock/suppliers/", shelf.suppliers, name="suppliers"),
    path("stock/suppliers/<int:pk>/", shelf.supplier_edit, name="supplier_edit"),
    path("stock/packs/<int:pk>/", shelf.pack_edit, name="pack_edit"),
    path("stock/open/<int:pk>/finish/", moves.pack_finish, name="pack_finish"),
    path("stock/open/<int:pk>/gauge/", moves.cylinder_read, name="cylinder_read"),
    path("sessions/<int:pk>/acetylene/", draw.acetylene, name="acetylene_draw"),
    path("stock/movements/<int:pk>/reverse/", moves.movement_reverse, name="movement_reverse"),
    path("stock/<int:pk>/", item.item, name="item"),
    path("stock/<int:pk>/edit/", shelf.item_edit, name="item_edit"),
    path("stock/<int:pk>/pack/", shelf.pack_new, name="pack_new"),
    path("stock/<int:pk>/move/", moves.move, name="move"),
    path("stock/<int:pk>/factor/", moves.factor_take, name="factor_take"),
    path("stock/<int:pk>/ask-count/", moves.ask_count, name="ask_count"),
]
