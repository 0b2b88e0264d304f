"""A lot called back, marked at once for all households of an agency that had it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select

from app import clock, queries
from app.access import AgencyAccess, Permission, enter_household
from app.db import columns
from app.errors import InvalidInput, NotFound
from app.models import AccountRow, HouseholdRow, LedgerRow
from app.models_shelf import LotRecallRow
from app.services_shelf import is_recalled
from app.writing import Change, Request, add_entries, save_each
from planner.errors import Fault, show
from planner.household import Household
from planner.ledger import Recall, Receipt, Reversal, WrongKept
from planner.stock import shelf_on

LATEST = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """One household's goods of a lot.

    Attributes:
        lot: as this household wrote it.
        units: units that are still there, in the travel bag as well. [units]
        marked: it is marked as recalled there already.
    """

    household_id: str
    lot: str
    units: int
    marked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundItem:
    """One item of which some household had goods of a lot."""

    item_code: str
    names: tuple[str, ...]
    holdings: tuple[Holding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedRecall:
    """A recall that was marked for many.

    Attributes:
        by: who marked it; empty when that account is gone.
        standing: households in which it was not taken back here.
    """

    batch: str
    lot: str
    by: str
    at: datetime
    households: int
    standing: int


def find_lot(db: Session, access: AgencyAccess, lot: str) -> tuple[FoundItem, ...]:
    """Households of an agency that ever had goods of a lot, by item.

    Capitals and spaces around it do not matter. One that has used them up counts as well, since
    some may turn up.

    Raises:
        InvalidInput: field `lot`, when it is empty or nobody had it.
    """
    typed = lot.strip()
    if not typed:
        raise InvalidInput([Fault(field="lot", value="empty", fix="write the lot on the notice")])
    wanted = (
        select(LedgerRow.household_id)
        .join(HouseholdRow, col(HouseholdRow.id) == LedgerRow.household_id)
        .where(HouseholdRow.agency_id == access.agency_id)
        .where(func.lower(LedgerRow.lot) == typed.lower())
        .distinct()
    )
    records = queries.records_of(db, access, db.exec(wanted).all())
    found: dict[str, list[tuple[str, Holding]]] = {}
    for key, record in records.items():
        for code, holding in _holdings(key, record, typed):
            found.setdefault(code, []).append((record.item(code).name, holding))
    if not found:
        fix = "no household of yours has had it; check the lot, letter by letter"
        raise InvalidInput([Fault(field="lot", value=show(typed), fix=fix)])
    return tuple(
        FoundItem(
            item_code=code,
            names=tuple(dict.fromkeys(name for name, _ in pairs)),
            holdings=tuple(holding for _, holding in pairs),
        )
        for code, pairs in sorted(found.items())
    )


def _holdings(key: str, record: Household, lot: str) -> Iterator[tuple[str, Holding]]:
    came = (one for one in record.valid_entries if isinstance(one, Receipt | WrongKept))
    had = dict.fromkeys((one.item_code, one.lot) for one in came if one.lot.lower() == lot.lower())
    here = shelf_on(record, clock.today_in(record.time_zone)).lots
    for code, spelled in had:
        units = sum(one.units for one in here if (one.item_code, one.lot) == (code, spelled))
        marked = is_recalled(record, code, spelled)
        yield code, Holding(household_id=key, lot=spelled, units=units, marked=marked)


def recall_for_all(
    db: Session,
    account: AccountRow,
    access: AgencyAccess,
    *,
    lot: str,
    item_codes: Collection[str],
    batch: str,
) -> None:
    """Mark a lot as called back in every household of an agency that had it, or in none.

    The entry in each household says who made it and when. One that has it marked already is
    left as it is.

    Args:
        db: session.
        account: the coordinator.
        access: their way into the agency.
        lot: the lot.
        item_codes: the items that are meant.
        batch: random name of the form; the same form is saved once only.

    Raises:
        InvalidInput: fields `lot`, `items`.
    """
    same = select(LotRecallRow.id).where(
        LotRecallRow.agency_id == access.agency_id, LotRecallRow.batch == batch
    )
    if db.exec(same).first() is not None:
        return
    wanted: dict[str, list[tuple[str, str]]] = {}
    for item in find_lot(db, access, lot):
        if item.item_code in item_codes:
            for one in item.holdings:
                if not one.marked:
                    wanted.setdefault(one.household_id, []).append((item.item_code, one.lot))
    if not wanted:
        fix = "choose at least one that is not marked yet"
        raise InvalidInput([Fault(field="items", value="empty", fix=fix)])

    def action(change: Change) -> None:
        for n, (code, spelled) in enumerate(wanted[change.household.id], 1):
            recall = Recall(id=change.key(n), at=change.now, item_code=code, lot=spelled)
            add_entries(change, (recall,))
            change.db.add(
                LotRecallRow(
                    household_id=change.household.id,
                    agency_id=access.agency_id,
                    batch=batch,
                    item_code=code,
                    lot=spelled,
                    entry_key=recall.id,
                    recalled_by=account.id,
                    recalled_at=change.recorded_at,
                )
            )

    save_each(_requests(db, account, wanted), Permission.RECORD, action)


def take_recall_back(db: Session, account: AccountRow, access: AgencyAccess, batch: str) -> None:
    """Take a recall back in every household in which it still stands, or in none.

    Raises:
        NotFound: when the agency has made no such recall, or it was taken back already.
    """
    rows = db.exec(
        select(LotRecallRow)
        .where(LotRecallRow.agency_id == access.agency_id, LotRecallRow.batch == batch)
        .where(col(LotRecallRow.taken_back_at).is_(None))
    ).all()
    keys: dict[str, list[str]] = {}
    for row in rows:
        keys.setdefault(row.household_id, []).append(row.entry_key)
    if not keys:
        raise NotFound

    def action(change: Change) -> None:
        gone = change.household.taken_back_ids
        known = {one.id for one in change.household.ledger}
        standing = [key for key in keys[change.household.id] if key in known - gone]
        add_entries(
            change,
            [
                Reversal(id=change.key(n), at=change.now, reverses_id=key)
                for n, key in enumerate(standing, 1)
            ],
        )
        mine = [row for row in rows if row.household_id == change.household.id]
        for row in mine:
            row.taken_back_by, row.taken_back_at = account.id, change.recorded_at
            change.db.add(row)

    save_each(_requests(db, account, keys), Permission.RECORD, action)


def _requests(db: Session, account: AccountRow, household_ids: Iterable[str]) -> Iterator[Request]:
    """A request for each household that the account may still enter."""
    for key in household_ids:
        try:
            way_in = enter_household(db, account, key, Permission.RECORD)
        except NotFound:
            continue  # it has left the agency since
        yield Request(db=db, access=way_in, now=clock.now_in(way_in.time_zone))


def marked_recalls(db: Session, access: AgencyAccess) -> tuple[MarkedRecall, ...]:
    """The latest recalls that were marked for many, the newest first."""
    recall, account = columns(LotRecallRow), columns(AccountRow)
    rows = db.execute(
        select_columns(
            recall.batch,
            func.min(recall.lot),
            func.min(account.name),
            func.min(recall.id),
            func.count(func.distinct(recall.household_id)),
            func.count(recall.id) - func.count(recall.taken_back_at),
        )
        .select_from(LotRecallRow)
        .join(AccountRow, account.id == recall.recalled_by, isouter=True)
        .where(recall.agency_id == access.agency_id)
        .group_by(recall.batch)
        .order_by(func.min(recall.id).desc())
        .limit(LATEST)
    ).all()
    return tuple(
        MarkedRecall(
            batch=batch,
            lot=lot,
            by=by or "",
            at=db.get_one(LotRecallRow, first).recalled_at,
            households=households,
            standing=standing,
        )
        for batch, lot, by, first, households, standing in rows
    )
