"""Build the application from its settings."""

from importlib.util import find_spec
from pathlib import Path

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from app.settings import Settings
from app.storage.store import Store
from app.web import troubles
from app.web.door import Door
from app.web.guard import Guard
from app.web.now import now_utc_s
from app.web.render import ROOT
from app.web.routes import all_routers
from app.web.weather_services import services_of


def create_app(settings: Settings) -> FastAPI:
    """Return the application with its database open; the API's description is at /api/openapi.json."""
    app = FastAPI(title="Westering", openapi_url="/api/openapi.json", docs_url=None, redoc_url=None)
    app.state.weather_services = services_of(settings.weather)
    app.state.store = Store(settings.database)
    app.mount("/static", StaticFiles(directory=ROOT / "static"), name="static")
    app.mount("/leaflet", StaticFiles(directory=leaflet_folder()), name="leaflet")
    for router in all_routers():
        app.include_router(router)
    troubles.install(app)
    app.state.closed = settings.closed
    if settings.closed:
        app.add_middleware(Door, book=lambda: app.state.store.door, clock=lambda: app.dependency_overrides.get(now_utc_s, now_utc_s)())
    app.add_middleware(
        Guard, image_sources=lambda: tuple(app.state.store.setting("image_sources", [])), closed=settings.closed
    )
    return app


def leaflet_folder() -> Path:
    """Return where the map script's package keeps its files."""
    return Path(find_spec("js_lib_leaflet").submodule_search_locations[0]) / "static" / "js_lib_leaflet"
