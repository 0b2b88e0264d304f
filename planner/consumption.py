"""What a session uses: bottles for a volume, kits and loose bottles for the bottles.

This is the one home of these rules. A session opens one kit (one bottle, one dressing
pack). Each further bottle is a loose bottle; with none left, another kit is opened for
its bottle. A lost bottle is used like any other. Which kit is opened where several fit stands in
`planner.fitting_kits`; a bottle that held more than a kit's bottle can did not come from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner import assumptions
from planner.household import Catheter
from planner.sessions import Session

MOST_LOSSES_PER_SESSION = 8
_NEGLIGIBLE_LOSS = 1e-6


def bottles_for(volume_ml: float, first_ml: int, further_ml: int) -> int:
    """Bottles that a volume fills. A dry session opens one.

    Args:
        volume_ml: fluid collected in one session. [mL]
        first_ml: capacity of the kit's bottle. [mL]
        further_ml: capacity of each further bottle. [mL]

    Examples:
        >>> [bottles_for(v, 500, 500) for v in (0, 500, 501, 1000, 1001)]
        [1, 1, 2, 2, 3]
    """
    beyond = volume_ml - first_ml
    return 1 if beyond <= 0 else 1 + -int(-beyond // further_ml)


def bottle_thresholds(limit_ml: int, bottles_ml: Sequence[int]) -> tuple[float, ...]:
    """Volumes above which one more bottle is opened, up to the session limit. [mL]

    Args:
        limit_ml: session limit. [mL]
        bottles_ml: capacities in the order of opening; the last one stands for all that follow.

    Examples:
        >>> bottle_thresholds(1000, (500,))
        (500.0,)
        >>> bottle_thresholds(2000, (1000, 500))
        (1000.0, 1500.0)
    """
    thresholds = []
    filled, opened = bottles_ml[0], 1
    while filled < limit_ml:
        thresholds.append(float(filled))
        filled += bottles_ml[min(opened, len(bottles_ml) - 1)]
        opened += 1
    return tuple(thresholds)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitsAtHand:
    """Kits of one lot that a session may open.

    Attributes:
        bottle_ml: what their bottle holds. [mL]
    """

    item_code: str
    bottle_ml: int
    units: int


def items_opened(
    session: Session,
    catheter: Catheter,
    *,
    loose_bottles: int,
    kits: Sequence[KitsAtHand] = (),
) -> tuple[str, ...]:
    """Item codes that a recorded session took from the shelf, in order.

    Args:
        session: what was recorded; a bottle that names its item is taken at its word.
        catheter: whose kit and loose bottle are meant otherwise.
        loose_bottles: usable loose bottles on the shelf before the session. [units]
        kits: kits before the session, in the order of use; empty where only one kit fits.
    """
    opened: list[str] = []
    left = list(kits)
    for n, bottle in enumerate(session.bottles):
        code = bottle.item_code
        if code is None:
            use_loose = n > 0 and catheter.bottle_code is not None and loose_bottles > 0
            if use_loose and catheter.bottle_code:
                code = catheter.bottle_code
            else:
                code = _kit_opened(left, bottle.volume_ml) or catheter.kit_code
        if code == catheter.bottle_code:
            loose_bottles -= 1
        left = _without_one(left, code)
        opened.append(code)
    return tuple(opened)


def _kit_opened(kits: Sequence[KitsAtHand], volume_ml: int) -> str | None:
    return next((one.item_code for one in kits if one.bottle_ml >= volume_ml), None)


def _without_one(kits: list[KitsAtHand], code: str) -> list[KitsAtHand]:
    for spot, one in enumerate(kits):
        if one.item_code == code:
            rest = [replace(one, units=one.units - 1)] if one.units > 1 else []
            return [*kits[:spot], *rest, *kits[spot + 1 :]]
    return kits


def learn_loss_chance(sessions: Sequence[Session]) -> float:
    """Posterior mean chance that an opened bottle is lost (beta-binomial). [fraction]"""
    opened = sum(len(session.bottles) for session in sessions)
    lost = sum(session.bottles_lost for session in sessions)
    weight = assumptions.LOSS_WEIGHT
    return (assumptions.LOSS_CHANCE * weight + lost) / (weight + opened)


def losses_given_bottles(bottles: int, loss_chance: float) -> tuple[float, ...]:
    """Distribution of bottles lost in a session that needs `bottles` good ones.

    Every bottle opened is lost with the same chance, and replaced until enough are good: a
    negative binomial, cut where more losses are less likely than one in a million, or at
    `MOST_LOSSES_PER_SESSION`, and rescaled.

    Returns:
        Probability of 0, 1, ... losses, summing to 1.

    References:
        Feller, An Introduction to Probability Theory, vol. 1, 3rd ed., ch. VI.8 (memory).
    """
    chances = [(1.0 - loss_chance) ** bottles]
    for lost in range(1, MOST_LOSSES_PER_SESSION + 1):
        if 1.0 - sum(chances) < _NEGLIGIBLE_LOSS:
            break
        chances.append(chances[-1] * loss_chance * (bottles + lost - 1) / lost)
    total = sum(chances)
    return tuple(chance / total for chance in chances)
