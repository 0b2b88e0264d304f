"""Calendar addresses: shown once, renewed, switched off."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import text_of


@pytest.mark.parametrize(("who", "root"), [("cara", "/h/home"), ("cody", "/agency/ours")])
def test_an_address_is_shown_once_works_and_can_be_switched_off(
    who: str, root: str, enter: Enter, client: TestClient
) -> None:
    visitor = enter(who)
    path = f"{root}/calendar"
    made = visitor.send(path, {}, "detailed")
    found = re.search(r"http://testserver(/calendar/[\w-]+\.ics)", text_of(made))
    assert found is not None
    assert client.get(found[1]).text.startswith("BEGIN:VCALENDAR")
    later = visitor.get(path)
    assert found[1] not in later.text
    assert "You have an address" in later.text
    assert "Entries use neutral words" in later.text

    renewed = visitor.send(path, {"detailed": "yes"}, "detailed")
    fresh = re.search(r"http://testserver(/calendar/[\w-]+\.ics)", text_of(renewed))
    assert fresh is not None
    assert client.get(found[1]).status_code == 404
    assert client.get(fresh[1]).status_code == 200
    assert "Entries use detailed words" in visitor.see(path)

    token = visitor.form(path, "form_token").values["form_token"]
    off = visitor.post(f"{path}/off", {"form_token": token})
    assert "The old address does not work any more." in visitor.follow(off)
    assert client.get(fresh[1]).status_code == 404


def test_a_forged_form_makes_no_address(enter: Enter) -> None:
    visitor = enter("cara")
    assert visitor.post("/h/home/calendar", {"form_token": "guess"}).status_code == 403
    assert visitor.post("/h/home/calendar/off", {}).status_code == 403
