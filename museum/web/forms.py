"""How forms look: fields with their help and error tied to the input."""

from django.forms.renderers import TemplatesSetting


class Renderer(TemplatesSetting):
    """Fields are drawn by web/field.html, whatever form they belong to."""

    field_template_name = "web/field.html"
