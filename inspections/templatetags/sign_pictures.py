"""The drawing of a sign, from the one sheet that holds them all."""

from django import template
from django.templatetags.static import static
from django.utils.html import format_html

SHEET = "signs.svg"

register = template.Library()


@register.simple_tag
def sign_picture(code: str) -> str:
    """Return the picture of a sign as SVG. Its words stand beside it, so it says nothing itself."""
    return format_html(
        '<svg class="sign" viewBox="0 0 96 56" aria-hidden="true">'
        '<use href="{}#sign-{}"></use></svg>',
        static(SHEET),
        code,
    )
