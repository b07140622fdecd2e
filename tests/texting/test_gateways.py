"""Handing a text over."""

import io

import pytest

from scheduling.texting.gateways import ConsoleGateway, gateway_named


def test_the_console_prints_one_block_a_text():
    stream = io.StringIO()
    ConsoleGateway(stream).send(phone="+19135550142", body="Be there 6am.\nBring the saw.")
    head, first, second, foot = stream.getvalue().splitlines()
    assert head == "--- text to +19135550142 (1 segment) ---"
    assert (first, second) == ("Be there 6am.", "Bring the saw.")
    assert foot == "-" * len(head)


def test_every_text_gets_a_key_of_its_own():
    gateway = ConsoleGateway(io.StringIO())
    assert gateway.send(phone="+19135550142", body="a") != gateway.send(phone="+19135550142", body="a")


def test_a_gateway_is_found_by_its_name(capsys):
    gateway_named("console").send(phone="+19135550142", body="hello")
    assert "hello" in capsys.readouterr().out


def test_an_unknown_gateway_is_told_of_by_name():
    with pytest.raises(ValueError, match=r"pigeon.*console"):
        gateway_named("pigeon")
