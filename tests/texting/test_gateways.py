"""Handing a text over."""

import io

import pytest

from scheduling.texting.console import ConsoleGateway
from scheduling.texting.gateways import gateway_named

OURS = {"key": "morning:1#0", "text": 1, "again": 0}


def test_the_console_prints_one_block_a_text():
    stream = io.StringIO()
    ConsoleGateway(stream).send(phone="+19135550142", body="Be there 6am.\nBring the saw.", **OURS)
    head, first, second, foot = stream.getvalue().splitlines()
    assert head == "--- text to +19135550142 (1 segment) ---"
    assert (first, second) == ("Be there 6am.", "Bring the saw.")
    assert foot == "-" * len(head)


def test_every_text_gets_a_key_of_its_own():
    gateway = ConsoleGateway(io.StringIO())
    assert gateway.send(phone="+19135550142", body="a", **OURS) != gateway.send(
        phone="+19135550142", body="a", **OURS
    )


def test_a_gateway_is_found_by_its_name(capsys):
    gateway_named("console").send(phone="+19135550142", body="hello", **OURS)
    assert "hello" in capsys.readouterr().out


def test_an_unknown_gateway_is_told_of_by_name():
    with pytest.raises(ValueError, match=r"pigeon.*console"):
        gateway_named("pigeon")
