"""The sentences of the calendar feed that say nothing about anybody's health.

A calendar is often shared, shown on a locked screen or read aloud. So there is no
procedure here, no device, no place in the body, no volume, no item and no name. The
detailed form, used only by choice, takes its sentences from `app.wording`.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.german.messages_out import FEED as GERMAN

ENGLISH = {
    "calendar.household": "Supplies",
    "calendar.coordinator": "Supplies of households",
    "standing.summary": "Supply calendar set up",
    "standing.text": "Dates for your supplies appear in this calendar by themselves.",
    "order-by.summary": "Order supplies by today",
    "order-by.text": "This is the last business day to order so that supplies come in time.",
    "order-late.summary": "Order supplies today",
    "order-late.text": "New supplies may come after those at home run out.",
    "order.list": "What to order is in your supply plan.",
    "run-out-cautious.summary": "Supplies at home may run out",
    "run-out-cautious.text": (
        "They are sure enough ({protection}) to last until the day before, not longer."
    ),
    "run-out-expected.summary": "Supplies at home expected to run out",
    "run-out-expected.text": "Probably the first day without enough supplies at home.",
    "run-out.coming": "Supplies on their way are not counted until they are there.",
    "delivery.summary": "Delivery of supplies expected",
    "delivery-late.summary": "Delivery of supplies is late",
    "delivery.text": "They should come on this day. It may be as late as {latest}.",
    "delivery-sure.text": "They should come on this day.",
    "delivery-late.text": "Call your supplier and ask when they will come.",
    "call.summary": "Call the supplier about your order",
    "call.text": "Supplies at home may run out before the delivery comes.",
    "short": "Call your supplier and ask for express delivery. Call your team.",
    "keep-to-plan": "Keep to your own plan.",
    "count.summary": "Count the supplies at home",
    "count.text": "A count keeps the dates right. Any day near this one will do.",
    "use-first.summary": "Use-by date of some supplies at home",
    "use-first.text": "This is their last day. Use the oldest first.",
    "use-first.line": "{item}: {units}, lot {lot}",
    "use-first.line-without-lot": "{item}: {units}",
    "due-short.summary": "{reference}: act on supplies today",
    "due-short.text": "Supplies may run out before new ones come. Ask for express delivery.",
    "due-order.summary": "{reference}: order supplies by today",
    "due-order.text": "This is the last business day to order so that supplies come in time.",
    "due-run-out.summary": "{reference}: supplies may run out",
    "due-delivery.summary": "{reference}: delivery of supplies expected",
    "due-delivery-late.summary": "{reference}: delivery of supplies is late",
    "due-delivery-late.text": "Ask the supplier when they will come.",
    "due.expected": "Expected to run out on {day}.",
    "due.cautious": "May run out on {day}.",
    "cancelled.summary": "No longer current: {summary}",
    "phone.supplier": "Supplier: {contact}",
    "phone.team": "Your team: {contact}",
    "caution": "This tool only counts supplies. Follow your own plan.",
}

CATALOGUE = {"en": ENGLISH, "de": GERMAN}


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedForm:
    """How a feed speaks.

    Attributes:
        detailed: name goods, amounts and people. Off unless somebody chose it.
        language: a language of the catalogue.
    """

    detailed: bool = False
    language: str = "en"

    def say(self, code: str, **facts: object) -> str:
        """One sentence; English where the language lacks it.

        Raises:
            KeyError: when no language has the sentence, or the sentence lacks a fact.
        """
        pattern = CATALOGUE.get(self.language, ENGLISH).get(code) or ENGLISH[code]
        return pattern.format(**facts)
