"""Runs the handler of a page in one thread, together with all that it asks `app.deps` for.

The framework would change threads for the sign-in, the access, the handler and the end of the
database session, and each change takes as long as a query.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from contextlib import closing
from functools import cache, wraps
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from fastapi import APIRouter, FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.params import Depends
from fastapi.routing import APIRoute
from starlette.datastructures import FormData

from app.db import open_session
from app.deps import get_open_form, get_session
from app.errors import NotFound

Need = Callable[..., Any]
Handler = Callable[..., object]

_REQUEST = "request"


def add_pages(application: FastAPI, router: APIRouter) -> None:
    """Let an application answer the pages of a router.

    They stand side by side in it, since the framework looks twice for what is in a router
    within a router.
    """
    for route in router.routes:
        if isinstance(route, APIRoute):
            handler, methods = in_one_thread(route.endpoint), list(route.methods or ())
            application.add_api_route(route.path, handler, methods=methods)


def in_one_thread(handler: Handler) -> Callable[..., Any]:
    """The handler as the framework has to see it: what `app.deps` gives is no longer asked of it.

    The session is open while the handler runs and closed before the answer is sent, so an
    answer must not read from the database later.
    """
    hints = get_type_hints(handler, include_extras=True)
    needs = {name: need for name, hint in hints.items() if (need := _need_of(hint)) is not None}

    def run(request: Request, values: dict[str, Any], form: FormData | None = None) -> object:
        with closing(open_session(request.app.state.engine)) as db:
            found: dict[Need, Any] = {get_session: db, get_open_form: form}
            given = {name: _find(need, request, found) for name, need in needs.items()}
            if takes_request:
                given[_REQUEST] = request
            return handler(**given, **values)

    @wraps(handler)
    def without_form(request: Request, **values: Any) -> object:  # noqa: ANN401
        return run(request, values)

    @wraps(handler)
    async def with_form(request: Request, **values: Any) -> object:  # noqa: ANN401
        async with request.form() as form:
            return await run_in_threadpool(run, request, values, form)

    takes_request = _REQUEST in hints
    takes_form = any(get_open_form in _all_needs(need) for need in needs.values())
    made = with_form if takes_form else without_form
    vars(made)["__signature__"] = _signature(handler, hints, needs)
    return made


def _signature(
    handler: Handler, hints: Mapping[str, Any], needs: Mapping[str, Need]
) -> inspect.Signature:
    """What is left for the framework to find: the request, and values of the address."""
    left = [
        one.replace(annotation=hints[name], kind=inspect.Parameter.KEYWORD_ONLY)
        for name, one in inspect.signature(handler).parameters.items()
        if name not in needs and name != _REQUEST
    ]
    request = inspect.Parameter(_REQUEST, inspect.Parameter.KEYWORD_ONLY, annotation=Request)
    return inspect.Signature([request, *left], return_annotation=hints.get("return"))


def _need_of(hint: Any) -> Need | None:  # noqa: ANN401  (any annotation)
    """What has to be called for a parameter with this annotation."""
    if get_origin(hint) is not Annotated:
        return None
    marks = (mark for mark in get_args(hint)[1:] if isinstance(mark, Depends))
    return next((mark.dependency for mark in marks), None)


@cache
def _parts(need: Need) -> tuple[tuple[str, Need | None], ...]:
    """What is needed to call it, by parameter; None stands for the request or part of the path."""
    hints = get_type_hints(need, include_extras=True)
    return tuple((name, _need_of(hints[name])) for name in inspect.signature(need).parameters)


def _all_needs(need: Need) -> frozenset[Need]:
    parts = (part for _, part in _parts(need) if part is not None)
    return frozenset({need}).union(*(_all_needs(part) for part in parts))


def _find(need: Need, request: Request, found: dict[Need, Any]) -> Any:  # noqa: ANN401
    """What a need comes to for this request, worked out once."""
    if need not in found:
        given: dict[str, Any] = {}
        for name, part in _parts(need):
            if part is not None:
                given[name] = _find(part, request, found)
            else:
                given[name] = request if name == _REQUEST else _id_in_path(request, name)
        found[need] = need(**given)
    return found[need]


def _id_in_path(request: Request, name: str) -> str:
    found: str = request.path_params[name]
    if "\0" in found:
        # No id has it, and PostgreSQL takes no text with it.
        raise NotFound
    return found
