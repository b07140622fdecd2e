"""The rows a person may see: every door starts from here."""

from django.db.models import QuerySet

from scheduling.models import Message, PlantOrder, Pour, User
from scheduling.roles import Right


def pours_for(user: User) -> QuerySet[Pour]:
    """All pours for those who plan; for a crew lead the pours of the crew they lead."""
    pours = Pour.objects.select_related("job__site", "plant", "mix", "crew__lead", "plan")
    return pours if user.may(Right.SEE_ALL_POURS) else pours.filter(crew__lead=user)


def orders_for(user: User) -> QuerySet[PlantOrder]:
    """Orders of the pours the person may see."""
    orders = PlantOrder.objects.select_related("pour__job", "plant", "mix")
    return orders if user.may(Right.SEE_ALL_POURS) else orders.filter(pour__crew__lead=user)


def messages_for(user: User) -> QuerySet[Message]:
    """Every text for those who plan; for a crew lead their own."""
    messages = Message.objects.select_related("recipient")
    return messages if user.may(Right.SEE_MESSAGES) else messages.filter(recipient=user)
