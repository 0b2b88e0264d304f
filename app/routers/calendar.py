"""The calendar feed: `GET /calendar/{secret}.ics`, for readers that cannot sign in.

It takes no cookie and sets none. Whoever holds the address can read the feed and nothing
else. The file of a single day is for people who are signed in.
"""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import PlainTextResponse, Response

from app import clock
from app.deps import DbSession, ViewedHousehold
from app.errors import NotFound
from app.feed_answer import answer_order_day, answer_reader

MAX_AGE_SECONDS = 900
"""How long a reader may reuse its copy without asking. [s]"""

MEDIA_TYPE = "text/calendar; charset=utf-8"

router = APIRouter()


@router.api_route("/calendar/{secret}.ics", methods=["GET", "HEAD"], include_in_schema=False)
def read_calendar(secret: str, request: Request, db: DbSession) -> Response:
    """The feed behind a secret, or 404; 304 when the reader has it already.

    References:
        RFC 9110 sections 9.3.2 (HEAD) and 13.1.2 (If-None-Match).
    """
    try:
        answer = answer_reader(db, secret, clock.utc_now())
    except NotFound:
        return PlainTextResponse("Not found.\n", status_code=404, headers=_unstored())
    headers = {
        "ETag": answer.tag,
        "Cache-Control": f"private, max-age={MAX_AGE_SECONDS}",
        "Content-Disposition": 'inline; filename="supplies.ics"',
    }
    if _has_already(request.headers.get("if-none-match", ""), answer.tag):
        return Response(status_code=304, headers=headers)
    if request.method == "HEAD":
        headers["Content-Length"] = str(len(answer.body))
        return Response(headers=headers, media_type=MEDIA_TYPE)
    return Response(answer.body, headers=headers, media_type=MEDIA_TYPE)


@router.get("/h/{household}/order/day.ics", include_in_schema=False)
def read_order_day(db: DbSession, access: ViewedHousehold) -> Response:
    """The day to order by as a file, for a calendar that is not subscribed."""
    headers = _unstored() | {"Content-Disposition": 'attachment; filename="order-supplies.ics"'}
    body = answer_order_day(db, access, clock.utc_now())
    return Response(body, headers=headers, media_type=MEDIA_TYPE)


def _unstored() -> dict[str, str]:
    return {"Cache-Control": "no-store"}


def _has_already(if_none_match: str, tag: str) -> bool:
    """Whether one of the reader's tags is this one, by weak comparison."""
    known = {one.strip().removeprefix("W/") for one in if_none_match.split(",")}
    return "*" in known or tag.removeprefix("W/") in known
