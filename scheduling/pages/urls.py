"""Where people's requests go."""

from django.urls import URLPattern, URLResolver, path

from scheduling.pages import booking, inbound, live, messages, oncall, pours, signin, starts, weather, week

urlpatterns: list[URLPattern | URLResolver] = [
    path("", week.week, name="week"),
    path("week/", week.week, name="week-of"),
    path("sign-in/", signin.SignIn.as_view(), name="sign-in"),
    path("sign-out/", signin.SignOut.as_view(), name="sign-out"),
    path("messages/", messages.messages, name="messages"),
    path("health/", oncall.health, name="health"),
    path("messages/due/", oncall.on_call, name="on-call"),
    path("messages/replies/<int:pk>/seen/", oncall.seen, name="reply-seen"),
    path("people/<int:pk>/texts-agreed/", oncall.agreed, name="texts-agreed"),
    path("people/<int:pk>/texts-stopped/", oncall.stopped, name="texts-stopped"),
    path("messages/<int:pk>/arrived/", messages.arrived, name="text-arrived"),
    path("messages/<int:pk>/again/", messages.again, name="text-again"),
    path("texts/replies/", inbound.replies, name="text-replies"),
    path("texts/receipts/", inbound.receipts, name="text-receipts"),
    path("pours/book/", booking.book, name="book"),
    path("pours/<int:pk>/", pours.pour, name="pour"),
    path("pours/<int:pk>/starts/", starts.pour_starts, name="pour-starts"),
    path("pours/<int:pk>/day/", live.day, name="pour-day"),
    path("pours/<int:pk>/day/note/", live.note, name="pour-day-note"),
    path("pours/<int:pk>/day/undo/<int:note>/", live.undo, name="pour-day-undo"),
    path("pours/<int:pk>/move/", pours.move, name="pour-move"),
    path("pours/<int:pk>/hold/", pours.hold, name="pour-hold"),
    path("pours/<int:pk>/release/", pours.release, name="pour-release"),
    path("pours/<int:pk>/cancel/", pours.cancel, name="pour-cancel"),
    path("pours/<int:pk>/weather/", weather.fetch_weather, name="pour-weather"),
    path("pours/<int:pk>/plan/", pours.plan_again, name="pour-plan"),
    path("pours/<int:pk>/order/called/", pours.order_called, name="order-called"),
    path("pours/<int:pk>/order/confirmed/", pours.order_confirmed, name="order-confirmed"),
]
