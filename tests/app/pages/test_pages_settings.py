"""Settings: the drain plan as prescribed, times away, the history, taking back."""

from __future__ import annotations

from datetime import date

import pytest
from sqlmodel import Session

from app.convert import read_household
from planner.household import Household
from planner.regimen import Pattern
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

ROOT = "/h/home/settings"
REGIMEN, AWAY = f"{ROOT}/regimen", f"{ROOT}/away"
BY_DOCTOR = {"ordered_by": "Dr Ada Mere"}


def record(db: Session, on: date | None = None) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home", on)
    assert household is not None
    return household


def test_a_new_regimen_is_added_and_the_plan_moves_at_once(cara: Visitor, db: Session) -> None:
    before = record(db).catheters[0].regimens
    answer = cara.send(REGIMEN, BY_DOCTOR | {"every_n_days": "1"}, "every_n_days")
    said = cara.follow(answer)
    assert "Your change is saved." in said
    assert "Supplies will now probably last through" in said
    assert "Before this change: through" in said
    assert "Every day, from Wed 11 March" in said
    assert "Prescribed by Dr Ada Mere" in said
    regimens = record(db).catheters[0].regimens
    assert regimens[:-1] == before
    assert regimens[-1].every_n_days == 1


def test_taking_a_change_back_restores_the_plan_and_keeps_both_in_the_history(
    cara: Visitor, db: Session
) -> None:
    before, page = record(db), cara.see("/h/home")
    answer = cara.send(REGIMEN, BY_DOCTOR | {"every_n_days": "7"}, "every_n_days")
    assert cara.see("/h/home") != page
    said = cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert "That entry was taken back." in said
    assert "(taken back)" in said
    assert record(db) == before
    assert cara.see("/h/home") == page


def test_a_regimen_that_lies_ahead_is_shown_as_coming(cara: Visitor, db: Session) -> None:
    changes = {"pattern": "weekdays", "weekday_0": "yes", "weekday_3": "yes"}
    changes |= BY_DOCTOR | {"starts_on": "2026-03-23", "session_limit_ml": "1,000"}
    said = cara.follow(cara.send(REGIMEN, changes, "pattern"))
    assert "Every 2 days, from Mon 5 January" in said
    assert "Coming: On Monday and Thursday, from Mon 23 March. At most 1,000 mL" in said
    assert "It counts from Mon 23 March on." in said
    newest = record(db).catheters[0].regimens[-1]
    assert (newest.rrule, newest.session_limit_ml) == ("FREQ=WEEKLY;BYDAY=MO,TH", 1000)


def test_a_second_regimen_of_the_same_day_takes_the_place_of_the_first(
    cara: Visitor, db: Session
) -> None:
    for days in ("3", "4"):
        cara.send(REGIMEN, BY_DOCTOR | {"every_n_days": days}, "every_n_days")
    assert [one.every_n_days for one in record(db).catheters[0].regimens] == [2, 4]
    assert "Every 3 days" in cara.see(ROOT)


@pytest.mark.parametrize(
    ("changes", "pattern"),
    [
        ({"pattern": "as-needed"}, Pattern.AS_NEEDED),
        ({"pattern": "rrule", "rrule": "FREQ=MONTHLY;BYDAY=1MO"}, Pattern.RRULE),
    ],
)
def test_every_way_to_write_a_regimen_comes_back_into_the_form(
    changes: dict[str, str], pattern: Pattern, cara: Visitor, db: Session
) -> None:
    cara.follow(cara.send(REGIMEN, BY_DOCTOR | changes, "pattern"))
    assert record(db).catheters[0].regimens[-1].pattern is pattern
    assert cara.form(REGIMEN, "pattern").values.items() >= changes.items()


@pytest.mark.parametrize(
    ("path", "changes", "fault"),
    [
        (REGIMEN, {"pattern": "x"}, "How it is written is x. Choose one of those on the page."),
        (REGIMEN, {"every_n_days": ""}, "Number of days is empty. Give a whole number of days"),
        (REGIMEN, {"every_n_days": "two"}, "Number of days is two. Give a whole number of days"),
        (REGIMEN, {"every_n_days": "0"}, "Number of days is 0. Give 1 to 60 days."),
        (REGIMEN, {"pattern": "weekdays"}, "Weekdays is empty. Tick at least one weekday."),
        (REGIMEN, {"pattern": "rrule", "rrule": "soon"}, "Calendar rule is soon. Write one"),
        (REGIMEN, {"pattern": "rrule", "rrule": ""}, "Calendar rule is empty. Write one"),
        (REGIMEN, {"starts_on": "31 June"}, "First day is 31 June. Give a day of the calendar"),
        (REGIMEN, {"starts_on": "2062-03-11"}, "First day is 2062-03-11. It lies too far away"),
        (REGIMEN, {"ordered_by": ""}, "Name of the prescriber is empty. Write who prescribed"),
        (REGIMEN, {"ordered_by": "x" * 121}, "Use at most 120 characters."),
        (REGIMEN, {"session_limit_ml": "lots"}, "Limit for one session is lots. Give a whole"),
        (REGIMEN, {"session_limit_ml": "20"}, "Limit for one session is 20. Give 50 to 10000 mL."),
        (REGIMEN, {"session_limit_ml": "9999"}, "Limit for one session is 9999. That takes more"),
        (AWAY, {"starts_on": ""}, "First day away is empty. Give a day of the calendar"),
        (AWAY, {"ends_on": "soon"}, "First day at home again is soon. Give a day"),
        (AWAY, {"ends_on": "2026-03-10"}, "First day at home again is 2026-03-10. It must not"),
        (AWAY, {"ends_on": "2026-03-11"}, "First day at home again is 2026-03-11. The first day"),
        (AWAY, {"starts_on": "2006-03-11"}, "First day away is 2006-03-11. It lies too far"),
        (AWAY, {"reason": "why"}, "Reason is why. Choose one of those on the page."),
    ],
)
def test_a_bad_value_is_named_and_nothing_is_saved(
    path: str, changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    before = record(db)
    typed = (BY_DOCTOR if path == REGIMEN else {}) | changes
    answer = cara.send(path, typed, "starts_on")
    assert answer.status_code == 422
    assert any(fault in one for one in faults_of(answer)), faults_of(answer)
    assert text_of(answer).count(fault) == 2  # in the summary and beside the field
    kept = next(one for one in forms_of(answer) if "starts_on" in one.values).values
    shown = {k: v for k, v in typed.items() if k in kept and k not in ("pattern", "reason")}
    assert kept.items() >= shown.items()
    assert record(db) == before
    assert "Nothing has been changed since the start." in cara.see(ROOT)


def test_a_time_away_lengthens_the_supply_and_is_ended_with_one_tap(
    cara: Visitor, db: Session
) -> None:
    said = cara.follow(cara.send(AWAY, {"starts_on": "2026-03-10"}, "starts_on"))
    assert "In hospital from Tue 10 March, day of coming home not known yet" in said
    key = next(iter(forms_of(cara.get(ROOT)))).values  # the form to sign out comes first
    assert key.keys() == {"form_token"}
    link = f"{AWAY}?pause=v0000002"
    assert link in cara.get(ROOT).text
    home = next(one for one in forms_of(cara.get(link)) if "starts_on" in one.values)
    said = cara.follow(cara.post(AWAY, home.values | {"do": "home"}))
    assert [one.ends_on for one in record(db).pauses] == [date(2026, 3, 11)]
    assert "Before this change: through" in said or "Supplies last as long as before." in said
    assert "No time away is written down." in said


def test_a_time_away_can_be_taken_out_and_that_taken_back(cara: Visitor, db: Session) -> None:
    away = {"starts_on": "2026-03-20", "ends_on": "2026-03-27", "reason": "travel"}
    cara.send(AWAY, away, "starts_on")
    held = record(db).pauses
    assert len(held) == 1
    answer = cara.send(f"{AWAY}?pause=v0000002", {"do": "remove"}, "ends_on")
    assert "A time away was taken out" in cara.follow(answer)
    assert record(db).pauses == ()
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert record(db).pauses == held


def test_the_same_form_sent_twice_is_one_change(cara: Visitor, db: Session) -> None:
    form = cara.form(AWAY, "starts_on")
    first, second = (cara.post(AWAY, form.values) for _ in range(2))
    assert first.headers["location"] == second.headers["location"]
    assert len(record(db).pauses) == 1


def test_what_is_the_same_already_is_no_change(cara: Visitor, db: Session) -> None:
    cara.send(AWAY, {"starts_on": "2026-03-20"}, "starts_on")
    said = cara.follow(cara.send(f"{AWAY}?pause=v0000002", {}, "ends_on"))
    assert "Nothing was changed: it was so already." in said
    assert cara.see(ROOT).count("Time away:") == 1


def test_an_unknown_catheter_or_time_away_is_not_found(cara: Visitor) -> None:
    assert cara.get(f"{REGIMEN}?catheter=x").status_code == 404
    assert cara.get(f"{AWAY}?pause=x").status_code == 404
    form = cara.form(AWAY, "starts_on")
    assert cara.post(AWAY, form.values | {"pause": "x"}).status_code == 404


def test_a_change_can_be_taken_back_once(cara: Visitor) -> None:
    answer = cara.send(AWAY, {}, "starts_on")
    form = next(f for f in forms_of(cara.get(answer.headers["location"])) if "entry" in f.values)
    cara.post(form.action, form.values)
    again = cara.post(form.action, form.values | {"submission": "another"})
    assert "That change cannot be taken back." in cara.follow(again)


def test_a_viewer_sees_the_settings_and_no_buttons(enter: Enter) -> None:
    page = enter("vic").get(ROOT)
    assert page.status_code == 200
    assert "settings/regimen" not in page.text
    assert enter("vic").get(REGIMEN).status_code == 404


def test_a_time_away_from_a_tube_that_is_not_there_is_refused(cara: Visitor, db: Session) -> None:
    page = cara.send(AWAY, {"catheter": "no-such-tube"}, "starts_on")
    assert page.status_code == 422
    assert "no-such-tube" in text_of(page)
    assert record(db).pauses == ()
