from django.urls import path

from inventory.views import order
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
]
