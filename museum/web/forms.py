"""How forms look: what is wrong on top, then fields with their help and error tied to the input."""

from django.forms.renderers import TemplatesSetting


class Renderer(TemplatesSetting):
    """Forms are drawn by web/form.html and fields by web/field.html, whosever they are."""

    form_template_name = "web/form.html"
    field_template_name = "web/field.html"
