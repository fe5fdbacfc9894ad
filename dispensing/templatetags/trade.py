"""Template filters that write figures the way the trade writes them."""

from django import template

register = template.Library()
