"""Every number of the model that no measurement of this household supports.

Each entry says where it comes from. "Assumption" means that no published source was
found; such a number can be overruled by the household's own record, which it merely
starts. Published figures carry their citation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.household import ClinicalGroup, Site


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumePrior:
    """Starting expectation of one clinical group.

    Attributes:
        median_ml_per_day: median accumulation between patients. [mL/day]
        between_sd: standard deviation of the log rate between patients.
        session_sd: typical standard deviation of log volume between sessions of a patient.
        weekly_drift: typical change of the log rate. [per week]
    """

    median_ml_per_day: float
    between_sd: float
    session_sd: float
    weekly_drift: float

    @property
    def log_median(self) -> float:
        """Natural logarithm of the median rate."""
        return math.log(self.median_ml_per_day)


VOLUME_PRIORS: dict[ClinicalGroup, VolumePrior] = {
    # Level: fitted by hand so that days 10 to 80, three drains a week, 1 L limit, give about
    # 3.6 L (second-hand report of Bhatnagar R et al., NEJM 2018;378:1313-22). Fading: about
    # 5 percent of patients a week fall dry on daily drainage (Wahidi MM et al., AJRCCM
    # 2017;195:1050-7; Muruganandan S et al., Lancet Respir Med 2018;6:671-80).
    ClinicalGroup.MALIGNANT_PLEURAL: VolumePrior(
        median_ml_per_day=math.exp(5.0), between_sd=0.8, session_sd=0.45, weekly_drift=-0.10
    ),
    # Judgement: no published volume was found for trapped lung.
    ClinicalGroup.TRAPPED_LUNG: VolumePrior(
        median_ml_per_day=math.exp(4.8), between_sd=0.8, session_sd=0.45, weekly_drift=0.0
    ),
    # 17.4 +/- 17.9 L in 12 weeks: Walker SP et al., Eur Respir J 2022;59:2101362.
    ClinicalGroup.HEART_KIDNEY_PLEURAL: VolumePrior(
        median_ml_per_day=math.exp(5.2), between_sd=0.9, session_sd=0.40, weekly_drift=0.0
    ),
    # Judgement on the same trial's mixed population (16 of 68 liver).
    ClinicalGroup.HEPATIC_HYDROTHORAX: VolumePrior(
        median_ml_per_day=math.exp(5.6), between_sd=0.8, session_sd=0.40, weekly_drift=0.0
    ),
    # Needle drainage of often more than 5 L every 10 days on average: Gu X et al., BMC
    # Palliat Care 2016;15:44; upper bound 8.5 L in 5.5 days, Mercadante S et al., Support
    # Care Cancer 2008;16:975-8.
    ClinicalGroup.MALIGNANT_ASCITES: VolumePrior(
        median_ml_per_day=math.exp(6.4), between_sd=0.7, session_sd=0.35, weekly_drift=0.0
    ),
    # 5 to 15 L every 10 to 14 days: REDUCe2, Trials 2025;26 (doi 10.1186/s13063-025-08873-z).
    ClinicalGroup.CIRRHOTIC_ASCITES: VolumePrior(
        median_ml_per_day=math.exp(6.5), between_sd=0.6, session_sd=0.30, weekly_drift=0.0
    ),
}

# Assumption: as wide as the groups together.
UNKNOWN_PRIORS: dict[Site, VolumePrior] = {
    Site.CHEST: VolumePrior(
        median_ml_per_day=math.exp(5.2), between_sd=1.0, session_sd=0.50, weekly_drift=0.0
    ),
    Site.ABDOMEN: VolumePrior(
        median_ml_per_day=math.exp(6.4), between_sd=1.0, session_sd=0.50, weekly_drift=0.0
    ),
}

# Assumption: how far a prescriber's expected volume is trusted (standard deviation of its log).
EXPECTED_VOLUME_SD = 0.5

# Assumptions on how the rate moves: daily random steps, and doubt about the weekly drift.
RATE_WALK_SD_PER_SQRT_DAY = 0.04
WEEKLY_DRIFT_SD = 0.05

# Assumptions, used in learning only: chance a day of a sudden change, and its size (standard
# deviation of the log rate). Fluid that stops is seen in about 5 percent of patients a week on
# daily drainage (see malignant pleural above); jumps upward have no published rate.
JUMP_CHANCE_PER_DAY = 0.005
JUMP_SD = 1.0

# Assumption: doubt about the session spread itself (standard deviation of its log).
SESSION_SD_LOG_SD = 0.35

# Assumption: one session in twenty is an outlier with three times the usual spread.
OUTLIER_CHANCE = 0.05
OUTLIER_SCALE = 3.0

# Assumption: chance that a session yields nothing although fluid is there (blocked, position).
DRY_CHANCE = 0.02

# Chance a day that drainage at home ends, for whatever reason; used only to judge how much is
# worth buying, never in a warning. Malignant effusions: catheters stayed a median of 1.2 months
# (Frost N et al., BMC Pulm Med 2019;19:232); non-malignant ones 1.5 months (Frost N et al., BMJ
# Open Respir Res 2020;7:e000501); hepatic hydrothorax 156 days (Shojaee S et al., Chest 2019);
# peritoneal catheters 18.5 days in malignant and 85 in other disease (Cardiovasc Intervent Radiol
# 2018;41:753-61). Constant hazards at those medians; trapped lung and unknown are judgement.
END_CHANCE_PER_DAY: dict[ClinicalGroup, float] = {
    ClinicalGroup.MALIGNANT_PLEURAL: 0.019,
    ClinicalGroup.TRAPPED_LUNG: 0.015,
    ClinicalGroup.HEART_KIDNEY_PLEURAL: 0.015,
    ClinicalGroup.HEPATIC_HYDROTHORAX: 0.0044,
    ClinicalGroup.MALIGNANT_ASCITES: 0.0375,
    ClinicalGroup.CIRRHOTIC_ASCITES: 0.0082,
}
UNKNOWN_END_CHANCE_PER_DAY = 0.015

# Assumption: a last box is left for later when it is less likely than this to be opened, as long
# as what is ordered without it lasts until an order placed so many days later has surely come.
WORTH_BUYING_CHANCE = 0.5
SHORTEST_COVER_DAYS = 14

# Common practice, no source: most that is drained at one time when the prescriber gave no
# figure. READ in a hospital leaflet (Univ. of Wisconsin Health, Health Facts 5813) for the
# chest and in a patient leaflet for the abdomen. The prescriber's figure wins.
USUAL_SESSION_LIMIT_ML: dict[Site, int] = {Site.CHEST: 1000, Site.ABDOMEN: 2000}

# Assumption: a prescribed weekday is kept with this chance, weight in sessions.
KEPT_CHANCE = 0.95
KEPT_WEIGHT = 20.0

# Assumption: chance of an unscheduled session on any other day, weight in days.
EXTRA_CHANCE = 0.01
EXTRA_WEIGHT = 60.0

# Assumption: gaps of an every-N-days regimen relative to N, weight in gaps.
GAP_SLIP_CHANCES: dict[int, float] = {-1: 0.03, 0: 0.90, 1: 0.05, 2: 0.015, 3: 0.005}
GAP_WEIGHT = 20.0

# Symptom-guided drainage is in practice often weekly to monthly (AMPLE-2 protocol, BMJ Open
# 2016;6:e011480); the middle of that range and its weight are an assumption.
AS_NEEDED_GAP_DAYS = 14.0
AS_NEEDED_WEIGHT = 1.5

# Assumption: chance that an opened bottle is lost, weight in bottles.
LOSS_CHANCE = 0.02
LOSS_WEIGHT = 50.0

# Assumption: business days late, from none to five, weight in orders.
LATENESS_CHANCES: tuple[float, ...] = (0.80, 0.12, 0.04, 0.02, 0.015, 0.005)
LATENESS_WEIGHT = 10.0

# Assumption: goods are unpacked and ready for the session of the day after they arrive.
READY_DAYS_AFTER_ARRIVAL = 1
