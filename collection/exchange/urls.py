"""Addresses of imports, and of the erasing of personal words."""

from django.urls import path

from collection.exchange import api, views

app_name = "exchange"
urlpatterns = [
    path("import/", views.imports, name="imports"),
    path("import/<uuid:session_id>/", views.columns, name="columns"),
    path("import/<uuid:session_id>/preview/", views.preview, name="preview"),
    path("import/<uuid:session_id>/rows/<uuid:row_id>/", views.answer, name="answer"),
    path("import/<uuid:session_id>/alike/", views.answer_alike, name="alike"),
    path("import/<uuid:session_id>/rows.csv", views.rows_table, name="table"),
    path("import/<uuid:session_id>/run/", views.run, name="run"),
    path("import/<uuid:session_id>/undo/", views.undo, name="undo"),
    path("erasing/", views.erase, name="erase"),
    path("api/erasing/", api.erasing, name="api_erasing"),
    path("api/erasing/elsewhere/", api.elsewhere, name="api_elsewhere"),
    path("api/imports/", api.start, name="api_start"),
    path("api/imports/<uuid:session_id>/", api.one, name="api_one"),
    path("api/imports/<uuid:session_id>/rows/", api.rows, name="api_rows"),
    path("api/imports/<uuid:session_id>/rows/<uuid:row_id>/", api.answer, name="api_answer"),
    path("api/imports/<uuid:session_id>/alike/", api.alike, name="api_alike"),
    path("api/imports/<uuid:session_id>/run/", api.run, name="api_run"),
    path("api/imports/<uuid:session_id>/undo/", api.undo, name="api_undo"),
]
