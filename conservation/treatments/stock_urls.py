"""Addresses of what is kept in stock."""

from django.urls import path

from conservation.treatments import stock_api as api
from conservation.treatments.views import stock

app_name = "stock"

urlpatterns = [
    path("stock/", stock.stock_list, name="stock"),
    path("stock/new/", stock.add_batch, name="add_batch"),
    path("stock/batches/<uuid:batch_id>/", stock.batch, name="batch"),
    path("stock/of/<slug:supply_code>/", stock.supply, name="supply"),
    path("stock/of/<slug:supply_code>/sheet/", stock.sheet, name="sheet"),
    path("api/stock/batches", api.batches, name="api_batches"),
    path("api/stock/batches/<uuid:batch_id>", api.batch, name="api_batch"),
    path("api/stock/batches/<uuid:batch_id>/tests", api.tests, name="api_tests"),
    path("api/stock/batches/<uuid:batch_id>/marks", api.marks, name="api_marks"),
    path("api/stock/batches/<uuid:batch_id>/uses", api.uses, name="api_uses"),
    path("api/stock/batches/<uuid:batch_id>/recall", api.recall, name="api_recall"),
]
