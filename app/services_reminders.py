"""E-mail reminders: choices kept, messages sent once, links that stop them.

A message is claimed in the database before it is tried. Whoever claims it is alone with it,
and a try whose outcome never came back is not repeated.
"""

from __future__ import annotations

import logging
from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import delete, update
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, or_, select

from app import security
from app.access import AgencyAccess, HouseholdAccess, enter_agency, enter_household
from app.errors import NotFound
from app.mail import Mailer, Outcome, compose
from app.models import AccountRow
from app.models_reminders import OutboxRow, ReminderChoiceRow
from app.planning import plan_for, refresh_agency
from app.queries import DueFilter, due_page, household_record
from app.reminder_words import DIGEST_LINES, DigestLine, say
from app.reminders import (
    LOST_AFTER,
    Choices,
    DueFact,
    OutboxState,
    Posted,
    ReminderKind,
    decide,
    digest_fact,
    has_facts,
    household_facts,
    next_try,
)
from app.services_display import display_of
from planner.errors import PlannerError
from planner.results import Urgency

LOG = logging.getLogger("ebbstock.reminders")

KEPT_FOR = timedelta(days=400)
"""How long it is remembered that a message was sent."""

DIGEST_SECONDS = 600.0
"""Longest that a digest waits for an agency's plans; nobody sits in front of it. [s]"""

_ACTING = (Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON)
_COLUMNS = {
    ReminderKind.ORDER_BY: "order_by",
    ReminderKind.RISK: "risk",
    ReminderKind.DELIVERY_LATE: "delivery_late",
    ReminderKind.DIGEST: "digest",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """How messages leave.

    Attributes:
        mailer: tries one message.
        sender: address they come from.
        base_url: how people reach the pages.
    """

    mailer: Mailer
    sender: str
    base_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Claim:
    """One message taken for one try, with the secret of the link that stops messages."""

    row_id: int
    attempts: int
    secret: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Links:
    """Where a message leads; the plan needs a sign-in, stopping does not."""

    plan: str
    stop: str


def choices_of(db: Session, access: HouseholdAccess | AgencyAccess) -> Choices:
    """What the account wants to hear about a household or agency; nothing until it says so."""
    row = _find(db, access)
    return Choices(time_zone=access.time_zone) if row is None else _choices(row)


def save_choices(
    db: Session, access: HouseholdAccess | AgencyAccess, choices: Choices, now: datetime
) -> None:
    """Keep what the account wants to hear; the digest is an agency's, the rest a household's."""
    db.commit()
    row = _find(db, access) or ReminderChoiceRow(
        account_id=access.account_id,
        household_id=access.household_id if isinstance(access, HouseholdAccess) else None,
        agency_id=access.agency_id if isinstance(access, AgencyAccess) else None,
        quiet_from=choices.quiet_from,
        quiet_until=choices.quiet_until,
        time_zone=choices.time_zone,
        changed_at=now,
    )
    for kind, column in _COLUMNS.items():
        belongs = (kind is ReminderKind.DIGEST) == isinstance(access, AgencyAccess)
        setattr(row, column, belongs and kind in choices.wanted)
    row.quiet_from, row.quiet_until = choices.quiet_from, choices.quiet_until
    row.time_zone, row.detailed, row.changed_at = choices.time_zone, choices.detailed, now
    db.add(row)
    db.commit()


def knows_stop_link(db: Session, secret: str) -> bool:
    """Whether a link that stops messages is one of ours."""
    return _of_link(db, secret) is not None


def stop_by_link(db: Session, secret: str, now: datetime) -> None:
    """Stop all messages of the choice that a link came with; again changes nothing.

    Raises:
        NotFound: when the link is not one of ours.
    """
    db.commit()
    row = _of_link(db, secret)
    if row is None:
        raise NotFound
    for column in _COLUMNS.values():
        setattr(row, column, False)
    row.changed_at = now
    db.add(row)
    db.commit()


def remind(db: Session, post: Post, now: datetime) -> Counter[Outcome]:
    """Send what is due to everybody who wants it.

    Args:
        db: session; each step is committed by itself.
        post: how messages leave.
        now: present instant, aware.

    Returns:
        How many tries ended in which way.
    """
    wanted = or_(*(col(getattr(ReminderChoiceRow, name)).is_(True) for name in _COLUMNS.values()))
    ids = db.exec(select(ReminderChoiceRow.id).where(wanted).order_by(col(ReminderChoiceRow.id)))
    tally: Counter[Outcome] = Counter()
    for choice_id in ids.all():
        try:
            tally += _remind_one(db, post, choice_id or 0, now)
        except PlannerError as error:
            db.rollback()
            LOG.warning("a household could not be planned: %s", type(error).__name__)
    db.commit()
    db.exec(delete(OutboxRow).where(col(OutboxRow.changed_at) < now - KEPT_FOR))
    db.commit()
    if tally:
        LOG.info("reminders: %s", ", ".join(f"{count} {name}" for name, count in tally.items()))
    return tally


def _remind_one(db: Session, post: Post, choice_id: int, now: datetime) -> Counter[Outcome]:
    tally: Counter[Outcome] = Counter()
    db.commit()
    row = db.get(ReminderChoiceRow, choice_id, populate_existing=True)
    account = None if row is None else db.get(AccountRow, row.account_id, populate_existing=True)
    if row is None or account is None or _choices(row).is_quiet(now):
        return tally
    choices = _choices(row, display_of(db, row.account_id).language)
    try:
        facts = _facts(db, account, row, choices, now)
    except NotFound:
        facts = ()
    posted = _settle(db, choice_id, facts, now)
    for fact in decide(facts, posted, choices, now):
        claim = _claim(db, choice_id, fact, now)
        if claim is not None:
            links = _links(post, row, claim)
            outcome = _try(post, account, fact, links, choices.language, now)
            _note(db, claim, outcome, now)
            tally[outcome] += 1
    return tally


def _facts(
    db: Session, account: AccountRow, row: ReminderChoiceRow, choices: Choices, now: datetime
) -> tuple[DueFact, ...]:
    """What is to be told, as far as the account may still see it."""
    if row.household_id is None:
        return _digest(db, enter_agency(db, account, row.agency_id or ""), choices, now)
    access = enter_household(db, account, row.household_id)
    here = now.astimezone(ZoneInfo(access.time_zone)).replace(tzinfo=None)
    plan = plan_for(db, access.household_id, here).plan
    if not has_facts(plan, choices.wanted):
        return ()
    return household_facts(plan, household_record(db, access), choices)


def _digest(
    db: Session, access: AgencyAccess, choices: Choices, now: datetime
) -> tuple[DueFact, ...]:
    refresh_agency(db, access.agency_id, at_most_seconds=DIGEST_SECONDS)
    lines: list[DigestLine] = []
    total = 0
    for urgency in _ACTING:
        page = due_page(db, access, DueFilter(urgency=urgency, page_size=DIGEST_LINES))
        total += page.total
        for one in page.lines:
            name = f"{one.household_id} {one.name}" if choices.detailed else one.household_id
            day = None if urgency is Urgency.SHORT else one.order_by_on
            lines.append(DigestLine(reference=name, order_by_on=day))
    today = now.astimezone(ZoneInfo(access.time_zone)).date()
    return digest_fact(lines, total, today, choices)


def _settle(
    db: Session, choice_id: int, facts: tuple[DueFact, ...], now: datetime
) -> dict[str, Posted]:
    """What was tried before, once cut-off tries are closed and facts that passed are dropped.

    Each transaction here begins with a write, since SQLite lets no reader turn writer while
    another one writes.
    """
    db.commit()
    mine = col(OutboxRow.choice_id) == choice_id
    state = col(OutboxRow.state)
    lost = (state == OutboxState.SENDING, col(OutboxRow.changed_at) < now - LOST_AFTER)
    db.exec(update(OutboxRow).where(mine, *lost).values(state=OutboxState.UNSURE))
    passed = col(OutboxRow.fact_key).not_in([fact.key for fact in facts])
    db.exec(delete(OutboxRow).where(mine, state == OutboxState.WAITING, passed))
    db.commit()
    found = select(OutboxRow).where(mine).execution_options(populate_existing=True)
    rows = db.exec(found).all()
    db.commit()
    return {
        row.fact_key: Posted(state=OutboxState(row.state), next_try_at=row.next_try_at)
        for row in rows
    }


def _claim(db: Session, choice_id: int, fact: DueFact, now: datetime) -> _Claim | None:
    """Take a message for one try; None when another process has taken it."""
    fresh = security.new_secret()
    mine = (col(OutboxRow.choice_id) == choice_id, col(OutboxRow.fact_key) == fact.key)
    taken = db.exec(
        update(OutboxRow)
        .where(*mine, col(OutboxRow.state) == OutboxState.WAITING)
        .values(
            state=OutboxState.SENDING,
            attempts=col(OutboxRow.attempts) + 1,
            changed_at=now,
            stop_hash=fresh.secret_hash,
        )
    )
    if taken.rowcount == 0:
        db.add(
            OutboxRow(
                choice_id=choice_id,
                fact_key=fact.key,
                state=OutboxState.SENDING,
                attempts=1,
                next_try_at=now,
                changed_at=now,
                stop_hash=fresh.secret_hash,
            )
        )
    try:
        db.commit()
    except IntegrityError:
        db.rollback()
        return None
    row_id, attempts = db.exec(select(OutboxRow.id, OutboxRow.attempts).where(*mine)).one()
    db.commit()
    return _Claim(row_id=row_id or 0, attempts=attempts, secret=fresh.secret)


def _links(post: Post, row: ReminderChoiceRow, claim: _Claim) -> _Links:
    place = f"/agency/{row.agency_id}" if row.household_id is None else f"/h/{row.household_id}"
    return _Links(
        plan=f"{post.base_url}{place}", stop=f"{post.base_url}/reminders/stop/{claim.secret}"
    )


def _try(
    post: Post, account: AccountRow, fact: DueFact, links: _Links, language: str, now: datetime
) -> Outcome:
    last = (
        say("open", language, address=links.plan),
        say("stop", language, address=links.stop),
    )
    try:
        message = compose(
            sender=post.sender,
            to=account.email,
            subject=fact.text.subject,
            body="\n\n".join((fact.text.body, "\n".join(last))),
            message_id=f"<{security.new_key()}@{post.sender.partition('@')[2]}>",
            stop_address=links.stop,
            sent_at=now,
        )
    except ValueError:
        return Outcome.NEVER
    return post.mailer(message)


def _note(db: Session, claim: _Claim, outcome: Outcome, now: datetime) -> None:
    again = next_try(claim.attempts, now)
    state = {
        Outcome.SENT: OutboxState.SENT,
        Outcome.UNSURE: OutboxState.UNSURE,
        Outcome.NEVER: OutboxState.GIVEN_UP,
        Outcome.LATER: OutboxState.GIVEN_UP if again is None else OutboxState.WAITING,
    }[outcome]
    noted = update(OutboxRow).where(col(OutboxRow.id) == claim.row_id)
    db.exec(noted.values(state=state, next_try_at=again or now, changed_at=now))
    db.commit()


def _choices(row: ReminderChoiceRow, language: str = "en") -> Choices:
    return Choices(
        wanted=frozenset(kind for kind, name in _COLUMNS.items() if getattr(row, name)),
        quiet_from=row.quiet_from,
        quiet_until=row.quiet_until,
        time_zone=row.time_zone,
        detailed=row.detailed,
        language=language,
    )


def _find(db: Session, access: HouseholdAccess | AgencyAccess) -> ReminderChoiceRow | None:
    query = select(ReminderChoiceRow).where(ReminderChoiceRow.account_id == access.account_id)
    if isinstance(access, HouseholdAccess):
        query = query.where(ReminderChoiceRow.household_id == access.household_id)
    else:
        query = query.where(ReminderChoiceRow.agency_id == access.agency_id)
    return db.exec(query).first()


def _of_link(db: Session, secret: str) -> ReminderChoiceRow | None:
    return db.exec(
        select(ReminderChoiceRow)
        .join(OutboxRow, col(OutboxRow.choice_id) == ReminderChoiceRow.id)
        .where(OutboxRow.stop_hash == security.hash_secret(secret))
    ).first()
