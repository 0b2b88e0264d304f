"""Recording a session, the list of sessions, taking one back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlmodel import Session

from app.access import Role
from app.convert import read_household, write_household
from app.models import AccountRow
from app.services_accounts import add_member
from planner.household import Catheter, Household, Site
from planner.regimen import Pattern, Regimen
from planner.sessions import LossReason, StopReason
from tests.app.data_builders import KIT, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of

FORM = "/h/home/sessions/new"
VOLUME = "bottles[1].volume_ml"


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home")
    assert household is not None
    return household


def test_the_form_starts_at_this_moment(cara: Visitor) -> None:
    values = cara.form(FORM, VOLUME).values
    assert (values["day"], values["time"]) == ("2026-03-11", "14:00")
    assert "stop_reason" not in values


def test_a_session_is_written_down_and_can_be_taken_back(cara: Visitor, db: Session) -> None:
    before = cara.see("/h/home")
    changes = {VOLUME: "340", "stop_reason": "ran-dry", "time": "13:30"}
    answer = cara.send(FORM, changes, VOLUME)
    after = cara.follow(answer)
    assert "Your session is written down." in after
    assert "Last one written down: Wed 11 March, 340 mL." in after
    assert "11 kits" in before
    assert "10 kits" in after
    last = record(db).valid_sessions[-1]
    assert (last.volume_ml, last.stop_reason) == (340, StopReason.RAN_DRY)

    undone = cara.send(answer.headers["location"], {}, "entry")
    assert "That entry was taken back." in cara.follow(undone)
    assert "11 kits" in cara.see("/h/home")
    assert "(taken back)" in cara.see("/h/home/sessions")
    again = cara.post("/h/home/undo", cara.form(FORM, VOLUME).values | {"entry": last.id})
    assert "That entry was taken back before." in cara.follow(again)


def test_several_bottles_one_of_them_lost(cara: Visitor, db: Session) -> None:
    changes = {VOLUME: "500 mL", "bottles[2].loss": "vacuum-lost", "bottles[3].volume_ml": "1 20"}
    cara.follow(cara.send(FORM, changes, VOLUME))
    bottles = record(db).valid_sessions[-1].bottles
    assert [(one.volume_ml, one.loss) for one in bottles] == [
        (500, None),
        (0, LossReason.VACUUM_LOST),
        (120, None),
    ]
    assert "3 bottles, 1 lost" in cara.see("/h/home/sessions")


def test_a_form_sent_twice_is_saved_once(cara: Visitor, db: Session) -> None:
    values = cara.form(FORM, VOLUME).values | {VOLUME: "340"}
    count = len(record(db).sessions)
    for _ in range(2):
        assert "Your session is written down." in cara.follow(cara.post(FORM, values))
    assert len(record(db).sessions) == count + 1


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        (
            {VOLUME: "", "bottles[2].volume_ml": " "},
            "Volume in bottle 1 is empty. Write how much came out",
        ),
        ({VOLUME: "lots"}, "Volume in bottle 1 is lots. Give a whole number of mL"),
        ({VOLUME: "-5"}, "Volume in bottle 1 is -5. Give 0 to 5000 mL."),
        ({VOLUME: "4.5"}, "Volume in bottle 1 is 4.5. Give a whole number of mL"),
        ({VOLUME: "900"}, "Volume in bottle 1 is 900. A bottle of K-HALF holds 500 mL"),
        (
            {VOLUME: "400", "bottles[3].volume_ml": "900"},
            "Volume in bottle 3 is 900. A bottle of B-HALF holds 500 mL",
        ),
        ({VOLUME: "400", "bottles[2].loss": "eaten"}, "State of bottle 2 is eaten. Choose one of"),
        ({VOLUME: "400", "day": "2026-03-12"}, "Day and time is 2026-03-12 14:00. It lies in the"),
        ({VOLUME: "400", "day": "1926-03-11"}, "Day and time is 1926-03-11 14:00. It lies more"),
        ({VOLUME: "400", "day": "soon"}, "Day is soon. Give a day of the calendar"),
        ({VOLUME: "400", "time": "noon"}, "Time is noon. Give a time of day such as 09:30."),
        ({VOLUME: "400", "catheter": "left"}, "Catheter is left. No such catheter"),
        ({VOLUME: "400", "catheter": ""}, "Catheter is empty. Choose which one"),
        ({VOLUME: "400", "stop_reason": "bored"}, "Why it ended is bored. Choose one of"),
    ],
)
def test_a_bad_value_is_named_and_everything_typed_is_kept(
    changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    page = cara.send(FORM, {"bottles[2].volume_ml": "77"} | changes, VOLUME)
    assert page.status_code == 422
    sentences = faults_of(page) if "catheter" not in changes else [page.text]
    assert any(fault in one for one in sentences), sentences
    if "bottles[2].volume_ml" not in changes:
        assert 'value="77"' in page.text
    for name in (VOLUME, "day", "time"):
        if changes.get(name):
            assert f'value="{changes[name]}"' in page.text
    assert len(record(db).sessions) == 12


def test_all_faults_are_told_together(cara: Visitor) -> None:
    page = cara.send(FORM, {VOLUME: "x", "day": "y", "bottles[2].volume_ml": "z"}, VOLUME)
    assert [one.split(".")[0] for one in faults_of(page)] == [
        "Day is y",
        "Volume in bottle 1 is x",
        "Volume in bottle 2 is z",
    ]


def with_limit() -> Household:
    household = make_household(id="limited")
    regimen = replace(household.catheters[0].regimens[0], session_limit_ml=800)
    right = replace(household.catheters[0], regimens=(regimen,))
    left = Catheter(
        id="left",
        label="left",
        site=Site.CHEST,
        regimens=(Regimen(starts_on=date(2026, 1, 5), pattern=Pattern.AS_NEEDED),),
        kit_code=KIT,
    )
    return replace(household, catheters=(right, left))


@pytest.fixture
def limited(enter: Enter, db: Session, people: dict[str, AccountRow]) -> Visitor:
    """A carer of a household with two catheters and a limit."""
    write_household(db, with_limit())
    add_member(db, people["cara"], "limited", Role.CARER)
    db.commit()
    return enter("cara")


def test_above_the_limit_is_a_caution_and_no_refusal(limited: Visitor) -> None:
    path = "/h/limited/sessions/new"
    assert "The limit in your plan: right: 800 mL." in limited.see(path)
    changes = {"catheter": "right", VOLUME: "500", "bottles[2].volume_ml": "450"}
    said = limited.follow(limited.send(path, changes, VOLUME))
    assert "Your session is written down." in said
    assert "It was 950 mL. The limit in your plan is 800 mL. Tell your care team." in said


def test_with_two_catheters_one_must_be_chosen(limited: Visitor) -> None:
    page = limited.send("/h/limited/sessions/new", {VOLUME: "100"}, VOLUME)
    assert faults_of(page) == ["Catheter is empty. Choose which one this session was for."]


def test_the_list_has_pages(cara: Visitor) -> None:
    assert "12 written down" in cara.see("/h/home/sessions")
    for page in ("0", "-4", "999999999999"):
        assert "12 written down" in cara.see(f"/h/home/sessions?page={page}")
