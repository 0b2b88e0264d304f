"""The catalogue of sentences about plans, one table per language.

A message is either one pattern or two, for one thing and for several, told apart by the
number the caller passes. Names in braces are filled in by `app.wording`. Nothing here may
ever suggest draining more, less, or on other days.
"""

from __future__ import annotations

from app import display
from app.german import GERMAN_MESSAGES
from app.messages_settings import ENGLISH_SETTINGS
from app.messages_what_if import ENGLISH_WHAT_IF

Message = str | tuple[str, str]

ENGLISH: dict[str, Message] = {
    # What every page shows.
    "caution": (
        "This tool counts supplies. It does not tell you when or how much to drain. "
        "Follow your own plan."
    ),
    # Dates, weekday and month are words of their own.
    "weekdays": "Mon Tue Wed Thu Fri Sat Sun",
    "months": (
        "January February March April May June July August September October November December"
    ),
    "day": "{weekday} {day} {month}",
    "day-with-year": "{weekday} {day} {month} {year}",
    # Counts; the marks for thousands and decimals.
    "number-marks": ",.",
    "days": ("{count} day", "{count} days"),
    "weeks": ("{count} week", "{count} weeks"),
    "sessions": ("{count} session", "{count} sessions"),
    "boxes": ("{count} box", "{count} boxes"),
    "kit": ("{count} kit", "{count} kits"),
    "bottle": ("{count} loose bottle", "{count} loose bottles"),
    "dressing": ("{count} dressing pack", "{count} dressing packs"),
    "other": ("{count} piece", "{count} pieces"),
    "and": "{first} and {last}",
    # Chances: numbers first, words beside them.
    "chance-none": "less than 1 in 1,000",
    "chance-one-in": "about 1 in {count}",
    "chance-of-ten": "about {count} in 10",
    "chance-most": "more than 9 in 10",
    "chance-nearly-all": "more than 99 in 100",
    "likelihood-99": "almost certain",
    "likelihood-90": "very likely",
    "likelihood-66": "likely",
    "likelihood-33": "about as likely as not",
    "likelihood-10": "not likely",
    "likelihood-1": "very unlikely",
    "likelihood-0": "extremely unlikely",
    "protection": "{percent} in 100",
    # Urgency.
    "urgency-short": "Act today: supplies may run short",
    "urgency-order-now": "Order today",
    "urgency-order-soon": "Order within a week",
    "urgency-steady": "Enough for now",
    "urgency-resting": "Not in use now",
    "urgency-short-name": "Running short",
    "urgency-order-now-name": "Order today",
    "urgency-order-soon-name": "Order soon",
    "urgency-steady-name": "Enough for now",
    "urgency-resting-name": "Not in use",
    # The answer in one line.
    "headline-days": ("Supplies for {days}", "Supplies for {days}"),
    "headline-empty": "No kits at home",
    "headline-none": "Not enough supplies for a session today",
    "headline-beyond": "Supplies for more than {days}",
    "headline-resting": "No supplies are being used now",
    "lasts-until": "They will probably last through {day}.",
    "lasts-beyond": "They will probably last past {day}.",
    "lasts-empty": "The next session will probably be on {day}. There is no kit for it yet.",
    "lasts-none": "There is probably not enough for the next session.",
    "sure-until": "They are almost sure ({protection}) to last through {day}.",
    "sure-very-likely-until": "They are very likely ({protection}) to last through {day}.",
    "sure-likely-until": "They are likely ({protection}) to last through {day}.",
    "sure-beyond": "They are almost sure ({protection}) to last past {day}.",
    "sure-very-likely-beyond": "They are very likely ({protection}) to last past {day}.",
    "sure-likely-beyond": "They are likely ({protection}) to last past {day}.",
    "sure-empty": "It may be as early as {day}.",
    "sure-none": "We cannot be sure ({protection}) that they last through today.",
    "with-coming-until": "With the order on its way they will probably last through {day}.",
    "with-coming-beyond": "With the order on its way they will probably last past {day}.",
    # What comes next.
    "delivery-open": "The next delivery should come on {usual}. It may be as late as {latest}.",
    "delivery-open-sure": "The next delivery should come on {usual}.",
    "delivery-if-ordered": (
        "Goods ordered today should come on {usual}. They may be as late as {latest}."
    ),
    "delivery-if-ordered-sure": "Goods ordered today should come on {usual}.",
    "delivery-usual-way": (
        "Sent the usual way, goods ordered today should come on {usual}. They may be as late as "
        "{latest}."
    ),
    "delivery-usual-way-sure": "Sent the usual way, goods ordered today should come on {usual}.",
    "delivery-risk": "The chance of running out before then is {chance} ({likelihood}).",
    "order-lines": "Order {lines}.",
    "order-line": "{boxes} of {item}",
    "order-line-units": "{boxes} of {item} ({units})",
    "order-covers": "This should last until {day}.",
    "order-by": "Order by {day}.",
    "order-today": "Order today.",
    "order-today-closed": "Order on {day}, when the supplier is next open.",
    "who-orders": "Who orders: {people}.",
    "order-none": "Nothing needs to be ordered now.",
    # Whom to call. Never anything about draining but to keep to the plan.
    "call-express": "Call {supplier} today and ask for express delivery.",
    "call-express-on": (
        "Call {supplier} on {day}, as soon as they open, and ask for express delivery."
    ),
    "express-safe": "To be safe, ask {supplier} to send this order by express.",
    "express-whole": "Ask for the whole order by express.",
    "express-lines": "Ask for {lines} by express.",
    "express-unless": "If it cannot come by {by}, ask for express delivery.",
    "express-unless-lines": "If it cannot come by {by}, ask for {lines} by express.",
    "express-comes": (
        "Express goods should come on {usual}. The chance of running out before then is {chance} "
        "({likelihood})."
    ),
    "call-where-is-it": "Call {supplier} and ask when the order will come.",
    "call-care-team": "Tell {care_team} that supplies may run short.",
    "call-care-team-ask": "Talk to {care_team}.",
    "keep-to-plan": "Keep to your drain plan.",
    "contact-with-phone": "{name} ({phone})",
    "your-supplier": "your supplier",
    "your-care-team": "your care team",
    # Headings of the plan as text.
    "title": "{name} - plan of {day}",
    "to-do": "What to do",
    "on-shelf": "On the shelf",
    "next-delivery": "Next delivery",
    "good-to-know": "Good to know",
    "combined-order": "Orders of the coming week, put together",
    "combined-part": "{supplier}: order by {order_by}, comes on {delivery}",
    "combined-total": "All together: {lines}",
    "combined-none": "No household has to order within the coming week.",
    "who-needs-what": "Households, the most urgent first",
    "days-left": "{days} left, sure for {sure}",
    "days-left-beyond": "more than {days} left, sure for {sure}",
    "usable": "{units} to use",
    "of-them-expiring": "{count} of them will probably expire first",
    "expired": "{units} expired",
    "recalled": "{units} recalled",
    "away-in-bag": "{units} in the travel bag",
    "in-transit": "{units} on the way",
    # Reasons, by the planner's code.
    "short-before-delivery": (
        "Supplies may run out before an order placed now arrives. The chance is {risk}."
    ),
    "risk-before-open-delivery": (
        "Supplies may run out before the delivery due on {usual_on}. The chance is {risk}."
    ),
    "short-before-delivery-unlikely": (
        "Supplies will very likely last until an order placed now comes. The chance that they "
        "run out first is {risk}. That is more than your plan accepts."
    ),
    "risk-before-open-delivery-unlikely": (
        "Supplies will very likely last until the delivery due on {usual_on}. The chance that "
        "they run out first is {risk}. That is more than your plan accepts."
    ),
    "nothing-to-order": "There is enough for as far ahead as this plan looks.",
    "reason-order-by": "An order placed by {order_by} should arrive in time.",
    "delivery-overdue": "An order has not come on the day it was due.",
    "leans-on-starting-expectation": (
        "So far {sessions} written down for {catheter}. The forecast still leans on what is "
        "usual for others, so it may be off."
    ),
    "leans-on-starting-expectation-none": (
        "No session is written down for {catheter} yet. The forecast goes by what is usual "
        "for others, so it may be off."
    ),
    "three-dry-sessions": (
        "The last 3 sessions for {catheter} gave almost nothing. Tell {care_team} before "
        "the next order. Keep to your drain plan until they answer."
    ),
    "above-authorized": (
        "{item}: about {expected_units} may be needed in {per_days}, and {authorized_units} "
        "are allowed. Ask {care_team} to look at this."
    ),
    "order-capped": (
        "{item}: {wanted_boxes} would be needed, but only {allowed_boxes} may be ordered "
        "now. Ask {care_team} to look at this."
    ),
    "last-box-left-for-later": (
        "{item}: {allowed_boxes} for now, not {wanted_boxes}. The next box may not be needed: "
        "the chance that it is opened is {chance}. You can order it later."
    ),
    "goods-come-short-dated": (
        "{item} came last with {days} to go until the use-by date. No more is proposed than can "
        "be used in that time. Ask {supplier} for goods that last longer."
    ),
    "no-room-at-home": (
        "{item}: {wanted_boxes} would be needed, but there is room for {allowed_boxes}. You set "
        "the most to keep at home to {most_units} pieces. Order sooner again, or make room."
    ),
    "prescription-ends": (
        "The prescription on file ends on {ends_on}, before the day to order, {order_by}. Ask "
        "{care_team} for a new one now."
    ),
    "below-minimum-order": (
        "The order has {boxes}. {supplier} sends {minimum_boxes} or more. Ask what they can do."
    ),
    "expired-on-shelf": (
        "{item}: {units} is past its use-by date. Do not use it. It is not counted.",
        "{item}: {units} are past their use-by date. Do not use them. They are not counted.",
    ),
    "expires-before-use": (
        "{item}: {units} will probably pass its use-by date unused. Use the oldest first.",
        "{item}: {units} will probably pass their use-by date unused. Use the oldest first.",
    ),
    "recalled-on-shelf": (
        "{item}: {units} has been recalled. Do not use it. Ask {supplier} what to do with it.",
        "{item}: {units} have been recalled. Do not use them. Ask {supplier} what to do with them.",
    ),
    "wrong-goods-here": (
        "Wrong goods came: {what}, {units}. Do not use it. Ask {supplier} to take it back.",
        "Wrong goods came: {what}, {units}. Do not use them. Ask {supplier} to take them back.",
    ),
    "count-differed": (
        "{item}: on {on} the shelf held {counted}, but {recorded} should have been there. "
        "The plan goes by the count."
    ),
    "shelf-never-counted": "{item} has never been counted. Count it, so that this plan is right.",
    "record-below-zero": (
        "{item}: {units} more was used than was written down as received. Count the shelf.",
        "{item}: {units} more were used than were written down as received. Count the shelf.",
    ),
    "away": "Away from home ({catheter}). Home again on {home_on}.",
    "away-open": "Away from home ({catheter}). The day of coming home is not known yet.",
    "not-in-use": "The {catheter} catheter is no longer in use.",
    "refill-window-conflict": (
        "To be safe, order by {order_by}. The payer's rule allows contact from "
        "{earliest_contact} and delivery from {earliest_delivery}. Ask {supplier} now how "
        "to close this gap."
    ),
    "risk-is-upper-bound": (
        "More than one catheter draws on the same goods. The risk shown is on the safe side: "
        "the true one may be lower."
    ),
}

ENGLISH |= ENGLISH_SETTINGS | ENGLISH_WHAT_IF

CATALOGUE: dict[str, dict[str, Message]] = {"en": ENGLISH, "de": GERMAN_MESSAGES}


def message(code: str, *, count: int | None = None, language: str | None = None) -> str:
    """The pattern for a code; of two patterns the one that fits the count.

    Without a language it is the one of whoever looks at the page.

    Raises:
        KeyError: when the code is in neither the language's table nor the English one.
    """
    wanted = language or display.current().language
    found = CATALOGUE.get(wanted, ENGLISH).get(code) or ENGLISH[code]
    if isinstance(found, str):
        return found
    return found[0] if count == 1 else found[1]
