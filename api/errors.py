"""Every error in one shape: a problem document (RFC 9457) with a code and the fields at fault."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import ProtectedError
from django.http import Http404, HttpRequest, HttpResponseBase, JsonResponse
from rest_framework import exceptions
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from api.names import api_name
from scheduling.errors import Refusal

MEDIA_TYPE = "application/problem+json"
API_PATH = "/api/"

# One sentence each, whatever was looked for: an id that is not there reads like one that may not be seen.
SENTENCES = {
    400: "The request cannot be understood.",
    401: "Sign in first: send a token from /api/v1/tokens/ as “Authorization: Bearer …”.",
    403: "Your role does not include this.",
    404: "There is nothing here that you may see.",
    405: "This address does not take that method.",
    413: "The request is too large.",
    415: "Send JSON, with “Content-Type: application/json”.",
    500: "Something went wrong on our side. It has been noted; nothing was changed.",
}
CODES = {
    400: "bad_request",
    401: "not_authenticated",
    403: "not_allowed",
    404: "not_found",
    405: "method_not_allowed",
    413: "too_large",
    415: "unsupported_media_type",
    429: "too_many_requests",
    500: "server_error",
}

# What a program can do about it.
HINTS = {
    "clashes": "Take a start from “cure”, or send “accept_clashes”: true to have it all the same.",
    "sheet_clashes": "Send “accept_clashes”: true to book them all the same.",
    "week_changed": "Ask for a better week anew.",
    "out_of_date": "Read it again, and name the “version” it has now.",
}
NO_SLASH = "Addresses here end with a slash."


class VersionMissing(exceptions.APIException):
    """A change that does not say which version it was made from."""

    status_code = 428
    default_code = "version_missing"
    default_detail = "Say which version you read: “version” in the body, or its ETag in an If-Match header."


class WrongPassword(exceptions.APIException):
    """A name and a password that do not fit; which of the two is wrong is not told."""

    status_code = 401
    default_code = "wrong_password"
    default_detail = "That name and password do not fit."
    auth_header = "Bearer"


class LockedOut(exceptions.APIException):
    """Too many wrong passwords."""

    status_code = 429
    default_code = "locked_out"
    default_detail = "Too many wrong passwords for this name. Wait a quarter of an hour and try again."


def problem_body(
    status: int,
    *,
    detail: str = "",
    code: str = "",
    errors: Sequence[Mapping[str, str]] = (),
    **more: Any,
) -> dict[str, Any]:
    """The document of a problem; `more` are members that only this kind of problem has."""
    title = HTTPStatus(status).phrase
    return {
        "type": "about:blank",
        "title": title,
        "status": status,
        "detail": sendable(detail) or SENTENCES.get(status, title),
        "code": code or CODES.get(status, "http_error"),
        "errors": [{name: sendable(text) for name, text in error.items()} for error in errors],
        **more,
    }


def sendable(text: str) -> str:
    """The text without the half characters a request may hold, which no answer can be written with."""
    return text.encode("utf-8", "replace").decode()


def problem_handler(fault: Exception, context: dict[str, Any]) -> Response | None:
    """The answer to what a view raised; None for what we did not foresee, which Django then logs."""
    body = _body_for(fault, context)
    if body is None:
        return None
    # DRF's own handler knows the headers that go with some errors: WWW-Authenticate, Retry-After, Allow.
    usual = exception_handler(fault, context)
    set_rollback()
    headers = dict(usual.headers) if usual else None
    return Response(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)


def _body_for(fault: Exception, context: dict[str, Any]) -> dict[str, Any] | None:
    match fault:
        case Refusal():
            return _refused(fault, context)
        case ProtectedError():
            return problem_body(409, code="in_use", detail="Something else still needs this, so it stays.")
        case Http404() | exceptions.NotFound():
            return problem_body(404)
        case exceptions.ValidationError():
            return _invalid(fault)
        case PermissionDenied() | exceptions.PermissionDenied():
            return problem_body(403, detail=_csrf_sentence(fault))
        case exceptions.APIException():
            return problem_body(fault.status_code, detail=_sentence_of(fault), code=_code_of(fault))
    return None


def _refused(refusal: Refusal, context: dict[str, Any]) -> dict[str, Any]:
    field = api_name(refusal.field)
    # The engine speaks of its inputs by their own names.
    message = refusal.message.replace(refusal.field, field) if field else refusal.message
    errors = [{"field": field, "code": refusal.code, "message": message}] if field else []
    facts = refusal.facts
    if present := getattr(context["view"], "present_facts", None):
        facts = present(facts)
    detail = " ".join(filter(None, (message, HINTS.get(refusal.code))))
    return problem_body(refusal.status, detail=detail, code=refusal.code, errors=errors, **facts)


def _invalid(fault: exceptions.ValidationError) -> dict[str, Any]:
    errors = list(flat_errors(fault.get_full_details()))
    told = [f"{error['field']}: {error['message']}".removeprefix(": ") for error in errors]
    detail = told[0] if len(told) == 1 else f"{len(told)} things are wrong with the request: see “errors”."
    return problem_body(400, detail=detail, code="invalid", errors=errors)


def flat_errors(details: Any, path: str = "") -> Iterator[dict[str, str]]:
    """One entry for each thing wrong, with the path to its field, as in `sections[0].openings[1].width`."""
    if isinstance(details, Mapping) and details.keys() == {"message", "code"}:
        yield {"field": path, "code": str(details["code"]), "message": str(details["message"])}
    elif isinstance(details, Mapping):
        for name, inner in details.items():
            yield from flat_errors(inner, _below(path, name))
    else:
        for position, inner in enumerate(details):
            leaf = isinstance(inner, Mapping) and inner.keys() == {"message", "code"}
            yield from flat_errors(inner, path if leaf else f"{path}[{position}]")


def _below(path: str, name: Any) -> str:
    if name == "non_field_errors":
        return path
    # A list of plain values names its faulty ones by position.
    step = f"[{name}]" if isinstance(name, int) else str(name)
    return f"{path}{step}" if step.startswith("[") or not path else f"{path}.{step}"


def _csrf_sentence(fault: Exception) -> str:
    return str(fault) if str(fault).startswith("CSRF") else ""


def _sentence_of(fault: exceptions.APIException) -> str:
    plain = exceptions.MethodNotAllowed | exceptions.UnsupportedMediaType | exceptions.NotAuthenticated
    return "" if isinstance(fault, plain) else str(fault.detail)


def _code_of(fault: exceptions.APIException) -> str:
    """What DRF calls `error` and `throttled` has plainer names of ours."""
    code = str(fault.get_codes())
    return code if code not in ("error", "throttled") else CODES.get(fault.status_code, code)


def plain_problem(body: dict[str, Any]) -> JsonResponse:
    """A problem that no view of this API answers with."""
    return JsonResponse(body, status=body["status"], content_type=MEDIA_TYPE)


def problems_everywhere(
    answer: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Middleware that shapes what never reaches a view: a wrong host, no such address, a crash."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = answer(request)
        if not request.path_info.startswith(API_PATH) or response.headers.get("Content-Type") == MEDIA_TYPE:
            return response
        if response.status_code == 301 and request.method not in SAFE_METHODS:
            # Followed, the redirection would ask without the body.
            return plain_problem(problem_body(404, detail=NO_SLASH))
        if response.status_code < 400:
            return response
        return plain_problem(problem_body(response.status_code))

    return middleware
