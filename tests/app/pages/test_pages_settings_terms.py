"""Settings that are all alike: supplier, closed days, goods, amounts, tube, team, plan, home."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest
from sqlmodel import Session

from app.routers.settings_terms import FORMS
from planner.items import ItemKind, SupplyItem
from planner.supply import AuthorizedQuantity, Closure, Contact, StandingDelivery
from tests.app.data_builders import BOTTLE, KIT
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.test_pages_settings import ROOT, record
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of


def send(visitor: Visitor, form: str, changes: dict[str, str], which: str = "") -> str:
    """Send a form; gives what the page after it says."""
    path = f"{ROOT}/{form}" + (f"?which={which}" if which else "")
    return visitor.follow(visitor.send(path, changes, "which"))


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_a_sound_page_and_sent_untouched_changes_nothing(
    form: str, cara: Visitor, db: Session
) -> None:
    before = record(db)
    check(cara.get(f"{ROOT}/{form}").text)
    answer = cara.send(f"{ROOT}/{form}", {}, "which")
    if answer.status_code == 303:
        assert "Nothing was changed: it was so already." in cara.follow(answer)
    assert record(db) == before


def test_supplier_terms_change_the_plan_and_say_how(cara: Visitor, db: Session) -> None:
    changes = {"lead_business_days": "8", "van": "weekdays", "weekday_1": "yes"}
    changes |= {"holiday_country": "GB", "holiday_region": "SCT", "minimum_boxes": "2"}
    changes |= {"express_business_days": "1"}
    said = send(
        cara,
        "supplier",
        changes | {"cut_off": "11:30", "time_zone": "Europe/Berlin", "phone": "555 0101"},
    )
    assert "That is by the clock in Berlin" in said
    assert "Your change is saved." in said
    assert "8 working days from order to delivery" in said
    assert "Delivers on Tuesday" in said
    assert "Keeps the public holidays of GB-SCT" in said
    assert "An order has at least 2 boxes" in said
    assert "1 working day from order to delivery by express" in said
    assert "working days by express 1 (was nothing)" in said
    assert "working days to delivery 8 (was 3)" in said
    assert "Before this change" in said
    assert "Order" in said
    terms = record(db).supplier
    assert (terms.lead_business_days, terms.cut_off) == (8, time(11, 30))
    assert terms.time_zone == "Europe/Berlin"
    assert (terms.delivery_weekdays, terms.minimum_boxes) == ((1,), 2)
    assert terms.express_business_days == 1
    assert terms.contact == Contact(name="Tidewater desk", phone="555 0101")


def test_a_supplier_change_that_lies_ahead_is_shown_as_coming(cara: Visitor, db: Session) -> None:
    before = record(db)
    said = send(cara, "supplier", {"lead_business_days": "6", "starts_on": "2026-04-01"})
    assert "From Wed 1 April: Supplier: working days to delivery 6 (was 3)" in said
    assert "It counts from Wed 1 April on." in said
    assert "Supplies last as long as before." in said
    assert "3 working days from order to delivery" in said
    assert record(db) == before
    assert record(db, date(2026, 4, 1)).supplier.lead_business_days == 6


def test_standing_deliveries_take_the_place_of_weekdays_and_go_again(
    cara: Visitor, db: Session
) -> None:
    rule = {"standing_rrule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", "van": "standing"}
    said = send(cara, "supplier", rule | {"standing_starts_on": "2026-03-17"})
    assert "Delivers by the calendar rule FREQ=WEEKLY;INTERVAL=2;BYDAY=TU" in said
    standing = StandingDelivery(rrule=rule["standing_rrule"], starts_on=date(2026, 3, 17))
    assert record(db).supplier.standing == standing
    assert cara.form(f"{ROOT}/supplier", "van").values.items() >= rule.items()
    assert "Delivers on any working day" in send(cara, "supplier", {"van": "any"})
    assert record(db).supplier.standing is None


def test_closed_days_are_added_corrected_and_taken_out(cara: Visitor, db: Session) -> None:
    days = {"starts_on": "2026-03-16", "ends_on": "2026-03-18", "reason": "stocktaking"}
    said = send(cara, "closed", days)
    assert "Closed from Mon 16 March through Wed 18 March: stocktaking" in said
    key = "v0000002"
    send(cara, "closed", {"ends_on": "2026-03-17"}, key)
    closed = Closure(starts_on=date(2026, 3, 16), ends_on=date(2026, 3, 17), reason="stocktaking")
    assert record(db).supplier.closures == (closed,)
    assert "A closure was taken out" in send(cara, "closed", {"do": "remove"}, key)
    assert record(db).supplier.closures == ()


def test_a_new_size_is_a_new_item_that_sessions_use_from_a_day_on(
    cara: Visitor, db: Session
) -> None:
    new = {"name": "Kit, litre", "kind": "kit", "capacity_ml": "1000", "units_per_box": "5"}
    said = send(cara, "item", new)
    assert "Kit, litre Holds 1,000 mL, 5 kits in a box" in said
    item = record(db).item("ITEM-1")
    assert item == SupplyItem(
        code="ITEM-1", name="Kit, litre", kind=ItemKind.KIT, capacity_ml=1000, units_per_box=5
    )
    said = send(cara, "goods", {"kit_code": "ITEM-1", "starts_on": "2026-03-20"})
    assert "From Fri 20 March: Catheter (right): kit Kit, litre (was Kit, half litre)" in said
    assert "The kit you order: Kit, half litre" in said
    assert record(db, date(2026, 3, 20)).catheters[0].kit_code == "ITEM-1"
    assert record(db).catheters[0].kit_code == KIT


def test_kits_that_are_left_over_are_ticked_and_count_from_a_day_on(
    cara: Visitor, db: Session
) -> None:
    send(cara, "item", NEW_ITEM | {"name": "Kit, litre", "capacity_ml": "1000", "code": "KL"})
    send(cara, "item", NEW_ITEM | {"name": "Kit, small", "capacity_ml": "250", "code": "KS"})
    said = send(cara, "goods", {"kit_code": "KL", f"other_kits_{KIT}": "yes"})
    assert "The kit you order: Kit, litre" in said
    assert "Fit as well, and are used up: Kit, half litre" in said
    assert "other kits that fit Kit, half litre (was nothing)" in said
    catheter = record(db).catheters[0]
    assert (catheter.kit_code, catheter.other_kit_codes) == ("KL", (KIT,))
    page = cara.get(f"{ROOT}/goods")
    ticked = next(one for one in forms_of(page) if "which" in one.values).values
    assert ticked[f"other_kits_{KIT}"] == "yes"
    assert "other_kits_KS" not in ticked
    send(cara, "goods", {"other_kits_KS": "yes"})
    assert record(db).catheters[0].other_kit_codes == (KIT, "KS")
    send(cara, "goods", {f"other_kits_{KIT}": "", "other_kits_KS": ""})
    assert record(db).catheters[0].other_kit_codes == ()


def test_the_kit_that_is_ordered_is_not_another_kit(cara: Visitor, db: Session) -> None:
    send(cara, "item", NEW_ITEM)
    before = record(db)
    answer = cara.send(f"{ROOT}/goods", {f"other_kits_{KIT}": "yes"}, "which")
    assert answer.status_code == 422
    fault = f"Other kits is {KIT}. It is the kit that is ordered; name other kits only."
    assert text_of(answer).count(fault) == 2  # in the summary and beside the field
    assert record(db) == before


def test_with_one_kit_there_are_no_others_to_ask_about(cara: Visitor) -> None:
    assert "Which other kits fit" not in text_of(cara.get(f"{ROOT}/goods"))


def test_a_box_of_another_size_keeps_the_item(cara: Visitor, db: Session) -> None:
    send(cara, "item", {"units_per_box": "20"}, KIT)
    item = record(db).item(KIT)
    assert (item.units_per_box, item.capacity_ml) == (20, 500)


def test_an_amount_allowed_is_added_and_taken_out(cara: Visitor, db: Session) -> None:
    said = send(cara, "allowed", {"item_code": KIT, "units": "15", "per_days": "30"})
    assert "Kit, half litre: 15 kits allowed in 30 days, from Wed 11 March" in said
    limit = AuthorizedQuantity(item_code=KIT, units=15, per_days=30, starts_on=date(2026, 3, 11))
    assert record(db).authorized == (limit,)
    send(cara, "allowed", {"do": "remove"}, "v0000002")
    assert record(db).authorized == ()


def test_the_tube_can_be_described_and_its_end_planned(cara: Visitor, db: Session) -> None:
    changes = {"label": "belly", "site": "abdomen", "expected_ml_per_day": "400"}
    said = send(cara, "tube", changes | {"removed_on": "2026-03-13"})
    assert "The prescriber expects about 400 mL a day" in said
    assert "Not in use from Fri 13 March on" in said
    assert "Before this change: through" in said
    catheter = record(db).catheters[0]
    assert (catheter.label, catheter.expected_ml_per_day) == ("belly", 400)
    assert catheter.removed_on == date(2026, 3, 13)


def test_care_team_safety_name_and_clock_can_be_set(cara: Visitor, db: Session) -> None:
    before = record(db)
    send(cara, "care-team", {"name": "Hill nurses", "phone": "555 0155"})
    assert "95 in 100" in send(cara, "plan", {"protection": "0.95", "cover_days": "35"})
    said = send(cara, "household", {"name": "M. A.", "time_zone": "Europe/Madrid"})
    assert "Time zone Europe/Madrid" in said
    assert record(db) == replace(
        before,
        name="M. A.",
        time_zone="Europe/Madrid",
        care_team=Contact(name="Hill nurses", phone="555 0155"),
        settings=replace(before.settings, protection=0.95, cover_days=35),
    )


NEW_ITEM = {"name": "Kit", "kind": "kit", "capacity_ml": "500", "units_per_box": "10"}
CLOSED = {"starts_on": "2026-03-16", "ends_on": "2026-03-17"}
ALLOWED = {"item_code": KIT, "units": "15", "per_days": "30"}
STANDING = {"van": "standing", "standing_starts_on": "2026-03-17"}


@pytest.mark.parametrize(
    ("form", "changes", "fault"),
    [
        ("supplier", {"name": ""}, "Name of the supplier is empty. Write a name."),
        ("supplier", {"contact": "x" * 121}, "Use at most 120 characters."),
        ("supplier", {"phone": "5" * 61}, "Use at most 60 characters."),
        ("supplier", {"lead_business_days": "soon"}, "Working days to delivery is soon. Give a"),
        ("supplier", {"lead_business_days": "61"}, "Working days to delivery is 61. Give 0 to 60"),
        ("supplier", {"cut_off": "noon"}, "Time of day is noon. Give a time of day"),
        ("supplier", {"van": "never"}, "When do they deliver? is never. Choose one"),
        ("supplier", {"van": "weekdays"}, "Weekdays is empty. Tick at least one weekday."),
        ("supplier", {"van": "standing"}, "Delivery day is empty. Give a day of the calendar"),
        ("supplier", STANDING | {"standing_rrule": "x"}, "Calendar rule is x. Write one"),
        ("supplier", {"holiday_country": "XX"}, "Country of holidays is XX. Give a two-letter"),
        (
            "supplier",
            {"holiday_country": "GB", "holiday_region": "BY"},
            "Region is BY. GB has no such region here",
        ),
        ("supplier", {"holiday_region": "BY"}, "Region is BY. Name the holiday_country"),
        ("supplier", {"minimum_boxes": "x"}, "Fewest boxes in one order is x. Give a whole"),
        ("supplier", {"minimum_boxes": "101"}, "Fewest boxes in one order is 101. Give 0 to 100"),
        ("supplier", {"express_business_days": "x"}, "Working days by express is x. Give a whole"),
        (
            "supplier",
            {"express_business_days": "11"},
            "Working days by express is 11. Give 0 to 10",
        ),
        (
            "supplier",
            {"express_business_days": "4"},
            "Working days by express is 4. Give no more than the 3 of a usual order, or leave it",
        ),
        ("supplier", {"starts_on": ""}, "First day is empty. Give a day of the calendar"),
        ("supplier", {"starts_on": "2126-03-11", "minimum_boxes": "1"}, "It lies too far away"),
        ("closed", CLOSED | {"starts_on": "x"}, "First day closed is x. Give a day"),
        ("closed", CLOSED | {"ends_on": ""}, "Last day closed is empty. Give a day"),
        ("closed", CLOSED | {"ends_on": "2026-03-15"}, "Last day closed is 2026-03-15. It must"),
        ("closed", CLOSED | {"ends_on": "2026-09-15"}, "A closure may last 92 days"),
        ("closed", CLOSED | {"reason": "x" * 121}, "Use at most 120 characters."),
        ("item", NEW_ITEM | {"name": ""}, "Name is empty. Write a name."),
        ("item", NEW_ITEM | {"kind": "box"}, "Kind is box. Choose one of those on the page."),
        ("item", NEW_ITEM | {"capacity_ml": ""}, "Bottle size is empty. A kit or bottle needs"),
        ("item", NEW_ITEM | {"capacity_ml": "9"}, "Bottle size is 9. Give 50 to 5000 mL."),
        ("item", NEW_ITEM | {"capacity_ml": "x"}, "Bottle size is x. Give a whole number of mL"),
        ("item", NEW_ITEM | {"units_per_box": "x"}, "Pieces in a box is x. Give a whole number"),
        ("item", NEW_ITEM | {"units_per_box": "0"}, "Pieces in a box is 0. Give 1 to 500 units."),
        ("item", NEW_ITEM | {"code": KIT}, "Number is K-HALF. An item with this number is"),
        ("item", NEW_ITEM | {"code": "x" * 41}, "Use at most 40 characters."),
        ("goods", {"kit_code": BOTTLE}, "Kit is B-HALF. Choose one of those on the page."),
        ("goods", {"bottle_code": "x"}, "Loose bottle is x. Choose one of those on the page."),
        ("goods", {"starts_on": "x"}, "First day is x. Give a day of the calendar"),
        ("allowed", ALLOWED | {"item_code": "x"}, "Item is x. Choose one of those on the page."),
        ("allowed", ALLOWED | {"units": ""}, "Number of pieces is empty. Give a whole number"),
        ("allowed", ALLOWED | {"units": "0"}, "Number of pieces is 0. Give 1 to 10000 units."),
        ("allowed", ALLOWED | {"per_days": "x"}, "Number of days is x. Give a whole number"),
        ("allowed", ALLOWED | {"per_days": "400"}, "Number of days is 400. Give 1 to 366 days."),
        ("allowed", ALLOWED | {"starts_on": ""}, "First day is empty. Give a day"),
        ("tube", {"label": ""}, "Name is empty. Write a name."),
        ("tube", {"label": "x" * 41}, "Use at most 40 characters."),
        ("tube", {"site": "arm"}, "Site is arm. Choose one of those on the page."),
        ("tube", {"expected_ml_per_day": "much"}, "Expected volume is much. Give a whole number"),
        ("tube", {"expected_ml_per_day": "0"}, "Expected volume is 0. Give 1 to 5000 mL."),
        ("tube", {"removed_on": "soon"}, "First day without it is soon. Give a day"),
        ("care-team", {"name": ""}, "Name is empty. Write a name."),
        ("care-team", {"name": "N", "phone": "5" * 61}, "Use at most 60 characters."),
        ("plan", {"protection": "2"}, "How sure is 2. Choose one of those on the page."),
        ("plan", {"cover_days": "x"}, "Number of days is x. Give a whole number of days"),
        ("plan", {"cover_days": "3"}, "Number of days is 3. Give 7 to 92 days."),
        ("plan", {"most_units_at_home": "0"}, "Room at home is 0. Give 1 to 5000 units."),
        ("plan", {"prescription_ends_on": "soon"}, "is soon. Give a day of the calendar"),
        ("household", {"name": ""}, "Name is empty. Write a name or initials."),
        ("household", {"name": "x" * 121}, "Use at most 120 characters."),
        ("household", {"time_zone": "Mars"}, "Nearest place is Mars. Choose one of those"),
    ],
)
def test_a_bad_value_is_named_entries_are_kept_and_nothing_is_saved(
    form: str, changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    before = record(db)
    answer = cara.send(f"{ROOT}/{form}", changes, "which")
    assert answer.status_code == 422
    assert any(fault in one for one in faults_of(answer)), faults_of(answer)
    assert text_of(answer).count(fault) == 2  # in the summary and beside the field
    kept = next(one for one in forms_of(answer) if "which" in one.values).values
    typed = {name: one for name, one in changes.items() if name in kept}
    chosen = {"van", "kind", "site", "protection", "item_code", "kit_code", "bottle_code"}
    chosen |= {"time_zone", "holiday_country"}
    assert kept.items() >= {n: one for n, one in typed.items() if n not in chosen}.items()
    assert record(db) == before


def test_entries_of_today_forbid_a_clock_in_which_they_lie_ahead(
    cara: Visitor, db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-11T00:30:00+00:00")
    lost = cara.send("/h/home/shelf/waste", {"reason": "got wet"}, "reason")
    assert lost.status_code == 303
    answer = cara.send(f"{ROOT}/household", {"time_zone": "America/Denver"}, "which")
    assert answer.status_code == 422
    assert "Nearest place is America/Denver. By its clock, entries of today" in text_of(answer)


@pytest.mark.parametrize(
    "path", ["nothing", "item?which=x", "closed?which=x", "allowed?which=x", "tube?which=x"]
)
def test_what_is_not_there_is_not_found(path: str, cara: Visitor) -> None:
    assert cara.get(f"{ROOT}/{path}").status_code == 404
