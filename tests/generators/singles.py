"""The single invented households of the seed scenarios. A docstring is the file's description."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from planner.household import ClinicalGroup, Household, Pause, PlanSettings
from planner.supply import Closure
from tests.generators.building_blocks import (
    as_needed,
    belly,
    chest,
    every,
    home,
    on_weekdays,
    receipt,
)
from tests.generators.simulate import Fluid, Habits, invent
from tests.generators.trade import OLLERBY, QUILLMERE, TARNBROOK
from tests.generators.troubled import kits_left_over, runs_short, shelf_scattered, shelf_troubles


def chest_every_other_day() -> Household:
    """Chest, every other day, 500 mL bottles. About one session in four fills a second bottle;
    kits and loose bottles lie on the shelf.
    """
    kit, bottle = TARNBROOK.small
    catheter = chest(
        kit,
        bottle,
        clinical_group=ClinicalGroup.MALIGNANT_PLEURAL,
        regimens=(every(2, starts_on=date(2025, 12, 1), by="Dr Imre Vasko"),),
    )
    spec = home(
        TARNBROOK,
        "hw-1203",
        "Marisol Ashdown",
        (catheter,),
        fluids=(Fluid(ml_per_day=185, spread=0.38),),
        starts_on=date(2025, 12, 3),
        habits=Habits(opening_days=29, cover_days=28, reorder_days=13),
        confirmed_by="Cara Ashdown",
    )
    return invent(spec, 11)


def abdomen_two_bottles() -> Household:
    """Belly, every other day. Two 1000 mL bottles in a session are the rule."""
    kit, bottle = TARNBROOK.large
    catheter = belly(
        kit,
        bottle,
        clinical_group=ClinicalGroup.MALIGNANT_ASCITES,
        regimens=(every(2, starts_on=date(2025, 12, 28), limit_ml=2000, by="Dr Nell Oyelaran"),),
    )
    spec = home(
        TARNBROOK,
        "hw-1417",
        "Teodor Brandt",
        (catheter,),
        fluids=(Fluid(ml_per_day=740, spread=0.25),),
        starts_on=date(2025, 12, 29),
        habits=Habits(opening_days=24, cover_days=21, reorder_days=14),
    )
    return invent(spec, 12)


def daily_fading() -> Household:
    """Chest, every day, less fluid from week to week.

    The last three sessions gave 50 mL or less.
    """
    kit, _ = OLLERBY.small
    catheter = chest(
        kit,
        None,
        id="right",
        label="right side",
        clinical_group=ClinicalGroup.MALIGNANT_PLEURAL,
        regimens=(every(1, starts_on=date(2025, 12, 15), by="Dr Anwen Hale"),),
    )
    spec = home(
        OLLERBY,
        "hw-1522",
        "Priya Nankervis",
        (catheter,),
        fluids=(Fluid(ml_per_day=310, weekly_change=-0.25, spread=0.3),),
        starts_on=date(2025, 12, 15),
        habits=Habits(opening_days=24, cover_days=28, reorder_days=14),
    )
    return invent(spec, 13)


def monday_wednesday_friday() -> Household:
    """Chest, on fixed weekdays. The supplier is closed in the week after next."""
    kit, bottle = TARNBROOK.small
    catheter = chest(
        kit,
        bottle,
        id="left",
        label="left side",
        clinical_group=ClinicalGroup.HEART_KIDNEY_PLEURAL,
        regimens=(
            on_weekdays("MO", "WE", "FR", starts_on=date(2025, 11, 3), by="Dr Femi Castell"),
        ),
    )
    closure = Closure(
        starts_on=date(2026, 3, 16), ends_on=date(2026, 3, 20), reason="move to a new warehouse"
    )
    spec = home(
        TARNBROOK,
        "hw-1608",
        "Gwilym Tarrant",
        (catheter,),
        fluids=(Fluid(ml_per_day=170, spread=0.33),),
        starts_on=date(2025, 11, 3),
        supplier=replace(TARNBROOK.terms, closures=(closure,)),
        habits=Habits(opening_days=46, cover_days=28, reorder_days=14),
    )
    return invent(spec, 14)


def as_needed_chest() -> Household:
    """Chest, as needed: no prescribed days, 1000 mL bottles, minimum order of two boxes."""
    kit, bottle = OLLERBY.large
    catheter = chest(
        kit,
        bottle,
        clinical_group=ClinicalGroup.HEART_KIDNEY_PLEURAL,
        regimens=(as_needed(starts_on=date(2025, 8, 18), by="Dr Rhona Iverach"),),
    )
    spec = home(
        OLLERBY,
        "hw-1731",
        "Eilidh Maclaren-Roe",
        (catheter,),
        fluids=(Fluid(ml_per_day=90, spread=0.3),),
        starts_on=date(2025, 8, 20),
        habits=Habits(opening_days=60, cover_days=40, reorder_days=35, spare_bottles=2),
    )
    return invent(spec, 15)


def brand_new() -> Household:
    """Chest, first session tomorrow: nothing recorded yet but the first boxes."""
    kit, bottle = QUILLMERE.small
    catheter = chest(
        kit,
        bottle,
        regimens=(every(2, starts_on=date(2026, 3, 9), by="Dr Sol Whitmarsh"),),
        expected_ml_per_day=200,
    )
    spec = home(
        QUILLMERE,
        "hw-1840",
        "Delphine Okoro",
        (catheter,),
        fluids=(Fluid(ml_per_day=200),),
        starts_on=date(2026, 3, 9),
    )
    household = invent(spec, 16)
    first_boxes = (
        receipt("r1", date(2026, 3, 6), kit.code, 10, "N3310", date(2028, 1, 31)),
        receipt("r2", date(2026, 3, 6), bottle.code, 5, "P0127", date(2028, 5, 31)),
    )
    return replace(household, ledger=first_boxes)


def two_catheters() -> Household:
    """Two catheters with different days draw on the same shelf."""
    kit, bottle = TARNBROOK.small
    left = chest(
        kit,
        bottle,
        id="left",
        label="left side",
        clinical_group=ClinicalGroup.MALIGNANT_PLEURAL,
        regimens=(every(2, starts_on=date(2026, 1, 5), by="Dr Imre Vasko"),),
    )
    right = replace(
        left,
        id="right",
        label="right side",
        regimens=(on_weekdays("TU", "SA", starts_on=date(2026, 1, 5), by="Dr Imre Vasko"),),
    )
    spec = home(
        TARNBROOK,
        "hw-1955",
        "Oskar Lindqvist-Bell",
        (left, right),
        fluids=(Fluid(ml_per_day=150, spread=0.35), Fluid(ml_per_day=110, spread=0.4)),
        starts_on=date(2026, 1, 6),
        habits=Habits(opening_days=38, cover_days=28, reorder_days=14),
    )
    return invent(spec, 17)


def hospital_stay() -> Household:
    """Belly, with a hospital stay in the middle, a new frequency afterwards, and a payer's refill
    rule.
    """
    kit, bottle = QUILLMERE.large
    catheter = belly(
        kit,
        bottle,
        clinical_group=ClinicalGroup.CIRRHOTIC_ASCITES,
        regimens=(
            on_weekdays("TU", "FR", starts_on=date(2025, 10, 7), limit_ml=2000, by="Dr Lena Quist"),
            on_weekdays(
                "MO", "WE", "FR", starts_on=date(2026, 2, 9), limit_ml=2000, by="Dr Lena Quist"
            ),
        ),
    )
    stay = Pause(starts_on=date(2026, 1, 28), ends_on=date(2026, 2, 9), reason="hospital")
    spec = home(
        QUILLMERE,
        "hw-2066",
        "Harlan Petrossian",
        (catheter,),
        fluids=(Fluid(ml_per_day=520, spread=0.22),),
        starts_on=date(2025, 10, 7),
        pauses=(stay,),
        settings=PlanSettings(refill_rule="us-medicare", cover_days=30),
        habits=Habits(opening_days=18, cover_days=30, reorder_days=16),
    )
    return invent(spec, 18)


SINGLES: dict[str, Callable[[], Household]] = {
    "chest_every_other_day": chest_every_other_day,
    "abdomen_two_bottles": abdomen_two_bottles,
    "daily_fading": daily_fading,
    "monday_wednesday_friday": monday_wednesday_friday,
    "as_needed": as_needed_chest,
    "brand_new": brand_new,
    "two_catheters": two_catheters,
    "hospital_stay": hospital_stay,
    "runs_short": runs_short,
    "shelf_troubles": shelf_troubles,
    "shelf_scattered": shelf_scattered,
    "kits_left_over": kits_left_over,
}
"""Every single household by the name of its file."""
