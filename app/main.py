"""The application: settings, database, routers, guards and error pages put together."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from urllib.parse import quote

from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import RedirectResponse, Response
from starlette.staticfiles import StaticFiles

import app.routers as router_package
from app import views
from app.db import create_tables, open_engine
from app.errors import AppError, NotFound, NotSignedIn
from app.middleware import LOG, AnswerHeaders, Guard, NewRequest, RequestLog, Rescue
from app.one_thread import add_pages
from app.replanning import Replanner
from app.settings import STATIC, Settings
from planner.errors import PlannerError

COMPRESSION = 4
"""Of 1 to 9. Beyond it a page gets 3 percent smaller and takes half as long again to pack."""

_STILL_BUSY = "The record is busy right now. Nothing was saved. Wait a moment and try again."
_OUR_FAULT = "Something went wrong on our side. Nothing was saved. Try again in a few minutes."
_WRONG_WAY = "This page cannot be used in this way. Nothing was changed. Go to the start page."

_FAVICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16">'
    '<rect width="16" height="16" rx="3" fill="#175a63"/>'
    '<path d="M3 5h10M3 9h7M3 13h3" stroke="#fff" stroke-width="2"/></svg>'
)


def create_app(
    settings: Settings, engine: Engine | None = None, *, replan: bool = False
) -> FastAPI:
    """Make the application.

    Args:
        settings: everything that can be set from outside.
        engine: an open database; None opens the one of the settings and closes it at the end.
        replan: keep every stored plan up to date in the background.
    """
    database = engine or open_engine(settings.database_url)
    replanner = Replanner(database) if replan else None

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        create_tables(database)
        if replanner is not None:
            replanner.start()
        yield
        if replanner is not None:
            replanner.stop()
        if engine is None:
            database.dispose()

    application = FastAPI(
        title="Ebbstock", docs_url=None, redoc_url=None, openapi_url=None, lifespan=lifespan
    )
    application.state.settings = settings
    application.state.engine = database
    for router in all_routers():
        add_pages(application, router)
    application.mount("/static", StaticFiles(directory=STATIC), name="static")
    application.add_api_route("/favicon.ico", favicon, methods=["GET", "HEAD"])
    _add_error_pages(application)
    # The last one added is the outermost.
    application.add_middleware(Rescue, page=_failure_page)
    application.add_middleware(Guard, base_url=settings.base_url)
    application.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=COMPRESSION)
    application.add_middleware(AnswerHeaders, secure=settings.secure_cookies)
    application.add_middleware(RequestLog)
    application.add_middleware(NewRequest)
    return application


def all_routers() -> tuple[APIRouter, ...]:
    """The `router` of every module in the package of routers, by name of the module."""
    names = sorted(found.name for found in pkgutil.iter_modules(router_package.__path__))
    modules = (importlib.import_module(f"{router_package.__name__}.{name}") for name in names)
    return tuple(module.router for module in modules if hasattr(module, "router"))


def favicon() -> Response:
    """The small picture that browsers ask for by themselves."""
    return Response(_FAVICON, media_type="image/svg+xml")


def _add_error_pages(application: FastAPI) -> None:
    @application.exception_handler(NotSignedIn)
    def to_sign_in(request: Request, _error: NotSignedIn) -> Response:
        if request.method != "GET":
            return RedirectResponse("/sign-in", status_code=303)
        path = quote(request.url.path, safe="/")
        return RedirectResponse(f"/sign-in?next={path}", status_code=303)

    @application.exception_handler(AppError)
    def expected(request: Request, error: AppError) -> Response:
        return _page(request, error.status, error.title, error.message)

    @application.exception_handler(HTTPException)
    def from_framework(request: Request, error: HTTPException) -> Response:
        if error.status_code == NotFound.status:
            return _page(request, NotFound.status, NotFound.title, NotFound.message)
        page = _page(request, error.status_code, AppError.title, _WRONG_WAY)
        page.headers.update(error.headers or {})
        return page

    @application.exception_handler(RequestValidationError)
    def unreadable(request: Request, _error: RequestValidationError) -> Response:
        return _page(request, NotFound.status, NotFound.title, NotFound.message)

    @application.exception_handler(OperationalError)
    def busy(request: Request, _error: OperationalError) -> Response:
        return _page(request, 503, AppError.title, _STILL_BUSY)

    @application.exception_handler(PlannerError)
    def unplannable(request: Request, error: PlannerError) -> Response:
        LOG.warning("a record could not be used: %s", type(error).__name__)
        return _failure_page(request)


def _failure_page(request: Request) -> Response:
    return _page(request, 500, AppError.title, _OUR_FAULT)


def _page(request: Request, status: int, title: str, message: str) -> Response:
    return views.error_page(request, status=status, title=title, message=message)
