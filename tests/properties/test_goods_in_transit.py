"""Whatever happens to orders, no goods are lost on the way and none are there twice.

Every step goes through the services that the pages use. Beside them a simple account is kept:
what was ordered, what came and stands, and whether more may come.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from app.access import Role, enter_household
from app.convert import read_household, write_household
from app.db import create_tables, open_engine, open_session
from app.errors import InvalidInput
from app.models import AccountRow
from app.services import DeliveryEntry, DeliveryLine, receive_delivery, undo
from app.services_accounts import add_member
from app.services_orders import (
    OrderConfirmation,
    StepEntry,
    confirm_order,
    last_step_number,
    move_order,
    undo_order_step,
    waiting_order,
)
from app.writing import Request
from planner.delivery import SupplierCalendar
from planner.household import Household
from planner.ledger import Receipt
from planner.runout import coming_orders
from planner.stock import shelf_on
from planner.supply import Order
from tests.app.data_builders import KIT, NOW, TODAY, UTC_NOW, make_household

PER_BOX = 10
KINDS = ("placed", "acknowledged", "on-its-way", "received", "cancelled")


@dataclass
class Account:
    """One order as a person would keep it: may more come, and how it got there."""

    ordered: int
    may_come: bool = False
    earlier: list[bool] = field(default_factory=list)
    is_tangled: bool = False

    def now(self, *, may_come: bool) -> None:
        self.earlier.append(self.may_come)
        self.may_come = may_come


class OrderLife(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.engine = open_engine("sqlite:///:memory:")
        create_tables(self.engine)
        self.db = open_session(self.engine)
        write_household(self.db, make_household(orders=(), sessions=(), ledger=()))
        account = AccountRow(
            email="c@test.example", name="c", password_hash="-", created_at=UTC_NOW
        )
        self.db.add(account)
        self.db.flush()
        add_member(self.db, account, "home", Role.CARER)
        self.db.commit()
        self.ask = Request(db=self.db, access=enter_household(self.db, account, "home"), now=NOW)
        self.accounts: dict[str, Account] = {}
        self.seen: Household | None = None

    def teardown(self) -> None:
        self.db.close()
        self.engine.dispose()

    @property
    def home(self) -> Household:
        """The record as it stands, read once after each step."""
        if self.seen is None:
            self.seen = read_household(self.db, "home")
        assert self.seen is not None
        return self.seen

    @initialize(boxes=st.integers(1, 3))
    def place_one(self, boxes: int) -> None:
        self.confirm(boxes, is_placed=True)

    def tick(self) -> Request:
        self.seen = None
        self.ask = replace(self.ask, now=self.ask.now + timedelta(seconds=1))
        return self.ask

    def pick(self, data: st.DataObject) -> Order:
        return data.draw(st.sampled_from(self.home.orders))

    def receipts(self) -> list[Receipt]:
        return [one for one in self.home.valid_entries if isinstance(one, Receipt)]

    @precondition(lambda self: len(self.accounts) < 2)
    @rule(boxes=st.integers(1, 3), is_placed=st.booleans())
    def confirm(self, boxes: int, is_placed: bool) -> None:
        waits = waiting_order(self.home) is not None
        version = self.ask.db.connection().exec_driver_sql(
            "SELECT input_version FROM household WHERE id = 'home'"
        )
        wanted = OrderConfirmation(
            lines=((KIT, boxes),),
            confirmed_by="Cara",
            said_yes=True,
            answer="Yes.",
            input_version=int(version.scalar_one()),
            is_placed=is_placed,
        )
        try:
            key = confirm_order(self.tick(), wanted).key
        except InvalidInput:
            assert waits
            return
        assert not waits
        self.accounts[key] = Account(ordered=boxes * PER_BOX)
        if is_placed:
            self.accounts[key].now(may_come=True)

    @precondition(lambda self: self.accounts)
    @rule(data=st.data(), kind=st.sampled_from(KINDS))
    def step(self, data: st.DataObject, kind: str) -> None:
        order = self.pick(data)
        try:
            move_order(self.tick(), order.id, StepEntry(kind=kind, on=TODAY))
        except InvalidInput:
            return
        self.accounts[order.id].now(may_come=kind not in ("received", "cancelled"))

    @precondition(lambda self: self.has_open_orders())
    @rule(data=st.data(), units=st.integers(1, 25), lines=st.integers(1, 2))
    def receive_the_last(self, data: st.DataObject, units: int, lines: int) -> None:
        self.receive(data, units, complete=True, lines=lines)

    @precondition(lambda self: self.has_open_orders())
    @rule(data=st.data(), units=st.integers(1, 25), lines=st.integers(1, 2))
    def receive_a_part(self, data: st.DataObject, units: int, lines: int) -> None:
        self.receive(data, units, complete=False, lines=lines)

    def has_open_orders(self) -> bool:
        return any(one.is_open for one in self.home.orders)

    def receive(self, data: st.DataObject, units: int, *, complete: bool, lines: int) -> None:
        order = self.pick(data)
        request = self.tick()
        # Lots differ, since goods that look the same are asked about.
        goods = tuple(
            DeliveryLine(item_code=KIT, units=units, lot=f"{request.now:%H%M%S}-{n}")
            for n in range(lines)
        )
        delivery = DeliveryEntry(
            received_at=request.now,
            lines=goods,
            order_id=order.id,
            is_complete=complete,
            came_in_excess=True,
        )
        account = self.accounts[order.id]
        try:
            receive_delivery(request, delivery)
        except InvalidInput:
            assert not account.may_come or account.is_tangled
            return
        account.now(may_come=not complete)

    @precondition(lambda self: self.receipts())
    @rule(data=st.data())
    def take_a_receipt_back(self, data: st.DataObject) -> None:
        receipt = data.draw(st.sampled_from(self.receipts()))
        assert receipt.order_id is not None
        undo(self.tick(), receipt.id)
        # From here on the last step is no longer simply the one before.
        self.accounts[receipt.order_id].is_tangled = True
        order = next(one for one in self.home.orders if one.id == receipt.order_id)
        assert order.is_open

    @precondition(lambda self: any(len(one.steps) > 1 for one in self.home.orders))
    @rule(data=st.data())
    def undo_last(self, data: st.DataObject) -> None:
        order = self.pick(data)
        number = last_step_number(order, self.home)
        account = self.accounts[order.id]
        try:
            undo_order_step(self.tick(), order.id, number)
        except InvalidInput:
            assert not account.earlier or account.is_tangled
            return
        if account.earlier:
            account.may_come = account.earlier.pop()

    @invariant()
    def nothing_is_lost_or_doubled(self) -> None:
        home = self.home
        today = self.ask.now.date()
        coming = {
            one.order.id: one.units
            for one in coming_orders(home, SupplierCalendar(home.supplier), today)
        }
        came = dict.fromkeys(self.accounts, 0)
        for one in self.receipts():
            assert one.order_id is not None
            came[one.order_id] += one.units
        assert shelf_on(home, today).usable_units(KIT) == sum(came.values())
        for order in home.orders:
            account = self.accounts[order.id]
            left = max(account.ordered - came[order.id], 0)
            expected = {KIT: left} if order.is_open and left else {}
            assert coming.get(order.id, {}) == expected
            if not account.is_tangled:
                assert order.is_open == account.may_come


OrderLife.TestCase.settings = settings(max_examples=20, stateful_step_count=8, deadline=None)
test_order_life = OrderLife.TestCase
