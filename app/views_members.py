"""What the pages about people say: roles in words, and how their forms are read."""

from __future__ import annotations

from datetime import datetime

from app import wording
from app.access import MEMBER_ROLES, Role
from app.mail import Outcome
from app.texts import tr

LABELS = {
    "name": "Your name",
    "email": "E-mail address",
    "password": "Password",
    "role": "The role",
    "member[].role": "The role",
    "note": "Your note",
    "send_to": "E-mail address",
}

ACCOUNT_LABELS = {
    "name": "Your name",
    "old_password": "The password so far",
    "new_password": "The new password",
    "password": "The password",
}

_NAMES = {
    Role.PATIENT: "Patient",
    Role.CARER: "Carer",
    Role.VIEWER: "Viewer",
    Role.COORDINATOR: "Coordinator",
}
_MAY = {
    Role.PATIENT: "Patient: may do everything here",
    Role.CARER: "Carer: may do everything here",
    Role.VIEWER: "Viewer: may look, but not change anything",
}


def role_name(role: Role) -> str:
    """A role in one word."""
    return tr(_NAMES[role])


def role_choices() -> list[tuple[str, str]]:
    """What a member of a household can be, as value and label."""
    return [(role.value, _MAY[role]) for role in MEMBER_ROLES]


def role_names() -> list[tuple[str, str]]:
    """The same, as value and one word."""
    return [(role.value, tr(_NAMES[role])) for role in MEMBER_ROLES]


def import_choices() -> list[tuple[str, str]]:
    """What somebody can be to a household that they read in, as value and label."""
    return [(Role.PATIENT.value, "The supplies are for me"), (Role.CARER.value, "I help somebody")]


def device_name(kind: str) -> str:
    """A rough kind of device in words."""
    return tr({"phone": "Phone or tablet", "computer": "Computer"}.get(kind, "Device"))


def read_role(text: str) -> Role | None:
    """The role that a form names."""
    return next((role for role in Role if role.value == text), None)


def moment_text(moment: datetime) -> str:
    """An instant as a page shows it."""
    return f"{wording.day_text(moment.date())}, {moment:%H:%M} UTC"


def sent_text(outcome: Outcome) -> str:
    """What became of an invite that was to go by e-mail."""
    if outcome is Outcome.SENT:
        return "It is on its way by e-mail as well."
    if outcome is Outcome.UNSURE:
        return "It may have gone by e-mail as well. Ask the person, or pass the link on yourself."
    return "It could not be sent by e-mail. Pass the link on yourself."
