"""The first record of a household, from the few answers that a plan cannot do without."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from app.access import Role
from app.convert import write_household
from app.errors import as_input
from app.messages import message
from app.models import AccountRow, HouseholdRow
from app.places import country_of
from app.services_accounts import add_member
from planner.household import Catheter, Household, Site
from planner.items import ItemKind, SupplyItem
from planner.ledger import Count, LedgerEntry
from planner.regimen import Regimen
from planner.supply import Contact, SupplierTerms

KIT, BOTTLE, CATHETER = "KIT", "BOTTLE", "1"

USUAL_BOTTLE_ML = 500
USUAL_KITS_PER_BOX = 10
USUAL_LEAD_BUSINESS_DAYS = 5
"""Counted with until somebody knows better; common practice, no source. Small
bottles and slow deliveries are on the safe side: the plan then warns early."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StartEntry:
    """What a person says when they begin. None means that they do not know.

    Attributes:
        role: what the person is to the household, patient or carer.
        regimen: what was prescribed.
        loose_bottles: vacuum bottles without dressing pack; 0 when they use none.
    """

    name: str
    time_zone: str
    role: Role
    site: Site
    regimen: Regimen
    bottle_ml: int | None = None
    kits: int | None = None
    loose_bottles: int = 0
    kits_per_box: int | None = None
    lead_business_days: int | None = None
    supplier_name: str = ""
    supplier_phone: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """A household that has begun.

    Attributes:
        assumed: codes of what was not known, for the list of what is to be checked.
    """

    household_id: str
    assumed: tuple[str, ...]


def start_household(
    db: Session, account: AccountRow, entry: StartEntry, *, submission: str, now: datetime
) -> Started:
    """Begin a household, with the account as its first member.

    Args:
        db: session; all of it is saved, or nothing.
        account: who begins it.
        entry: the answers.
        submission: the form's own random value; the same form begins one household only.
        now: present instant, aware.

    Raises:
        InvalidInput: fields of `StartEntry` and of the regimen.
    """
    started = Started(
        household_id=_key(account, submission),
        assumed=tuple(
            code
            for code, value in (
                ("size", entry.bottle_ml),
                ("count", entry.kits),
                ("box", entry.kits_per_box),
                ("lead", entry.lead_business_days),
            )
            if value is None
        ),
    )
    with as_input():
        local = now.astimezone(ZoneInfo(entry.time_zone)).replace(tzinfo=None)
        household = _household(started.household_id, entry, local)
    db.commit()
    try:
        if db.get(HouseholdRow, started.household_id) is None:
            write_household(db, household)
            add_member(db, account, household.id, entry.role)
        db.commit()
    except IntegrityError:
        # The same form came twice at the same moment; the other one has begun it.
        db.rollback()
    return started


def _key(account: AccountRow, submission: str) -> str:
    """An opaque id that is the same for the same form of the same person."""
    text = f"{account.id}:{account.created_at.isoformat()}:{submission}"
    return "h-" + hashlib.sha256(text.encode()).hexdigest()[:16]


def _household(key: str, entry: StartEntry, now: datetime) -> Household:
    bottle_ml = entry.bottle_ml or USUAL_BOTTLE_ML
    per_box = entry.kits_per_box or USUAL_KITS_PER_BOX
    items = [
        SupplyItem(
            code=KIT,
            name=message("start-kit").format(size=bottle_ml),
            kind=ItemKind.KIT,
            capacity_ml=bottle_ml,
            units_per_box=per_box,
        )
    ]
    counts: list[LedgerEntry] = []
    if entry.kits is not None:
        counts.append(Count(id="start-1", at=now, item_code=KIT, units=entry.kits))
    if entry.loose_bottles:
        items.append(
            SupplyItem(
                code=BOTTLE,
                name=message("start-bottle").format(size=bottle_ml),
                kind=ItemKind.BOTTLE,
                capacity_ml=bottle_ml,
                units_per_box=per_box,
            )
        )
        units = entry.loose_bottles
        counts.append(Count(id="start-2", at=now, item_code=BOTTLE, units=units))
    catheter = Catheter(
        id=CATHETER,
        label=message(f"site-{entry.site.value}").lower(),
        site=entry.site,
        regimens=(entry.regimen,),
        kit_code=KIT,
        bottle_code=BOTTLE if entry.loose_bottles else None,
    )
    return Household(
        id=key,
        name=entry.name,
        time_zone=entry.time_zone,
        items=tuple(items),
        catheters=(catheter,),
        supplier=_supplier(entry),
        ledger=tuple(counts),
    )


def _supplier(entry: StartEntry) -> SupplierTerms:
    name = entry.supplier_name or message("start-supplier")
    lead = entry.lead_business_days
    phone = entry.supplier_phone
    return SupplierTerms(
        name=name,
        lead_business_days=USUAL_LEAD_BUSINESS_DAYS if lead is None else lead,
        cut_off=time(12, 0),
        holiday_country=country_of(entry.time_zone),
        contact=Contact(name=name, phone=phone) if phone else None,
    )
