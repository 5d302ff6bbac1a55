from django.urls import path

from museum.web import views

app_name = "web"
urlpatterns = [path("styleguide/", views.styleguide, name="styleguide")]
