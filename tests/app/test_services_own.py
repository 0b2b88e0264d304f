"""One's own account: name, password, devices, deletion."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import Session, SQLModel, select

from app import security
from app.access import HouseholdAccess, Role, enter_agency, enter_household
from app.errors import InvalidInput, NotFound, Throttled
from app.models import (
    AccountRow,
    CoordinatorRow,
    DrainSessionRow,
    FeedRow,
    LedgerRow,
    LoginRow,
    MembershipRow,
)
from app.models_links import OneTimeLinkRow
from app.queries import open_feed, recorded_by
from app.reminders import Choices, ReminderKind
from app.services import count_item, record_session
from app.services_accounts import account_of_login, create_account, open_login, sign_in
from app.services_feeds import make_feed_address
from app.services_links import LinkGone, invite, make_password_link
from app.services_members import LastManager
from app.services_own import (
    calendars_of,
    change_name,
    change_password,
    delete_account,
    devices_of,
    end_all_devices,
    end_device,
    references_to_accounts,
    set_password_by_link,
)
from app.services_reminders import save_choices
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.test_services_record import SESSION

People = dict[str, AccountRow]

OLD, NEW = "a long enough one", "another long one"
HERE = "192.0.2.7"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    from argon2 import PasswordHasher

    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(security, "_hasher", cheap)


@pytest.fixture
def ann(db: Session) -> AccountRow:
    made = create_account(db, email="ann@test.example", name="Ann", password=OLD, now=UTC_NOW)
    db.commit()
    return made


def enter(db: Session, password: str = OLD, device: str = "") -> str:
    return sign_in(
        db,
        email="ann@test.example",
        password=password,
        address=HERE,
        now=UTC_NOW,
        device=device,
    )


def change(db: Session, account: AccountRow, secret: str, old: str, new: str) -> None:
    change_password(db, account, old=old, new=new, secret=secret, address=HERE, now=UTC_NOW)


def test_a_name_is_changed(db: Session, ann: AccountRow) -> None:
    change_name(db, ann, "  Anna ")
    assert db.get_one(AccountRow, ann.id, populate_existing=True).name == "Anna"
    with pytest.raises(InvalidInput, match="name is empty"):
        change_name(db, ann, " ")


def test_a_new_password_ends_other_sign_ins_and_keeps_this_one(
    db: Session, ann: AccountRow
) -> None:
    here, other = enter(db), enter(db)
    change(db, ann, here, OLD, NEW)
    assert account_of_login(db, here, UTC_NOW) is not None
    assert account_of_login(db, other, UTC_NOW) is None
    assert enter(db, NEW)
    with pytest.raises(InvalidInput):
        change(db, ann, here, OLD, NEW)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("wrong", NEW, "old_password is not right: write the password with which you sign in."),
        (OLD, "short", "new_password is 5 characters long: use 9 to 256 characters."),
        (OLD, "p" * 257, "new_password is 257 characters long: use 9 to 256 characters."),
    ],
)
def test_a_bad_change_of_password_changes_nothing(
    old: str, new: str, sentence: str, db: Session, ann: AccountRow
) -> None:
    here, other = enter(db), enter(db)
    with pytest.raises(InvalidInput) as refusal:
        change(db, ann, here, old, new)
    assert str(refusal.value) == sentence
    assert enter(db)
    assert account_of_login(db, other, UTC_NOW) is not None


def test_passwords_cannot_be_tried_out_on_the_account_page(db: Session, ann: AccountRow) -> None:
    here = enter(db)
    for _ in range(security.ATTEMPTS_PER_WINDOW):
        with pytest.raises(InvalidInput):
            change(db, ann, here, "wrong", NEW)
    with pytest.raises(Throttled):
        change(db, ann, here, OLD, NEW)


def test_devices_are_listed_without_their_secrets(db: Session, ann: AccountRow) -> None:
    phone, here = enter(db, device="phone"), enter(db, device="computer")
    listed = devices_of(db, ann, here, UTC_NOW)
    assert [(one.kind, one.is_this) for one in listed] == [("computer", True), ("phone", False)]
    shown = str(listed)
    for secret in (phone, here):
        assert secret not in shown
        assert security.hash_secret(secret) not in shown


@pytest.mark.parametrize(
    ("agent", "kind"),
    [
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Mobile/15E148", "phone"),
        ("Mozilla/5.0 (Linux; Android 15) Chrome/140.0 Mobile Safari/537.36", "phone"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101", "computer"),
        ("python-httpx/0.28", ""),
        ("", ""),
    ],
)
def test_only_a_rough_kind_of_device_is_kept(agent: str, kind: str) -> None:
    assert security.device_kind(agent) == kind


def test_old_and_ended_sign_ins_are_not_listed(db: Session, ann: AccountRow) -> None:
    here = enter(db)
    assert len(devices_of(db, ann, here, UTC_NOW + security.IDLE_LIMIT)) == 1
    assert devices_of(db, ann, here, UTC_NOW + security.IDLE_LIMIT + timedelta(hours=1)) == ()
    end_all_devices(db, ann, UTC_NOW)
    assert devices_of(db, ann, here, UTC_NOW) == ()


def test_one_device_is_signed_out(db: Session, ann: AccountRow, people: People) -> None:
    here, other = enter(db), enter(db)
    theirs = open_login(db, people["cara"], UTC_NOW)
    keys = {one.is_this: one.key for one in devices_of(db, ann, here, UTC_NOW)}
    (foreign,) = devices_of(db, people["cara"], theirs, UTC_NOW)
    for key in (keys[False], foreign.key, "nonsense", ""):
        end_device(db, ann, key, UTC_NOW)
    assert account_of_login(db, other, UTC_NOW) is None
    assert account_of_login(db, here, UTC_NOW) is not None
    assert account_of_login(db, theirs, UTC_NOW) is not None


def test_signing_out_everywhere_leaves_calendars_alone(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    secrets = [open_login(db, people["cara"], UTC_NOW) for _ in range(3)]
    other = open_login(db, people["pat"], UTC_NOW)
    feed = make_feed_address(db, carer, detailed=False, now=UTC_NOW)
    end_all_devices(db, people["cara"], UTC_NOW)
    assert [account_of_login(db, one, UTC_NOW) for one in secrets] == [None, None, None]
    assert account_of_login(db, other, UTC_NOW) is not None
    assert open_feed(db, feed) is not None
    (listed,) = calendars_of(db, people["cara"])
    assert (listed.name, listed.household_id) == ("Household of the tests", "home")
    agency = enter_agency(db, people["cody"], "ours")
    make_feed_address(db, agency, detailed=False, now=UTC_NOW)
    (of_agency,) = calendars_of(db, people["cody"])
    assert (of_agency.name, of_agency.agency_id) == ("Ours", "ours")


def test_a_lost_password_is_set_by_a_link_once(db: Session, ann: AccountRow) -> None:
    here = enter(db)
    first = make_password_link(db, ann, UTC_NOW)
    secret = make_password_link(db, ann, UTC_NOW)
    db.commit()
    with pytest.raises(LinkGone):
        set_password_by_link(db, first, NEW, UTC_NOW)
    with pytest.raises(InvalidInput, match="password is 5 characters long"):
        set_password_by_link(db, secret, "short", UTC_NOW)
    set_password_by_link(db, secret, NEW, UTC_NOW)
    assert account_of_login(db, here, UTC_NOW) is None
    assert enter(db, NEW)
    with pytest.raises(LinkGone):
        set_password_by_link(db, secret, OLD, UTC_NOW)


def test_an_invite_sets_no_password(db: Session, carer: HouseholdAccess) -> None:
    secret = invite(db, carer, role=Role.VIEWER, note="", now=UTC_NOW)
    with pytest.raises(LinkGone):
        set_password_by_link(db, secret, NEW, UTC_NOW)


# Deleting.


def settle(db: Session, access: HouseholdAccess) -> str:
    """Let a person leave traces everywhere: a session, a count, calendar, reminders, an invite."""
    key = record_session(Request(db=db, access=access, now=NOW), SESSION).key
    count_item(Request(db=db, access=access, now=NOW), item_code=KIT, units=9, at=NOW)
    make_feed_address(db, access, detailed=False, now=UTC_NOW)
    save_choices(
        db, access, Choices(time_zone="UTC", wanted=frozenset({ReminderKind.RISK})), UTC_NOW
    )
    invite(db, access, role=Role.CARER, note="", now=UTC_NOW)
    return key


def test_an_account_goes_with_everything_of_its_own_and_the_record_stays(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    key = settle(db, carer)
    open_login(db, people["cara"], UTC_NOW)
    make_password_link(db, people["cara"], UTC_NOW)
    db.commit()
    gone = carer.account_id
    delete_account(db, people["cara"])
    for column in references_to_accounts():
        assert gone not in db.execute(select(column)).scalars().all(), column
    assert db.get(AccountRow, gone) is None
    assert db.exec(select(OneTimeLinkRow)).all() == []
    assert db.exec(select(FeedRow)).all() == []
    sessions = select(DrainSessionRow.key).where(DrainSessionRow.household_id == "home")
    assert key in db.exec(sessions).all()
    counted = select(LedgerRow).where(LedgerRow.units == 9)
    assert db.exec(counted).one().recorded_by is None
    assert recorded_by(db, enter_household(db, people["pat"], "home")) == {}


def test_every_reference_to_an_account_is_known(db: Session) -> None:
    known = {f"{one.table.name}.{one.name}" for one in references_to_accounts()}
    assert {"login.account_id", "membership.account_id", "ledger.recorded_by"} <= known
    named = {
        f"{table.name}.{column.name}"
        for table in SQLModel.metadata.tables.values()
        for column in table.columns
        if column.name.endswith(("account_id", "recorded_by", "made_by"))
    }
    assert named <= known


def test_others_keep_everything(db: Session, carer: HouseholdAccess, people: People) -> None:
    patient = enter_household(db, people["pat"], "home")
    settle(db, patient)
    secret = open_login(db, people["pat"], UTC_NOW)
    db.commit()
    delete_account(db, people["cara"])
    assert account_of_login(db, secret, UTC_NOW) is not None
    assert len(db.exec(select(FeedRow)).all()) == 1
    assert len(db.exec(select(OneTimeLinkRow)).all()) == 1
    assert enter_household(db, people["vic"], "home").role is Role.VIEWER


@pytest.mark.parametrize(
    ("who", "name"), [("stranger", "Household of the tests"), ("cody", "Ours")]
)
def test_the_last_in_charge_stays(who: str, name: str, db: Session, people: People) -> None:
    secret = open_login(db, people[who], UTC_NOW)
    db.commit()
    with pytest.raises(LastManager, match=f"You are the only one in charge of {name}. Nothing"):
        delete_account(db, people[who])
    assert account_of_login(db, secret, UTC_NOW) is not None
    tables = (MembershipRow, CoordinatorRow)
    kept = [one for table in tables for one in db.exec(select(table.account_id)).all()]
    assert people[who].id in kept


def test_a_deleted_person_is_nobody_afterwards(db: Session, people: People) -> None:
    vic = people["vic"]
    db.add(
        LoginRow(
            token_hash="x" * 64, account_id=vic.id or 0, created_at=UTC_NOW, last_seen_at=UTC_NOW
        )
    )
    db.commit()
    delete_account(db, vic)
    with pytest.raises(NotFound):
        enter_household(db, vic, "home")
    assert db.exec(select(LoginRow)).all() == []
