"""Addresses of imports."""

from django.urls import path

from collection.exchange import views

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
]
