"""Calendars, reminders and invites speak the language of the person whose they are."""

from __future__ import annotations

import re
from collections.abc import Mapping
from string import Formatter

import pytest
from sqlmodel import Session

from app import feed_words, invite_mail, reminder_words
from app.access import HouseholdAccess
from app.display import Display
from app.feed_answer import answer_order_day, answer_reader
from app.feed_words import FeedForm
from app.german.messages_out import FEED, INVITES, REMINDERS
from app.invite_mail import send_invite
from app.reminders import ReminderKind
from app.services import count_item
from app.services_display import choose_display
from app.services_feeds import make_feed_address
from app.services_reminders import Post, remind, save_choices
from app.writing import Request
from planner.results import Plan
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.feed_builders import entries_of, events_of, make_facts, open_delivery, short_plan
from tests.app.reminder_builders import Sink, body_of
from tests.app.test_services_reminders import choose

GERMAN = Display(language="de")
ABOUT_HEALTH = re.compile(
    r"ableit|drain|katheter|schlauch|brust|bauch|flüssig|flasche|vakuum|\bsets?\b|\bml\b|liter"
    r"|sitzung|patient|behandlung|klinik|pflege|ärzt|arzt|krank|steril|verband|gesund",
    re.IGNORECASE,
)
ADVICE = re.compile(
    r"streck|auslassen|seltener|öfter|häufiger|weniger|länger warten|sparen|aufschieben",
    re.IGNORECASE,
)
ENGLISH_WORDS = re.compile(r"\b(?:the|and|of|you|your|supplies|order|this|with)\b", re.IGNORECASE)


@pytest.fixture
def german(db: Session, carer: HouseholdAccess) -> HouseholdAccess:
    """A carer who reads German, with one kit on the shelf."""
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=1, at=NOW)
    choose_display(db, carer.account_id, GERMAN)
    return carer


def names_in(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("module", [feed_words, reminder_words, invite_mail])
def test_german_has_every_sentence_with_the_same_facts(module: object) -> None:
    catalogue: Mapping[str, Mapping[str, str]] = module.CATALOGUE  # type: ignore[attr-defined]
    english, german = catalogue["en"], catalogue["de"]
    assert english.keys() == german.keys()
    assert [code for code in english if names_in(english[code]) != names_in(german[code])] == []
    same = {code for code in english if english[code] == german[code]}
    assert same <= {"use-first.line-without-lot"}


def test_no_plain_sentence_in_german_is_about_health_or_advises() -> None:
    said = FEED | REMINDERS | INVITES
    assert not [text for text in said.values() if ABOUT_HEALTH.search(text) or ADVICE.search(text)]


@pytest.mark.parametrize("detailed", [False, True])
@pytest.mark.parametrize(
    "plan", [make_facts(), make_facts(next_delivery=open_delivery()), short_plan()]
)
def test_entries_in_german_end_with_the_caution(plan: Plan, *, detailed: bool) -> None:
    entries = entries_of(plan, FeedForm(detailed=detailed, language="de"))
    assert len(entries) > 3
    for entry in entries.values():
        assert entry.description.endswith("Halten Sie sich an Ihren eigenen Plan.")
        assert not ADVICE.search(entry.description)
        assert not ENGLISH_WORDS.search(re.sub(r"Larkmoor order desk", "", entry.description))


def test_a_calendar_follows_its_person(db: Session, german: HouseholdAccess) -> None:
    secret = make_feed_address(db, german, detailed=False, now=UTC_NOW)
    feed = answer_reader(db, secret, UTC_NOW).body
    assert b"X-WR-CALNAME:Material\r\n" in feed
    said = {str(event["SUMMARY"]) for event in events_of(feed)}
    assert {"Materialkalender eingerichtet", "Material zu Hause zählen"} <= said
    one = answer_order_day(db, german, UTC_NOW)
    assert {str(event["SUMMARY"]) for event in events_of(one)} == {"Bis heute Material bestellen"}


def test_a_change_of_language_is_a_change_of_each_entry(
    db: Session, german: HouseholdAccess
) -> None:
    secret = make_feed_address(db, german, detailed=False, now=UTC_NOW)
    before = {str(one["UID"]): one["SEQUENCE"] for one in events_of_feed(db, secret)}
    choose_display(db, german.account_id, Display())
    after = {str(one["UID"]): one["SEQUENCE"] for one in events_of_feed(db, secret)}
    assert after == {uid: sequence + 1 for uid, sequence in before.items()}


def events_of_feed(db: Session, secret: str) -> list[dict[str, int]]:
    return list(events_of(answer_reader(db, secret, UTC_NOW).body))


def test_reminders_follow_their_person(db: Session, german: HouseholdAccess) -> None:
    save_choices(db, german, choose(*ReminderKind), UTC_NOW)
    sink = Sink()
    post = Post(mailer=sink, sender="supplies@clinic.example", base_url="https://ebb.example")
    remind(db, post, UTC_NOW)
    assert sink.subjects == ["Heute wegen des Materials handeln"]
    body = body_of(sink.taken[0])
    assert "bitten Sie um eine Eillieferung." in body
    assert "Ihr Materialplan: https://ebb.example/h/home\n" in body
    assert "Keine solchen Nachrichten mehr: https://ebb.example/reminders/stop/" in body
    assert not ENGLISH_WORDS.search(re.sub(r"https://\S+", "", body))


def test_an_invite_is_in_the_language_of_whoever_invites() -> None:
    sink = Sink()
    post = Post(mailer=sink, sender="supplies@clinic.example", base_url="https://ebb.example")
    send_invite(
        post, to="ann@x.example", inviter="Cara", address="https://a", now=UTC_NOW, language="de"
    )
    assert sink.subjects == ["Sie sind eingeladen"]
    assert body_of(sink.taken[0]).startswith("Cara lädt Sie ein")
