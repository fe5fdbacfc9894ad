"""Parts of a page that the orders app adds when it is there; this app knows their template names and no more."""

from django.template import TemplateDoesNotExist
from django.template.loader import get_template


def part(template_name: str) -> str | None:
    """The template's name when it exists."""
    try:
        get_template(template_name)
    except TemplateDoesNotExist:
        return None
    return template_name
