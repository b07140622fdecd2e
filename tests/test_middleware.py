"""A NUL character anywhere in a request is refused: PostgreSQL cannot keep one."""

import pytest
from django.core.exceptions import BadRequest
from django.http import HttpResponse
from django.test import RequestFactory

from pourplan.middleware import refuse_nul

ASK = RequestFactory()
HELD = refuse_nul(lambda request: HttpResponse("let in"))


@pytest.mark.parametrize(
    "request_",
    [
        ASK.get("/?q=%00"),
        ASK.get("/?%00=q"),
        ASK.get("/?a=fine&a=no%00t"),
        ASK.get("/pours/%00/"),
        ASK.post("/", {"name": "a\0b"}),
        ASK.post("/", {"a\0b": "name"}),
        ASK.post("/?q=%00", {"name": "ab"}),
        ASK.post("/", "name=a%00b", content_type="application/x-www-form-urlencoded"),
        ASK.post("/", rb'{"notes": {"deep": ["a\u0000b"]}}', content_type="application/json"),
        ASK.get("/", headers={"cookie": r'sessionid="a\000b"'}),
        ASK.get("/", headers={"authorization": "Bearer a\0b"}),
    ],
)
def test_a_nul_is_refused_wherever_it_is(request_):
    with pytest.raises(BadRequest):
        HELD(request_)


@pytest.mark.parametrize(
    "request_",
    [
        ASK.get("/?q=Año"),
        ASK.post("/", {"name": "Muñoz & Sons"}),
        ASK.post("/", {"notes": "tab\tand\nline"}, content_type="application/json"),
        ASK.post("/", b"\0\1\2", content_type="application/octet-stream"),
    ],
)
def test_what_can_be_kept_is_let_in(request_):
    assert HELD(request_).content == b"let in"


def test_the_answer_is_a_400(client, db):
    assert client.get("/admin/login/?next=%00").status_code == 400
    client.cookies["sessionid"] = "a\0b"
    assert client.get("/admin/login/").status_code == 400
