from django.urls import path

from inventory.views import cutting, cutting_part, draw, item, machines, moves, order, pieces, shelf
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
    # cutting plans
    path("cutting/", cutting.cutting, name="cutting"),
    path("cutting/new/", cutting.cutting_new, name="cutting_new"),
    path("cutting/<int:pk>/", cutting.cutting_plan, name="cutting_plan"),
    path("cutting/<int:pk>/pdf/", cutting.cutting_pdf, name="cutting_pdf"),
    path("cutting/<int:pk>/cancel/", cutting.cutting_cancel, name="cutting_cancel"),
    path("cutting/parts/<int:pk>/done/", cutting_part.cutting_done, name="cutting_done"),
    path("cutting/parts/<int:pk>/search/", cutting_part.cutting_search, name="cutting_search"),
    path("cutting/parts/<int:pk>/state/", cutting_part.cutting_state, name="cutting_state"),
    path("cutting/parts/<int:pk>/what-if/", cutting_part.cutting_what_if, name="cutting_what_if"),
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
    # by size, and what cuts it
    path("stock/machines/", machines.machines, name="machines"),
    path("stock/machines/new/", machines.machine_new, name="machine_new"),
    path("stock/machines/<int:pk>/", machines.machine, name="machine"),
    path("stock/machines/<int:pk>/down/", machines.machine_down, name="machine_down"),
    path("stock/sizes/<int:pk>/", pieces.pieces_move, name="pieces_move"),
    path("stock/<int:pk>/sizes/new/", pieces.pieces_receive, name="pieces_receive"),
    path("stock/<int:pk>/sizes/count/", pieces.pieces_count, name="pieces_count"),
    path("sessions/<int:pk>/blanks/", pieces.session_blanks_panel, name="session_blanks"),
    path("sessions/<int:pk>/blanks/out/", pieces.session_blanks_out, name="session_blanks_out"),
    # an item
    path("stock/<int:pk>/", item.item, name="item"),
    path("stock/<int:pk>/edit/", shelf.item_edit, name="item_edit"),
    path("stock/<int:pk>/pack/", shelf.pack_new, name="pack_new"),
    path("stock/<int:pk>/move/", moves.move, name="move"),
    path("stock/<int:pk>/factor/", moves.factor_take, name="factor_take"),
    path("stock/<int:pk>/ask-count/", moves.ask_count, name="ask_count"),
]
