"""A crew lead's day on the phone, opened by the link in a text: no password, no cookie, no session.

What lets somebody in is the address itself, which no other site can know: a forged post from elsewhere
would have to hold it, so these posts need no token against forgery, and a browser that is signed in
otherwise gets nothing more. Nothing of the address leaves the page: it sends no referrer, is kept by no
cache between, and loads nothing from other hosts. Whatever is asked for by number (a pour, a note, a
photo) is looked up among the pours of that crew and day alone.
"""

from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from pathlib import Path

from axes.helpers import get_client_ip_address
from django.core.cache import cache
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from scheduling.errors import Refusal
from scheduling.models import DayLink, NoteKind, Pour, SiteNote
from scheduling.pages.inbound import count
from scheduling.pages.phoneform import PressForm, read_press
from scheduling.services import daylinks, phone, phoneday
from scheduling.services.daylinks import Ended

# From one address within so many seconds; then nothing is looked up (our choice). Counted in each process
# for itself: twelve letters cannot be guessed anyway, it only keeps those who try from costing anything.
MOST_MISSES, WITHIN_S = 60, 600
WORKER = Path(__file__).parent / "static/pages/phoneworker.js"

View = Callable[..., HttpResponseBase]


def by_link(view: View) -> View:
    """Let in who holds a link that opens, and speak their language; tell others what to do."""

    @csrf_exempt
    @wraps(view)
    def guarded(request: HttpRequest, token: str, **kwargs: int) -> HttpResponseBase:
        tally = f"day-link-misses-{get_client_ip_address(request)}"
        if cache.get(tally, 0) >= MOST_MISSES:
            return _kept_close(_no_link(request, "too_many", HTTPStatus.TOO_MANY_REQUESTS))
        try:
            link = daylinks.open_link(token=token, now=timezone.now())
        except Ended as ended:
            return _kept_close(_no_link(request, ended.code, HTTPStatus.GONE))
        if link is None:
            count(tally, WITHIN_S)
            return _kept_close(_no_link(request, "unknown", HTTPStatus.NOT_FOUND))
        with translation.override(link.lead.language):
            answer = view(request, link, **kwargs)
        answer["Content-Language"] = link.lead.language
        return _kept_close(answer)

    return guarded


def _kept_close(answer: HttpResponseBase) -> HttpResponseBase:
    """The address is the key: it goes to nobody, and no cache between keeps what it opens."""
    answer["Referrer-Policy"] = "no-referrer"
    answer["Cache-Control"] = "private, no-store"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


def _no_link(request: HttpRequest, code: str, status: HTTPStatus) -> HttpResponse:
    """In the languages we speak, as nobody knows whose phone it is."""
    said = []
    for language in ("en", "es"):
        with translation.override(language):
            said.append((language, *phoneday.ended_words(code)))
    if _is_script(request):
        return JsonResponse({"told": said[0][2]}, status=status)
    answer = HttpResponse(render_to_string("pages/phone_ended.html", {"said": said}), status=status)
    if status == HTTPStatus.TOO_MANY_REQUESTS:
        answer["Retry-After"] = str(WITHIN_S)
    return answer


def _is_script(request: HttpRequest) -> bool:
    return request.headers.get("X-Requested-By") == "phone.js"


# --- the doors ----------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD"])
@by_link
def day(request: HttpRequest, link: DayLink) -> HttpResponse:
    """The lead's day; `?pour=` chooses one of several pours."""
    asked = request.GET.get("pour", "")
    return _page(link, int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 16 else None)


@csrf_exempt
@require_POST
@by_link
def press(request: HttpRequest, link: DayLink, pour: int) -> HttpResponse:
    """Note one press; a script that sends what it kept is answered in short."""
    if told := _went(link, pour):
        return _gone(request, link, told)
    chosen = _theirs(link, pour)
    try:
        form = PressForm(request.POST, request.FILES)
        said = read_press(form, chosen, _planned_m3(chosen))
        phone.press(link=link, pour=chosen, said=said, now=timezone.now())
    except Refusal as refused:
        return _refused(request, link, chosen, refused)
    return _done(request, link, chosen, "done")


@csrf_exempt
@require_POST
@by_link
def undo(request: HttpRequest, link: DayLink, pour: int, note: int) -> HttpResponse:
    chosen = _theirs(link, pour)
    try:
        phone.undo(link=link, note=_note_of(chosen, note), now=timezone.now())
    except Refusal as refused:
        return _refused(request, link, chosen, refused)
    return _done(request, link, chosen, "undone")


@require_GET
@by_link
def photo(request: HttpRequest, link: DayLink, pour: int, note: int) -> HttpResponseBase:
    return photo_answer(_note_of(_theirs(link, pour), note))


@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps the page for when there is no signal; it reaches what lies beside it."""
    answer = HttpResponse(WORKER.read_text(encoding="utf-8"), content_type="text/javascript")
    answer["Cache-Control"] = "no-cache"
    return answer


def photo_answer(note: SiteNote) -> FileResponse:
    """A photo, as nothing but a picture, whatever a browser would make of it."""
    name = note.photo.name or ""
    if note.kind != NoteKind.PHOTO or not default_storage.exists(name):
        raise Http404
    answer = FileResponse(default_storage.open(name), content_type="image/jpeg")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    return answer


# --- what they share ----------------------------------------------------------------------------


def _theirs(link: DayLink, pk: int) -> Pour:
    """That pour, as long as it is of this crew and day: another is not there."""
    found = next((pour for pour in daylinks.pours_of(link) if pour.pk == pk), None)
    if found is None:
        raise Http404
    return found


def _went(link: DayLink, pk: int) -> str:
    """Where a pour went that was of this crew and day while the link was open; empty where it did not."""
    return next((phoneday.gone_words(one) for one in daylinks.gone_from(link) if one.pour.pk == pk), "")


def _gone(request: HttpRequest, link: DayLink, told: str) -> HttpResponse:
    """What was pressed for a pour that is another crew's by now is not taken, and leaves the phone."""
    if _is_script(request):
        return JsonResponse({"told": told}, status=HTTPStatus.CONFLICT)
    return _page(link, None, problem=told, status=HTTPStatus.CONFLICT)


def _note_of(pour: Pour, pk: int) -> SiteNote:
    found = pour.site_notes.filter(pk=pk, undone_at__isnull=True).select_related("pour").first()
    if found is None:
        raise Http404
    return found


def _planned_m3(pour: Pour) -> dict[int, float]:
    planned = pour.plan.result["delivery"]["loads"] if pour.plan else []
    return {load["number"]: load["m3"] for load in planned}


def _done(request: HttpRequest, link: DayLink, pour: Pour, told: str) -> HttpResponse:
    if _is_script(request):
        return JsonResponse({"told": phoneday.page_words()[told]})
    return redirect(f"/d/{daylinks.token_of(link)}?pour={pour.pk}#noted")


def _refused(request: HttpRequest, link: DayLink, pour: Pour, refused: Refusal) -> HttpResponse:
    told = phoneday.refusal_words(refused.code)
    if _is_script(request):
        asks_again = refused.field == "confirmed"
        return JsonResponse({"told": told, "asks_again": asks_again}, status=refused.status)
    return _page(link, pour.pk, problem=told, typed=request.POST.dict(), status=refused.status)


def _page(
    link: DayLink,
    asked: int | None,
    *,
    problem: str = "",
    typed: dict[str, str] | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    now, pours, gone = timezone.now(), daylinks.pours_of(link), daylinks.gone_from(link)
    chosen = phoneday.chosen(pours, asked, now)
    if asked is not None and chosen is None:
        if asked not in {one.pour.pk for one in gone}:
            raise Http404
        chosen = phoneday.chosen(pours, None, now)
    shown = {
        "token": daylinks.token_of(link),
        "language": link.lead.language,
        "day": phoneday.pour_day(pour=chosen, now=now) if chosen else None,
        "as_of": phoneday.as_of(chosen, now) if chosen else "",
        "others": [(pour.pk, phoneday.starts_words(pour), pour == chosen) for pour in pours],
        "gone": [phoneday.gone_words(one) for one in gone],
        "say": phoneday.page_words(),
        "problem": problem,
        "typed": typed or {},
    }
    # Without the request: nothing that could read or set a cookie is asked.
    return HttpResponse(render_to_string("pages/phone.html", shown), status=status)
