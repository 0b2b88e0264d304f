"""Messages leave once, are tried again when they surely did not, and stop when told."""

from __future__ import annotations

import logging
import re
import threading
from collections import Counter
from datetime import datetime, time, timedelta
from email.message import EmailMessage

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, col, delete, select

from app.access import AgencyAccess, HouseholdAccess, enter_agency, enter_household
from app.db import open_session
from app.errors import NotFound
from app.mail import Mailer, Outcome
from app.models import AccountRow, CatheterRow, HouseholdRow, MembershipRow, PauseRow
from app.models_reminders import OutboxRow, ReminderChoiceRow
from app.planning import plan_for
from app.reminders import LOST_AFTER, TRIES, Choices, OutboxState, ReminderKind
from app.security import hash_secret
from app.services import count_item
from app.services_orders import OrderConfirmation, confirm_order
from app.services_reminders import (
    KEPT_FOR,
    Post,
    choices_of,
    knows_stop_link,
    remind,
    save_choices,
    stop_by_link,
)
from app.writing import Request
from tests.app.data_builders import KIT, NOW, TODAY, UTC_NOW
from tests.app.feed_builders import ABOUT_HEALTH
from tests.app.reminder_builders import Inbox, Sink, body_of, mail_server


def choose(*kinds: ReminderKind) -> Choices:
    """Want these kinds at any hour."""
    return Choices(
        wanted=frozenset(kinds),
        quiet_from=time(0),
        quiet_until=time(0),
        time_zone="Europe/Lisbon",
    )


WANTED = choose(*ReminderKind)


def send(db: Session, mailer: Mailer, now: datetime = UTC_NOW) -> Counter[Outcome]:
    post = Post(mailer=mailer, sender="supplies@clinic.example", base_url="https://ebb.example")
    return remind(db, post, now)


@pytest.fixture
def short(db: Session, carer: HouseholdAccess) -> HouseholdAccess:
    """The household has one kit left, and its carer wants to hear everything."""
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=1, at=NOW)
    save_choices(db, carer, WANTED, UTC_NOW)
    return carer


def states(db: Session) -> list[str]:
    return [row.state for row in db.exec(select(OutboxRow).order_by(OutboxRow.fact_key))]


def stop_secret(message: EmailMessage) -> str:
    found = re.search(r"https://ebb\.example/reminders/stop/([\w-]+)", body_of(message))
    assert found is not None
    assert message["List-Unsubscribe"] == f"<{found[0]}>"
    return found[1]


def test_nobody_gets_anything_without_having_chosen_it(db: Session, carer: HouseholdAccess) -> None:
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=1, at=NOW)
    assert choices_of(db, carer) == Choices(time_zone="Europe/Lisbon")
    sink = Sink()
    assert send(db, sink) == {}
    save_choices(db, carer, choose(), UTC_NOW)
    assert send(db, sink) == {}
    assert sink.tries == 0


def test_one_message_for_each_fact_however_often_it_is_asked(
    db: Session, short: HouseholdAccess
) -> None:
    sink = Sink()
    assert send(db, sink) == {Outcome.SENT: 1}
    assert sink.subjects == ["Act on supplies today"]
    assert sink.taken[0]["To"] == "cara@test.example"
    assert "Your supply plan: https://ebb.example/h/home\n" in body_of(sink.taken[0])
    assert body_of(sink.taken[0]).count("https://ebb.example/") == 2
    for hours in (0, 1, 5, 23, 30):
        assert send(db, sink, UTC_NOW + timedelta(hours=hours)) == {}
    count_item(Request(db=db, access=short, now=NOW), item_code=KIT, units=2, at=NOW)
    assert send(db, sink) == {}
    assert states(db) == [OutboxState.SENT]


def test_an_order_ends_the_need_and_the_next_one_is_told_again(
    db: Session, short: HouseholdAccess
) -> None:
    sink = Sink()
    send(db, sink)
    confirmation = OrderConfirmation(
        lines=((KIT, 1),),
        confirmed_by="Cara",
        said_yes=True,
        answer="Yes",
        input_version=version_of(db),
        is_placed=True,
    )
    confirm_order(Request(db=db, access=short, now=NOW), confirmation)
    assert send(db, sink) == {Outcome.SENT: 1}
    assert sink.subjects == ["Act on supplies today"] * 2


def version_of(db: Session) -> int:
    row = db.get(HouseholdRow, "home", populate_existing=True)
    assert row is not None
    return row.input_version


def test_each_person_hears_by_their_own_choice(
    db: Session, short: HouseholdAccess, people: dict[str, AccountRow]
) -> None:
    pat = enter_household(db, people["pat"], "home")
    only_late = choose(ReminderKind.DELIVERY_LATE)
    save_choices(db, pat, only_late, UTC_NOW)
    sink = Sink()
    send(db, sink)
    assert [message["To"] for message in sink.taken] == ["cara@test.example"]
    save_choices(db, pat, WANTED, UTC_NOW)
    send(db, sink)
    assert [message["To"] for message in sink.taken[1:]] == ["pat@test.example"]


def test_in_quiet_hours_nothing_leaves_and_afterwards_it_does(
    db: Session, short: HouseholdAccess
) -> None:
    quiet = Choices(
        wanted=WANTED.wanted,
        quiet_from=time(21),
        quiet_until=time(8),
        time_zone="America/New_York",
    )
    save_choices(db, short, quiet, UTC_NOW)
    sink = Sink()
    # New York keeps UTC-4 on this day, so these are half past seven and eight o'clock there.
    assert send(db, sink, UTC_NOW.replace(hour=11, minute=30)) == {}
    assert send(db, sink, UTC_NOW.replace(hour=12)) == {Outcome.SENT: 1}


def test_what_surely_did_not_leave_is_tried_again_later_and_longer(
    db: Session, short: HouseholdAccess
) -> None:
    sink = Sink(outcomes=[Outcome.LATER, Outcome.LATER])
    assert send(db, sink) == {Outcome.LATER: 1}
    assert send(db, sink, UTC_NOW + timedelta(minutes=4)) == {}
    assert send(db, sink, UTC_NOW + timedelta(minutes=5)) == {Outcome.LATER: 1}
    assert send(db, sink, UTC_NOW + timedelta(minutes=14)) == {}
    assert send(db, sink, UTC_NOW + timedelta(minutes=15)) == {Outcome.SENT: 1}
    assert send(db, sink, UTC_NOW + timedelta(hours=9)) == {}
    assert sink.tries == 3


def test_tries_end(db: Session, short: HouseholdAccess) -> None:
    sink = Sink(outcomes=[Outcome.LATER] * 99)
    for hours in range(40):
        send(db, sink, UTC_NOW + timedelta(hours=hours))
    assert sink.tries == TRIES
    assert OutboxState.GIVEN_UP in states(db)


@pytest.mark.parametrize(
    ("outcome", "state"),
    [(Outcome.UNSURE, OutboxState.UNSURE), (Outcome.NEVER, OutboxState.GIVEN_UP)],
)
def test_what_may_have_arrived_or_is_refused_is_not_repeated(
    outcome: Outcome, state: OutboxState, db: Session, short: HouseholdAccess
) -> None:
    sink = Sink(outcomes=[outcome])
    assert send(db, sink) == {outcome: 1}
    assert states(db) == [state]
    assert send(db, sink, UTC_NOW + timedelta(hours=3)) == {}
    assert sink.tries == 1


def test_a_try_that_was_cut_off_is_not_repeated(db: Session, short: HouseholdAccess) -> None:
    def crash(message: EmailMessage) -> Outcome:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        send(db, crash)
    db.rollback()
    assert states(db) == [OutboxState.SENDING]
    sink = Sink()
    late = UTC_NOW + LOST_AFTER + timedelta(seconds=1)
    assert send(db, sink, UTC_NOW + LOST_AFTER) == {}
    assert send(db, sink, late) == {}
    assert states(db) == [OutboxState.UNSURE]


@pytest.mark.parametrize("waiting", [False, True])
def test_processes_at_once_send_one_message(
    waiting: bool, engine: Engine, db: Session, short: HouseholdAccess
) -> None:
    sink = Sink()
    plan_for(db, "home", NOW)
    if waiting:
        send(db, Sink(outcomes=[Outcome.LATER]))
    db.commit()
    together = threading.Barrier(4)

    def process() -> None:
        with open_session(engine) as own:
            together.wait()
            send(own, sink, UTC_NOW + timedelta(minutes=6))

    threads = [threading.Thread(target=process) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sink.tries == 1


def test_a_waiting_message_is_dropped_when_its_fact_passes(
    db: Session, short: HouseholdAccess
) -> None:
    send(db, Sink(outcomes=[Outcome.LATER]))
    assert states(db) == [OutboxState.WAITING]
    count_item(Request(db=db, access=short, now=NOW), item_code=KIT, units=60, at=NOW)
    sink = Sink()
    assert send(db, sink, UTC_NOW + timedelta(hours=1)) == {}
    assert states(db) == []


def pause(db: Session) -> None:
    db.add(PauseRow(household_id="home", starts_on=TODAY - timedelta(days=1)))


def end(db: Session) -> None:
    for row in db.exec(select(CatheterRow).where(CatheterRow.household_id == "home")):
        row.removed_on = TODAY


@pytest.mark.parametrize("stop", [pause, end])
def test_when_treatment_is_paused_or_ends_nothing_is_sent(
    stop: object, db: Session, short: HouseholdAccess
) -> None:
    assert callable(stop)
    send(db, Sink(outcomes=[Outcome.LATER]))
    stop(db)
    count_item(Request(db=db, access=short, now=NOW), item_code=KIT, units=1, at=NOW)
    sink = Sink()
    assert send(db, sink, UTC_NOW + timedelta(hours=1)) == {}
    assert sink.tries == 0
    assert states(db) == []


def lose_access(db: Session, account: AccountRow) -> None:
    db.exec(delete(MembershipRow).where(col(MembershipRow.account_id) == account.id))


def close(db: Session, account: AccountRow) -> None:
    account.closed_at = UTC_NOW
    db.add(account)


@pytest.mark.parametrize("lose", [lose_access, close])
def test_whoever_may_no_longer_see_the_household_hears_nothing(
    lose: object, db: Session, short: HouseholdAccess, people: dict[str, AccountRow]
) -> None:
    assert callable(lose)
    lose(db, people["cara"])
    db.commit()
    sink = Sink()
    assert send(db, sink) == {}
    assert sink.tries == 0


def test_the_link_in_a_message_stops_the_messages_of_that_choice_only(
    db: Session, short: HouseholdAccess, people: dict[str, AccountRow]
) -> None:
    pat = enter_household(db, people["pat"], "home")
    save_choices(db, pat, WANTED, UTC_NOW)
    sink = Sink()
    send(db, sink)
    secrets = {str(message["To"]): stop_secret(message) for message in sink.taken}
    stored = set(db.exec(select(OutboxRow.stop_hash)))
    assert stored == {hash_secret(secret) for secret in secrets.values()}
    stop_by_link(db, secrets["cara@test.example"], UTC_NOW)
    stop_by_link(db, secrets["cara@test.example"], UTC_NOW)
    assert choices_of(db, short).wanted == frozenset()
    assert choices_of(db, pat).wanted
    assert knows_stop_link(db, secrets["cara@test.example"])
    assert not knows_stop_link(db, "guess")
    with pytest.raises(NotFound):
        stop_by_link(db, "guess", UTC_NOW)


def test_a_coordinator_gets_one_digest_a_day(
    db: Session, short: HouseholdAccess, people: dict[str, AccountRow]
) -> None:
    save_choices(db, short, Choices(), UTC_NOW)
    cody: AgencyAccess = enter_agency(db, people["cody"], "ours")
    save_choices(db, cody, WANTED, UTC_NOW)
    assert choices_of(db, cody).wanted == {ReminderKind.DIGEST}
    sink = Sink()
    assert send(db, sink) == {Outcome.SENT: 1}
    assert send(db, sink, UTC_NOW + timedelta(hours=1)) == {}
    (message,) = sink.taken
    assert message["Subject"] == "Supplies: 1 household to act for"
    assert "home: act today" in body_of(message)
    assert "Your supply plan: https://ebb.example/agency/ours\n" in body_of(message)
    assert "Household of the tests" not in body_of(message)
    assert send(db, sink, UTC_NOW + timedelta(days=1)) == {Outcome.SENT: 1}


def test_a_household_that_cannot_be_planned_keeps_nobody_else_waiting(
    db: Session,
    short: HouseholdAccess,
    people: dict[str, AccountRow],
    caplog: pytest.LogCaptureFixture,
) -> None:
    lone = enter_household(db, people["stranger"], "lone")
    save_choices(db, lone, WANTED, UTC_NOW)
    for row in db.exec(select(CatheterRow).where(CatheterRow.household_id == "home")):
        row.kit_code = "none"
    count_item_directly(db)
    sink = Sink()
    send(db, sink)
    assert {message["To"] for message in sink.taken} <= {"stranger@test.example"}
    assert "a household could not be planned" in caplog.text


def count_item_directly(db: Session) -> None:
    """Raise the version of the record without going through the services."""
    row = db.get(HouseholdRow, "home")
    assert row is not None
    row.input_version += 1
    db.commit()


def test_what_was_sent_long_ago_is_forgotten(db: Session, short: HouseholdAccess) -> None:
    send(db, Sink())
    save_choices(db, short, Choices(), UTC_NOW)
    send(db, Sink(), UTC_NOW + KEPT_FOR)
    assert states(db) == [OutboxState.SENT]
    send(db, Sink(), UTC_NOW + KEPT_FOR + timedelta(seconds=1))
    assert states(db) == []


def test_nothing_personal_is_logged_or_kept(
    db: Session, short: HouseholdAccess, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG, "ebbstock")
    with mail_server() as inbox:
        send(db, inbox.mailer)
    said = [record.getMessage() for record in caplog.records if record.name.startswith("ebbstock")]
    assert said == ["reminders: 1 sent"]
    (row,) = db.exec(select(OutboxRow))
    kept = " ".join(str(value) for value in row.model_dump().values())
    assert not re.search("cara|home|Order|Supplies", kept)
    assert not ABOUT_HEALTH.search(kept)
    assert db.exec(select(ReminderChoiceRow.account_id)).one() == short.account_id


def test_a_real_server_gets_the_message_once_across_a_refusal(
    db: Session, short: HouseholdAccess
) -> None:
    with mail_server() as inbox:
        first: Inbox = inbox
        first.answers = ["451 greylisted, try again"]
        assert send(db, first.mailer) == {Outcome.LATER: 1}
        assert send(db, first.mailer, UTC_NOW + timedelta(minutes=6)) == {Outcome.SENT: 1}
        assert send(db, first.mailer, UTC_NOW + timedelta(hours=6)) == {}
        (message,) = first.taken
    assert first.envelopes == [("supplies@clinic.example", ["cara@test.example"])]
    assert message["Subject"] == "Act on supplies today"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert knows_stop_link(db, stop_secret(message))
