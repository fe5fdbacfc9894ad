"""How every form field is drawn: label, help, control and its error, tied together for screen readers."""

from django.forms.renderers import TemplatesSetting


class TradeFormRenderer(TemplatesSetting):
    form_template_name = "forms/_form.html"
    field_template_name = "forms/_field.html"
