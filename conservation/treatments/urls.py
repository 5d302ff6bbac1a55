from django.urls import URLPattern

app_name = "treatments"
urlpatterns: list[URLPattern] = []
