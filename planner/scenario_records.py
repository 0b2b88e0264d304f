"""The records in a scenario file: sessions, the shelf's ledger, orders.

Records without an id are numbered in the order of the file: s1, s2, ... for sessions, r1 for
receipts, and so on.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import time
from typing import TypeVar

from planner.ledger import (
    Count,
    Departure,
    DifferenceCause,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.order_steps import OrderStep
from planner.scenario_fields import Table
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.supply import Order, OrderLine, OrderStatus

Record = TypeVar("Record")

MORNING = time(0)
NOON = time(12)
EVENING = time(23, 59)

FILE_TABLES: dict[type[LedgerEntry], str] = {
    Receipt: "receipts",
    Waste: "waste",
    Count: "counts",
    Recall: "recalls",
    Departure: "departures",
    Transfer: "transfers",
    WrongDelivery: "wrong_deliveries",
    WrongReturn: "wrong_returns",
    WrongKept: "wrong_kept",
    Reversal: "reversals",
}
"""The file's table for each kind of ledger entry."""


def read_sessions(own: Table, only_catheter: str | None) -> tuple[Session, ...]:
    """Every session.

    Args:
        own: the household's table.
        only_catheter: the catheter that a session without one belongs to; None when there
            are several, so that each session has to name its own.
    """

    def session(table: Table, number: int) -> Session | None:
        return table.build(
            lambda: Session(
                id=table.text("id", f"s{number}"),
                catheter_id=_catheter_id(table, only_catheter),
                started_at=table.moment("at", NOON),
                bottles=_bottles(table),
                stop_reason=table.choice("stop", StopReason, StopReason.NOT_SAID),
            )
        )

    return _numbered(own, "sessions", session)


def _catheter_id(table: Table, only_catheter: str | None) -> str:
    return (
        table.text("catheter") if only_catheter is None else table.text("catheter", only_catheter)
    )


def _bottles(table: Table) -> tuple[BottleUse, ...]:
    """Volumes alone in `ml`, or whole bottles in `bottles`."""
    has_volumes, has_bottles = table.has("ml"), table.has("bottles")
    if has_volumes == has_bottles:
        value = "written twice" if has_volumes else "missing"
        table.note("ml", value, "list the volume of each bottle, as ml = [480, 130] or as bottles")
        return (BottleUse(volume_ml=0),)
    if has_bottles:
        return table.each("bottles", _bottle)
    volumes = table.values("ml", int, "whole numbers")
    return tuple(
        bottle
        for n, volume in enumerate(volumes, 1)
        if (bottle := _bottle(table.stand_in(f"bottles[{n}]", {"ml": volume}))) is not None
    )


def _bottle(table: Table) -> BottleUse | None:
    return table.build(
        lambda: BottleUse(
            volume_ml=table.whole("ml"),
            item_code=table.text("item", None),
            loss=table.choice("lost", LossReason, None),
        )
    )


def read_orders(own: Table) -> tuple[Order, ...]:
    """Every order."""

    def order(table: Table, number: int) -> Order | None:
        return table.build(
            lambda: Order(
                id=table.text("id", f"o{number}"),
                placed_at=table.moment("placed_at", MORNING),
                lines=table.each("lines", _line),
                status=table.choice("status", OrderStatus, OrderStatus.PLACED),
                promised_on=table.day("promised_on", None),
                received_on=table.day("received_on", None),
                confirmed_by=table.text("confirmed_by", ""),
                is_express=table.flag("express"),
                steps=table.each("steps", _order_step),
            )
        )

    return _numbered(own, "orders", order)


def _order_step(table: Table) -> OrderStep | None:
    return table.build(
        lambda: OrderStep(
            kind=table.choice("kind", OrderStatus),
            at=table.moment("at", MORNING),
            by=table.text("by", ""),
            expected_on=table.day("expected_on", None),
            note=table.text("note", ""),
            delivery=table.text("delivery", ""),
            taken_back_at=table.moment("taken_back_at", NOON)
            if table.has("taken_back_at")
            else None,
            taken_back_by=table.text("taken_back_by", ""),
        )
    )


def _line(table: Table) -> OrderLine | None:
    return table.build(lambda: OrderLine(item_code=table.text("item"), boxes=table.whole("boxes")))


def read_ledger(own: Table) -> tuple[LedgerEntry, ...]:
    """Every entry of the shelf's ledger, kind by kind as the file groups them."""
    return (
        *_numbered(own, "receipts", _receipt),
        *_numbered(own, "waste", _waste),
        *_numbered(own, "counts", _count),
        *_numbered(own, "recalls", _recall),
        *_numbered(own, "departures", _departure),
        *_numbered(own, "transfers", _transfer),
        *_numbered(own, "wrong_deliveries", _wrong_delivery),
        *_numbered(own, "wrong_returns", _wrong_return),
        *_numbered(own, "wrong_kept", _wrong_kept),
        *_numbered(own, "reversals", _reversal),
    )


def place_in_file(ledger: tuple[LedgerEntry, ...], number: int) -> str:
    """Where the file holds the ledger entry with this number, counted from 1."""
    kind = type(ledger[number - 1])
    same = sum(isinstance(entry, kind) for entry in ledger[:number])
    return f"{FILE_TABLES[kind]}[{same}]"


def _receipt(table: Table, number: int) -> Receipt | None:
    return table.build(
        lambda: Receipt(
            id=table.text("id", f"r{number}"),
            at=table.moment("at", MORNING),
            item_code=table.text("item"),
            units=table.whole("units"),
            lot=table.text("lot", ""),
            expires_on=table.day("expires_on", None),
            order_id=table.text("order", None),
        )
    )


def _waste(table: Table, number: int) -> Waste | None:
    return table.build(
        lambda: Waste(
            id=table.text("id", f"w{number}"),
            at=table.moment("at", NOON),
            item_code=table.text("item"),
            units=table.whole("units"),
            reason=table.text("reason"),
            lot=table.text("lot", ""),
        )
    )


def _count(table: Table, number: int) -> Count | None:
    return table.build(
        lambda: Count(
            id=table.text("id", f"c{number}"),
            at=table.moment("at", EVENING),
            item_code=table.text("item"),
            units=table.whole("units"),
            cause=table.choice("cause", DifferenceCause, None),
        )
    )


def _recall(table: Table, number: int) -> Recall | None:
    return table.build(
        lambda: Recall(
            id=table.text("id", f"k{number}"),
            at=table.moment("at", MORNING),
            item_code=table.text("item"),
            lot=table.text("lot"),
        )
    )


def _departure(table: Table, number: int) -> Departure | None:
    return table.build(
        lambda: Departure(
            id=table.text("id", f"d{number}"),
            at=table.moment("at", NOON),
            item_code=table.text("item"),
            units=table.whole("units"),
            reason=table.choice("reason", LeavingReason),
            lot=table.text("lot", ""),
        )
    )


def _transfer(table: Table, number: int) -> Transfer | None:
    return table.build(
        lambda: Transfer(
            id=table.text("id", f"t{number}"),
            at=table.moment("at", MORNING),
            item_code=table.text("item"),
            units=table.whole("units"),
            to=table.choice("to", Place),
            lot=table.text("lot", ""),
        )
    )


def _wrong_delivery(table: Table, number: int) -> WrongDelivery | None:
    return table.build(
        lambda: WrongDelivery(
            id=table.text("id", f"x{number}"),
            at=table.moment("at", MORNING),
            what=table.text("what"),
            units=table.whole("units"),
            lot=table.text("lot", ""),
            order_id=table.text("order", None),
        )
    )


def _wrong_return(table: Table, number: int) -> WrongReturn | None:
    return table.build(
        lambda: WrongReturn(
            id=table.text("id", f"y{number}"),
            at=table.moment("at", NOON),
            delivery_id=table.text("delivery"),
            units=table.whole("units", None),
        )
    )


def _wrong_kept(table: Table, number: int) -> WrongKept | None:
    return table.build(
        lambda: WrongKept(
            id=table.text("id", f"z{number}"),
            at=table.moment("at", NOON),
            delivery_id=table.text("delivery"),
            item_code=table.text("item"),
            units=table.whole("units"),
            lot=table.text("lot", ""),
            expires_on=table.day("expires_on", None),
        )
    )


def _reversal(table: Table, number: int) -> Reversal | None:
    return table.build(
        lambda: Reversal(
            id=table.text("id", f"v{number}"),
            at=table.moment("at", EVENING),
            reverses_id=table.text("reverses"),
        )
    )


def _numbered(
    own: Table, key: str, read: Callable[[Table, int], Record | None]
) -> tuple[Record, ...]:
    """Every table of a list, read with its number; those with faults are left out."""
    made = (read(one, number) for number, one in enumerate(own.tables(key), 1))
    return tuple(one for one in made if one is not None)
