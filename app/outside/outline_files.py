"""Files of outlines as photographers load them: GeoJSON, Overpass JSON and OpenStreetMap's own XML."""

from collections.abc import Mapping
from typing import Any
from xml.parsers import expat

from app.errors import BadInput, TooLarge
from app.place.outlines import MAX_BYTES
from app.place.overpass import geojson_from_overpass
from app.place.values import short

Place = dict[str, float]


def read_outlines(data: bytes) -> bytes | dict[str, Any]:
    """Return a file ready for ``obstacles_from_outlines``: OpenStreetMap's XML as GeoJSON, others as they are.

    Raises
    ------
    BadInput
        For XML that is cut off, declares a document type or is no OpenStreetMap
        export; ``TooLarge`` for more than ``MAX_BYTES``.
    """
    if not data.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"<":
        return data
    if len(data) > MAX_BYTES:
        raise TooLarge(f"A file of outlines has at most {MAX_BYTES / 1e6:g} MB; export only what is near the site.")
    return geojson_from_overpass({"elements": _Export(data).elements()})


class _Export:
    """An .osm file (API 0.6): nodes, ways and relations, each gathered as it goes by."""

    def __init__(self, data: bytes) -> None:
        self.nodes: dict[str, Place] = {}
        self.ways: dict[str, dict[str, Any]] = {}
        self.relations: list[dict[str, Any]] = []
        self._open: dict[str, Any] | None = None
        self._root = ""
        parser = expat.ParserCreate()
        parser.StartDoctypeDeclHandler = self._refuse  # where entities that swell would be declared
        parser.StartElementHandler, parser.EndElementHandler = self._begin, self._end
        try:
            parser.Parse(data, True)
        except expat.ExpatError as error:
            raise BadInput(f"This XML breaks off or is damaged in line {error.lineno}; export it again.") from None

    def elements(self) -> list[dict[str, Any]]:
        """Return ways and relations as Overpass gives them, with their shapes."""
        ways = [{**way, "geometry": self._line(way)} for way in self.ways.values()]
        relations = [{**one, "members": [self._with_line(member) for member in one["members"]]} for one in self.relations]
        return [*ways, *relations]

    def _begin(self, name: str, given: dict[str, str]) -> None:
        if not self._root:
            self._check_root(name)
        if name == "node":
            self._keep_node(given)
        elif name in ("way", "relation"):
            self._open = {"type": name, "id": given.get("id", ""), "tags": {}, "refs": [], "members": []}
        elif self._open is not None:
            self._fill(self._open, name, given)

    def _end(self, name: str) -> None:
        if self._open is None or name not in ("way", "relation"):
            return
        if name == "way":
            self.ways[self._open["id"]] = self._open
        else:
            self.relations.append(self._open)
        self._open = None

    def _fill(self, element: dict[str, Any], name: str, given: Mapping[str, str]) -> None:
        if name == "tag":
            element["tags"][given.get("k", "")] = given.get("v", "")
        elif name == "nd":
            element["refs"].append(given.get("ref", ""))
        elif name == "member":
            element["members"].append(dict(given))

    def _keep_node(self, given: Mapping[str, str]) -> None:
        try:
            self.nodes[given["id"]] = {"lat": float(given["lat"]), "lon": float(given["lon"])}
        except (KeyError, ValueError):
            pass  # a deleted node has no place

    def _line(self, way: Mapping[str, Any]) -> list[Place]:
        return [self.nodes[ref] for ref in way["refs"] if ref in self.nodes]

    def _with_line(self, member: Mapping[str, Any]) -> dict[str, Any]:
        way = self.ways.get(member.get("ref", "")) if member.get("type") == "way" else None
        return {**member, "geometry": self._line(way) if way else []}

    def _check_root(self, name: str) -> None:
        self._root = name
        if name != "osm":
            raise BadInput(f"This is XML of another kind ({short(name)}); load GeoJSON or an .osm export of OpenStreetMap.")

    def _refuse(self, *_: object) -> None:
        raise BadInput("This XML declares a document type, which no OpenStreetMap export does; load GeoJSON in its place.")
