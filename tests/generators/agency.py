"""Forty invented households of one home-health agency."""

from __future__ import annotations

from datetime import date, timedelta

from planner.household import Catheter, ClinicalGroup, Household, Site
from planner.regimen import Regimen
from tests.generators.building_blocks import as_needed, every, home, on_weekdays
from tests.generators.simulate import AS_OF, Dice, Fluid, Habits, Home, invent
from tests.generators.trade import SHOPS, Shop

SEED = 2026
AGENCY_DESCRIPTION = (
    "Forty households of one agency with three suppliers, in every state from well stocked to "
    "running short."
)

_FIRST_NAMES = (
    "Adaeze", "Bram", "Celeste", "Dunstan", "Elif", "Farida", "Gethin", "Hollis", "Ines",
    "Jarek", "Kerensa", "Lorcan", "Mireille", "Nikhil", "Odalys", "Pascoe", "Qadira", "Ronan",
    "Sunniva", "Tobiah", "Una", "Viktor", "Wynne", "Xanthe", "Yusuf", "Zelda", "Anselm",
    "Brigid", "Cosmo", "Dorothea", "Emeka", "Fenella", "Gideon", "Hanne", "Ivo", "Juno",
    "Kofi", "Liesl", "Magnus", "Noor",
)  # fmt: skip
_LAST_NAMES = (
    "Abernant", "Birchall-Oye", "Corrigan-Vale", "Dunmere", "Eastgarth", "Fairweather",
    "Glanville", "Hartnoll", "Ibsley", "Jessamy", "Kirkbride", "Lowen", "Merrifield",
    "Northcote", "Ormonde", "Pellew", "Quennell", "Rosewarne", "Silvester", "Trevanion",
    "Umber", "Varley", "Wadebridge", "Yelland", "Zeller",
)  # fmt: skip

_CHEST = (
    (ClinicalGroup.MALIGNANT_PLEURAL, 150, -0.04),
    (ClinicalGroup.MALIGNANT_PLEURAL, 220, -0.06),
    (ClinicalGroup.TRAPPED_LUNG, 120, 0.0),
    (ClinicalGroup.HEART_KIDNEY_PLEURAL, 180, 0.0),
    (ClinicalGroup.HEPATIC_HYDROTHORAX, 260, 0.01),
    (ClinicalGroup.UNKNOWN, 140, 0.0),
)
_BELLY = (
    (ClinicalGroup.MALIGNANT_ASCITES, 560, 0.0),
    (ClinicalGroup.CIRRHOTIC_ASCITES, 500, 0.0),
)


def forty_households() -> tuple[Household, ...]:
    """The households, always the same ones."""
    dice = Dice(SEED)
    return tuple(invent(_home(n, dice), SEED + n) for n in range(1, 41))


def _home(number: int, dice: Dice) -> Home:
    shop = SHOPS[(0, 0, 1, 2)[number % 4]]
    last_name = dice.pick(_LAST_NAMES)
    belly = dice.chance(0.25)
    group, rate, change = dice.pick(_BELLY if belly else _CHEST)
    catheter = _catheter(shop, group, dice, belly=belly)
    starts_on = catheter.regimens[0].starts_on
    last_order_on = AS_OF - timedelta(days=dice.between(0, 6))
    if number % 8 == 0:
        last_order_on -= timedelta(days=8)
    return home(
        shop,
        f"ag-{3000 + 37 * number}",
        f"{_FIRST_NAMES[number - 1]} {last_name}",
        (catheter,),
        fluids=(
            Fluid(
                ml_per_day=rate * (0.7 + 0.1 * dice.between(0, 6)),
                weekly_change=change,
                spread=0.2 + 0.05 * dice.between(0, 4),
            ),
        ),
        starts_on=starts_on,
        habits=Habits(
            opening_days=dice.between(24, 40),
            cover_days=dice.pick((21, 28, 28, 35)),
            reorder_days=dice.between(11, 16),
            count_every_days=dice.pick((7, 14, 14, 21)),
            orders_until=last_order_on,
        ),
    )


def _catheter(shop: Shop, group: ClinicalGroup, dice: Dice, *, belly: bool) -> Catheter:
    kit, bottle = shop.large if belly or dice.chance(0.2) else shop.small
    return Catheter(
        id="c1",
        label="belly" if belly else dice.pick(("left side", "right side")),
        site=Site.ABDOMEN if belly else Site.CHEST,
        kit_code=kit.code,
        bottle_code=bottle.code if dice.chance(0.8) else None,
        clinical_group=group,
        regimens=(_regimen(dice, limit_ml=2000 if belly else 1000),),
    )


def _regimen(dice: Dice, *, limit_ml: int) -> Regimen:
    """A regimen and its first day, so far back that 20 to 90 sessions are on record."""
    draw = dice.between(1, 20)
    if draw <= 9:
        return every(2, starts_on=_days_ago(dice, 60, 120), limit_ml=limit_ml)
    if draw <= 12 and limit_ml <= 1000:
        return every(1, starts_on=_days_ago(dice, 40, 88), limit_ml=limit_ml)
    if draw <= 12:
        return every(3, starts_on=_days_ago(dice, 80, 120), limit_ml=limit_ml)
    if draw <= 17:
        return on_weekdays("MO", "WE", "FR", starts_on=_days_ago(dice, 60, 120), limit_ml=limit_ml)
    if draw <= 19:
        return on_weekdays("TU", "FR", starts_on=_days_ago(dice, 80, 120), limit_ml=limit_ml)
    return as_needed(starts_on=_days_ago(dice, 200, 240), limit_ml=limit_ml)


def _days_ago(dice: Dice, fewest: int, most: int) -> date:
    return AS_OF - timedelta(days=dice.between(fewest, most))
