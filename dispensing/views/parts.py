"""Parts of a page that the orders app adds if it is installed; this app knows only their template names."""

from django.template import TemplateDoesNotExist
from django.template.loader import get_template


def part(template_name: str) -> str | None:
    """The template's name if it exists, otherwise None."""
    try:
        get_template(template_name)
    except TemplateDoesNotExist:
        return None
    return template_name
