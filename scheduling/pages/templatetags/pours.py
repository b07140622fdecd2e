"""Small things templates ask for: rights, marks, and the shapes strips are drawn with."""

from django import template
from django.contrib.auth.models import AnonymousUser
from django.forms import BoundField
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from scheduling.models import STANDING_ORDER, User
from scheduling.roles import Right

register = template.Library()

# The pattern of each stretch; how high it stands is in the stylesheet.
LOOKS = {
    "on_site": 'fill="#fff"',
    "place": 'fill="url(#wet-concrete)"',
    "wait": 'fill="url(#waiting)"',
    "finish": 'fill="url(#trowelled)"',
    "cut": 'fill="url(#sawn)"',
}

# A stop sign, a warning triangle, a plain ring; and an order as a circle that fills up.
MARKS = frozenset({"stop", "caution", "note", *STANDING_ORDER})


@register.filter
def can(user: User | AnonymousUser, right: str) -> bool:
    """Whether the person holds the right."""
    return isinstance(user, User) and user.may(Right(right))


@register.filter
def looks(kind: str) -> SafeString:
    """The attributes that tell one kind of stretch from another."""
    return mark_safe(LOOKS[kind])


@register.simple_tag
def mark(word: str) -> SafeString:
    """The sign of a severity or of an order's state; words beside it say the same."""
    if word not in MARKS:
        return SafeString("")
    return format_html('<svg class="mark {}" aria-hidden="true"><use href="#mark-{}"/></svg>', word, word)


@register.inclusion_tag("pages/field.html")
def field(bound: BoundField, css: str = "") -> dict[str, object]:
    """A field with its label, hint and what is wrong with it."""
    return {"field": bound, "css": css, "is_tick": bound.widget_type == "checkbox"}
