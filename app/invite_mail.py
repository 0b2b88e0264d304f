"""An invite by e-mail: one try, in plain words that say nothing about health."""

from __future__ import annotations

from datetime import datetime

from app import security
from app.german.messages_out import INVITES as GERMAN
from app.mail import Outcome, compose
from app.services_reminders import Post

ENGLISH = {
    "subject": "You are invited",
    "text": (
        "{inviter} invites you to look after supplies together.\n\n"
        "Open this link to join. It works once, for 7 days:\n{address}\n\n"
        "Do you not know who this is? Then do nothing."
    ),
}

CATALOGUE = {"en": ENGLISH, "de": GERMAN}


def send_invite(
    post: Post, *, to: str, inviter: str, address: str, now: datetime, language: str = "en"
) -> Outcome:
    """Send one invite; neither the text nor the e-mail address is kept.

    Args:
        post: how messages leave.
        to: checked e-mail address.
        inviter: name of the person who invites.
        address: the link.
        now: present instant.
        language: of the person who invites, since nobody knows that of the other yet.
    """
    words = CATALOGUE.get(language, ENGLISH)
    message = compose(
        sender=post.sender,
        to=to,
        subject=words["subject"],
        body=words["text"].format(inviter=inviter, address=address),
        message_id=f"<{security.new_key()}@{post.sender.partition('@')[2]}>",
        sent_at=now,
    )
    return post.mailer(message)
